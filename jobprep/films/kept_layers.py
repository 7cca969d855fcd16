"""What of a measured design certainly lies in the disc, and what is only supposed.

A picture shows colours and where they end. Plain layers without colour, such as covers, it does
not show: how many there are, and of which film, thickness and mass may tell.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import replace

from jobprep.disc.hub import printed_hub
from jobprep.disc.pieces import DiscPiece, design_pieces, dot_pieces
from jobprep.disc.thickness import local_thickness, thickest
from jobprep.errors import CannotDoError
from jobprep.films.stacks import InstrumentReading, KeptFilm, SoughtStack
from jobprep.geometry.measure import area
from jobprep.measuring.colour import film_lab
from jobprep.model import Design, Film, Layer
from jobprep.model.design import GlueLine

LEAST_LIGHTNESS = 85.0
MOST_CHROMA = 10.0
"""CIELAB of a film that a picture does not show (common practice, no source)."""


def is_unseen(film: Film) -> bool:
    """Whether a picture of the disc would not show a plain layer of this film."""
    lightness, a, b = film_lab(film)
    return film.light == "passes" and lightness > LEAST_LIGHTNESS and math.hypot(a, b) < MOST_CHROMA


def sought_of_design(
    design: Design,
    films: Mapping[str, Film],
    thickness: InstrumentReading | None,
    mass: InstrumentReading | None,
    glue_line: GlueLine | None = None,
) -> SoughtStack:
    """Return what a stack for a design is held against: its plain clear layers are left open.

    Glue lies under the hub where the design has a ``hub_diameter``, else all over. A printed hub
    and counterweights weigh as designed.

    Raises
    ------
    CannotDoError
        A film of its other layers is to be chosen.
    """
    seen = [
        number
        for number, layer in enumerate(design.layers, 1)
        if not _is_supposed(layer, design, films)
    ]
    pieces = [each for each in design_pieces(design) if each.layer in seen]
    _refuse_unchosen(design, films, pieces)
    kept = tuple(design.layers[number - 1] for number in seen)
    bare = replace(design, layers=kept, dots=())
    plain = replace(design, layers=(_plain(design),), dots=())
    whole = math.fsum(area(piece.region) for piece in design_pieces(plain))
    stack = thickest(local_thickness(bare, films)) if kept else None
    times = Counter(() if stack is None else stack.films)
    areas: dict[str, float] = dict.fromkeys(times, 0.0)
    for piece in pieces:
        areas[piece.film] = areas.get(piece.film, 0.0) + area(piece.region)
    return SoughtStack(
        thickness=thickness,
        mass=mass,
        area=whole,
        glue_area=_glue_area(plain, whole),
        glue_line=design.counted_glue_line if glue_line is None else glue_line,
        kept=tuple(KeptFilm(films[name], times[name], areas[name]) for name in sorted(areas)),
        kept_layers=0 if stack is None else len(stack.films),
        other_mass=_other_mass(design, films),
    )


def _other_mass(design: Design, films: Mapping[str, Film]) -> float:
    """Return the mass of a printed hub and of counterweights, as designed, g."""
    hub = printed_hub(design, films)
    dots = math.fsum(
        area(patch.region) * films[patch.film].areal_mass for patch in dot_pieces(design)
    )
    return dots + (0.0 if hub is None else hub.body.mass)


def unseen_films(films: Iterable[Film]) -> tuple[Film, ...]:
    """Return those that a picture does not show."""
    return tuple(film for film in films if is_unseen(film))


def _refuse_unchosen(
    design: Design, films: Mapping[str, Film], pieces: Iterable[DiscPiece]
) -> None:
    for piece in pieces:
        if not films[piece.film].is_chosen:
            raise CannotDoError(
                f"{design.name}: a film of layer {design.layers[piece.layer - 1].name} is to be "
                'chosen, so its mass is not known; write its name for "?" first (jobprep disc shows'
                " the nearest), or give --diameter in place of the design"
            )


def _is_supposed(layer: Layer, design: Design, films: Mapping[str, Film]) -> bool:
    film = films.get(layer.film)
    return (
        not layer.sectors
        and not layer.openings
        and layer.inner_diameter is None
        and layer.outer_diameter == design.outer_diameter
        and film is not None
        and film.is_chosen
        and is_unseen(film)
    )


def _plain(design: Design) -> Layer:
    return Layer(
        name="plain",
        film="plain",
        outer_diameter=design.outer_diameter,
        start=0.0,
        joint_gap=0.0,
        sectors=(),
    )


def _glue_area(plain: Design, whole: float) -> float:
    if plain.hub_diameter is None:
        return whole
    under = replace(plain.layers[0], outer_diameter=min(plain.hub_diameter, plain.outer_diameter))
    return math.fsum(area(each.region) for each in design_pieces(replace(plain, layers=(under,))))
