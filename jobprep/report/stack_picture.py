"""A disc's layers pulled apart, seen from above the front."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from jobprep.disc.facts import DiscFacts
from jobprep.disc.pieces import Piece, design_pieces, dot_pieces
from jobprep.geometry.measure import bounds
from jobprep.geometry.outline import Contour, Region
from jobprep.model.design import Design
from jobprep.model.film import Film
from jobprep.report.diagram import (
    FONT,
    INK,
    OUTLINE,
    RADIUS,
    Diagram,
    width_of,
    words,
)
from jobprep.report.markup import Markup, element, join
from jobprep.report.outline_data import MANY, region_data
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
    drawn = [
        _level(pieces, films, scale, spacing * index)
        for index, (_, pieces) in reversed(list(enumerate(levels)))
    ]
    labels: list[Markup] = []
    widest = 0.0
    for index, (name, pieces) in enumerate(levels):
        lines = [name, *_films_of(pieces, films)][:3]
        top = spacing * index - 0.6 * FONT * (len(lines) - 1)
        for line, text in enumerate(lines):
            widest = max(widest, width_of(text))
            y = top + 1.2 * FONT * line
            labels.append(words(text, RADIUS + 10.0, y, bold=line == 0))
    bottom = spacing * (len(levels) - 1) + FLAT * RADIUS
    thick = facts.thickness
    note = f"{thick.nominal:.3f} ± {thick.worst:.3f} mm where it is thickest"
    axis = f"M 0 {number(-FLAT * RADIUS - 8.0)} V {number(bottom + 8.0)}"
    body = join(
        element("path", d=axis, stroke=INK, stroke_width=0.6, stroke_dasharray="6 2 1 2"),
        *drawn,
        *labels,
    )
    top = -FLAT * RADIUS - 12.0
    return Diagram(
        name=f"The layers of {design.name}, the front one on top",
        left=-RADIUS - 6.0,
        top=top,
        width=2.0 * RADIUS + 22.0 + widest,
        height=bottom + 12.0 - top,
        body=body,
        notes=(note,),
    )


def _levels(design: Design) -> list[tuple[str, list[Piece]]]:
    """Return each layer's name and pieces, front to back, then what sticks on the back."""
    dots = dot_pieces(design)
    pieces = (*design_pieces(design), *dots)
    levels = [
        (f"{n} {layer.name}", [piece for piece in pieces if piece.layer == n])
        for n, layer in enumerate(design.layers, start=1)
    ]
    on_back = [piece for piece in dots if piece.layer == 0]
    return [*levels, ("on the back", on_back)] if on_back else levels


def _level(
    pieces: Sequence[Piece], films: Mapping[str, Film], scale: float, height: float
) -> Markup:
    paths = (
        element(
            "path",
            element("title", films[piece.film].title),
            d=region_data(_seen(piece.region, scale)),
            fill=films[piece.film].colour,
            fill_rule="evenodd",
        )
        for piece in pieces
    )
    matrix = f"{number(scale, 5)} 0 0 {number(FLAT * scale, 5)} 0 {number(height, 2)}"
    return element(
        "g",
        *paths,
        transform=f"matrix({matrix})",
        fill_opacity=0.88,
        stroke=OUTLINE,
        stroke_width=number(0.6 / scale, 3),
    )


def _seen(region: Region, scale: float) -> Region:
    """Leave out openings that nobody would see, where a layer has very many of them."""
    if len(region.holes) * SEGMENTS <= MANY:
        return region
    return Region(region.outer, tuple(hole for hole in region.holes if _size(hole) * scale >= FINE))


def _size(contour: Contour) -> float:
    box = bounds(contour.segments)
    return max(box.width, box.height)


def _films_of(pieces: Sequence[Piece], films: Mapping[str, Film]) -> Iterator[str]:
    """Yield the films of a layer with their thickness, two lines at most."""
    names = list(dict.fromkeys(piece.film for piece in pieces))
    thicknesses = sorted({films[name].thickness for name in names})
    if not names:
        return
    yield ", ".join(names) if len(names) <= 4 else f"{len(names)} films"
    least, most = number(thicknesses[0], 3), number(thicknesses[-1], 3)
    yield f"{least} mm" if least == most else f"{least} to {most} mm"
