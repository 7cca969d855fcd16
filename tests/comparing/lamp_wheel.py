"""A wheel of the harbour museum's lamp projector, and photographs of copies of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from measuring.synthetic import Scene, photograph

from jobprep.comparing.compare import Comparison, compare_photo
from jobprep.files.materials.library import film_library
from jobprep.films.unchosen import with_stand_ins
from jobprep.model import Design, Hole, Layer, RoundBore, Sector, Tolerances
from jobprep.units import from_degrees, from_dial

LIBRARY = film_library()
# That red and blue differ by far, and so does what lies between: Sharma et al.'s formula.
FILMS = ("amber", "red", "black", "blue")
EDGES = (20.0, 90.0, 200.0, 290.0)
HOLE = 45.0
TURN_DEG = 33.0

SCENE = Scene(
    seed=4, width=640, height=500, size=0.37, tilt=10.0, distance=7.0, hub=LIBRARY["clear"].colour
)


def wheel(
    edges: Sequence[float] = EDGES,
    films: Sequence[str] = FILMS,
    hole: float | None = HOLE,
) -> Design:
    """Return the design: a clear ring of 36 mm, then sectors to the rim; an index hole."""
    widths = np.diff([*edges, edges[0] + 360.0])
    sectors = tuple(
        Sector(film=film, angle=from_degrees(float(width)))
        for film, width in zip(films, widths, strict=True)
    )
    plain = Layer(
        name="", film="", outer_diameter=120.0, start=from_dial(edges[0]), joint_gap=0.0, sectors=()
    )
    index = Hole(name="index", diameter=3.6, radius=54.0, direction=from_dial(hole or 0.0))
    return Design(
        name="harbour wheel",
        outer_diameter=120.0,
        bore=RoundBore(diameter=6.36),
        layers=(
            replace(plain, name="hub ring", film="clear", outer_diameter=36.0),
            replace(plain, name="colour", inner_diameter=36.0, sectors=sectors),
        ),
        holes=() if hole is None else (index,),
        tolerance=Tolerances(length=0.8),  # the photographs have four pixels to the mm
    )


def copy_scene(
    edges: Sequence[float] = EDGES,
    films: Sequence[str] = FILMS,
    hole: float | None = HOLE,
    *,
    is_mirrored: bool = False,
    **photo: Any,
) -> Scene:
    """Return the photograph of a copy with these edges and films, turned in the picture."""
    starts = list(edges)
    if is_mirrored:  # a sector now begins, clockwise, where it ended
        starts = [-end for end in (*edges[1:], edges[0] + 360.0)]
        hole = None if hole is None else -hole
    turned = [(start + TURN_DEG) % 360.0 for start in starts]
    order = sorted(range(len(turned)), key=lambda index: turned[index])
    colours = [
        LIBRARY[films[index]].colour if films[index] in LIBRARY else films[index] for index in order
    ]
    return replace(
        SCENE,
        rings=[(0.3, 1.0, [turned[index] for index in order], colours)],
        hole=None if hole is None else (0.9, (hole + TURN_DEG) % 360.0, 0.03),
        **photo,
    )


def compared(design: Design, scene: Scene, folder: Path) -> Comparison:
    """Take the photograph and compare it."""
    films = with_stand_ins(design, LIBRARY)
    return compare_photo(design, films, photograph(scene, folder / "copy.jpg"))


def measured_as(design: Design, *labs: tuple[float, float, float] | None) -> Design:
    """Return a wheel with the colours that were measured of its sectors."""
    ring, colour = design.layers
    sectors = (replace(sector, lab=lab) for sector, lab in zip(colour.sectors, labs, strict=True))
    return replace(design, layers=(ring, replace(colour, sectors=tuple(sectors))))


def verdicts(comparison: Comparison) -> dict[str, str]:
    """Return the verdict of each line by its name."""
    return {line.what: line.verdict for line in comparison.lines}


def remarks(comparison: Comparison) -> dict[str, str]:
    """Return the remarks there are, by the names of their lines."""
    return {line.what: line.remark for line in comparison.lines if line.remark}
