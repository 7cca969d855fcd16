"""A disc's layers pulled apart, seen from above the front."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from jobprep.disc.facts import DiscFacts
from jobprep.disc.pieces import DiscPiece, design_pieces, dot_pieces
from jobprep.drawing.drawing import Fill, Group, Pen, Stroke, Text, region_paths, straight
from jobprep.drawing.path_data import MANY
from jobprep.drawing.svg import width_of
from jobprep.geometry.affine import Affine
from jobprep.geometry.measure import Bounds, bounds
from jobprep.geometry.outline import Contour, Region
from jobprep.model.design import Design, film_word
from jobprep.model.film import Film
from jobprep.report.diagram import (
    FONT,
    OUTLINE,
    RADIUS,
    UNCHOSEN_PEN,
    Diagram,
    in_unit,
    words,
)
from jobprep.units import number

FLAT = 0.34
"""How much the slanting view shortens a layer."""
SPACING = 46.0
"""From one layer to the next where there are few of them."""
FINE = 2.0
"""Where a layer has very many openings, smaller ones are left out of the slanting view."""
SEGMENTS = 4
"""Of one opening, mostly."""
TALLEST = 300.0
"""Height over which many layers are spread."""


def stack_diagram(design: Design, films: Mapping[str, Film], facts: DiscFacts) -> Diagram:
    """Draw a disc's layers above one another, the front one on top, with films and thickness."""
    levels = _levels(design)
    spacing = max(2.6 * FONT, min(SPACING, TALLEST / len(levels)))
    scale = 2.0 * RADIUS / design.outer_diameter
    pictured = [
        Group(
            elements=tuple(_level(pieces, films, scale)),
            place=Affine(a=scale, d=FLAT * scale, f=-spacing * index),
        )
        for index, (_, pieces) in reversed(list(enumerate(levels)))
    ]
    labels: list[Text] = []
    widest = 0.0
    for index, (name, pieces) in enumerate(levels):
        lines = [name, *_films_of(pieces, films)][:3]
        top = -spacing * index + 0.6 * FONT * (len(lines) - 1)
        for line, text in enumerate(lines):
            widest = max(widest, width_of(text, FONT))
            labels.append(words(text, RADIUS + 10.0, top - 1.2 * FONT * line, bold=line == 0))
    top, bottom = FLAT * RADIUS, -spacing * (len(levels) - 1) - FLAT * RADIUS
    thick = facts.thickness
    note = "Films to be chosen: their thickness is not known."
    if thick is not None:
        note = f"{thick.nominal:.3f} ± {thick.worst:.3f} mm where it is thickest"
    axis = straight((0.0, top + 8.0), (0.0, bottom - 8.0))
    return Diagram(
        name=f"The layers of {design.name}, the front one on top",
        frame=Bounds(-RADIUS - 6.0, bottom - 12.0, RADIUS + 16.0 + widest, top + 12.0),
        elements=(
            Stroke(paths=(axis,), pen=Pen(0.6, dashes=(6.0, 2.0, 1.0, 2.0))),
            *pictured,
            *labels,
        ),
        notes=(note,),
    )


def _levels(design: Design) -> list[tuple[str, list[DiscPiece]]]:
    """Return each layer's name and pieces, front to back, then what sticks on the back."""
    dots = dot_pieces(design)
    pieces = (*design_pieces(design), *dots)
    levels = [
        (f"{n} {layer.name}", [piece for piece in pieces if piece.layer == n])
        for n, layer in enumerate(design.layers, start=1)
    ]
    on_back = [piece for piece in dots if piece.layer == 0]
    return [*levels, ("on the back", on_back)] if on_back else levels


def _level(pieces: Sequence[DiscPiece], films: Mapping[str, Film], scale: float) -> Iterator[Fill]:
    for piece in pieces:
        pen = Pen(0.6, OUTLINE) if films[piece.film].is_chosen else UNCHOSEN_PEN
        yield Fill(
            paths=region_paths([_seen(piece.region, scale)]),
            colour=films[piece.film].colour,
            opacity=0.88,
            pen=in_unit(pen, scale),
            title=films[piece.film].title,
        )


def _seen(region: Region, scale: float) -> Region:
    """Leave out openings that nobody would see, where a layer has very many of them."""
    if len(region.holes) * SEGMENTS <= MANY:
        return region
    return Region(region.outer, tuple(hole for hole in region.holes if _size(hole) * scale >= FINE))


def _size(contour: Contour) -> float:
    box = bounds(contour.segments)
    return max(box.width, box.height)


def _films_of(pieces: Sequence[DiscPiece], films: Mapping[str, Film]) -> Iterator[str]:
    """Yield the films of a layer with their thickness, two lines at most."""
    names = list(dict.fromkeys(piece.film for piece in pieces))
    chosen = [films[name] for name in names if films[name].is_chosen]
    told = list(dict.fromkeys(map(film_word, names)))
    if told:
        yield ", ".join(told) if len(told) <= 4 else f"{len(told)} films"
    if chosen:
        thicknesses = sorted(film.thickness for film in chosen)
        least, most = number(thicknesses[0], 3), number(thicknesses[-1], 3)
        yield f"{least} mm" if least == most else f"{least} to {most} mm"
