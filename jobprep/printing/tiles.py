"""A piece larger than the paper, cut into tiles that overlap and show where they meet."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from jobprep.drawing.drawing import Drawing, Element, Group, Stroke, Text, straight
from jobprep.geometry.affine import moving
from jobprep.geometry.measure import Bounds
from jobprep.geometry.outline import Path, Point
from jobprep.printing.page import FAINT, HAIRLINE, frame
from jobprep.printing.paper import Paper
from jobprep.printing.sheet_marks import CROSS, SMALL, cross, field, sheet_marks

OVERLAP = 10.0
"""How far neighbouring tiles show the same, mm."""

JOIN_NOTE = "Lay equal crosses of neighbouring tiles upon each other; dashed: where a tile ends."


class Tile(NamedTuple):
    """One tile: column from the left and row from the top, from 0; its box in the piece, mm."""

    column: int
    row: int
    box: Bounds


def tiles(width: float, height: float, paper: Paper) -> tuple[Tile, ...]:
    """Return the tiles of a piece, row by row from the top.

    Tiles are as large as the paper holds, from the left and from the top; the last ones take what
    remains. So what is in the middle of a piece lies on one tile more often than on a seam.
    """
    inside = field(paper)
    columns = list(_spans(width, inside.width))
    rows = [(height - high, height - low) for low, high in _spans(height, inside.height)]
    return tuple(
        Tile(column, row, Bounds(left, bottom, right, top))
        for row, (bottom, top) in enumerate(rows)
        for column, (left, right) in enumerate(columns)
    )


def tiled_pages(piece: Drawing, paper: Paper, notes: tuple[str, ...]) -> tuple[Drawing, ...]:
    """Return a page for each tile of a piece."""
    inside = field(paper)
    found = tiles(piece.width, piece.height, paper)
    notes = (JOIN_NOTE, *notes)
    return tuple(
        Drawing(
            width=paper.width,
            height=paper.height,
            title=f"{piece.title}: {_which(number, found)}",
            elements=(
                *sheet_marks(paper, piece.title, notes, _which(number, found)),
                Group(
                    elements=(*piece.elements, *_joins(found)),
                    place=moving(0.0, inside.x_min - tile.box.x_min, inside.y_min - tile.box.y_min),
                    window=(frame(_shown(tile, inside)),),
                ),
            ),
        )
        for number, tile in enumerate(found, start=1)
    )


def _shown(tile: Tile, inside: Bounds) -> Bounds:
    """Return where on the page a tile's part of the piece is."""
    right, top = inside.x_min + tile.box.width, inside.y_min + tile.box.height
    return Bounds(inside.x_min, inside.y_min, right, top)


def _spans(length: float, room: float) -> Iterator[tuple[float, float]]:
    """Yield from where to where each tile reaches along one side."""
    start = 0.0
    while length - start > room:
        yield start, start + room
        start += room - OVERLAP
    yield start, length


def _which(number: int, found: tuple[Tile, ...]) -> str:
    tile = found[number - 1]
    where = f"row {tile.row + 1} from the top, column {tile.column + 1} from the left"
    return f"tile {number} of {len(found)}, {where}"


def _joins(found: tuple[Tile, ...]) -> tuple[Element, ...]:
    """Return what shows how tiles meet, in the piece's own mm.

    Both edges of each overlap are dashed; crosses on its middle appear on both tiles and lie upon
    each other when the tiles lie right.
    """
    half = OVERLAP / 2.0
    edges: list[Path] = []
    crosses: list[Path] = []
    words: list[Element] = []
    numbers = {(tile.column, tile.row): n for n, tile in enumerate(found, start=1)}
    for (column, row), number in numbers.items():
        box = found[number - 1].box
        right, below = numbers.get((column + 1, row)), numbers.get((column, row + 1))
        points: list[tuple[Point, str]] = []
        if right is not None:
            x = box.x_max - half
            edges += [straight((at, box.y_min), (at, box.y_max)) for at in (x - half, x + half)]
            label = f"{number} | {right}"
            points += [(Point(x, y), label) for y in _ends(box.y_min, box.y_max)]
        if below is not None:
            y = box.y_min + half
            edges += [straight((box.x_min, at), (box.x_max, at)) for at in (y - half, y + half)]
            label = f"{number} / {below}"
            points += [(Point(x, y), label) for x in _ends(box.x_min, box.x_max)]
        for at, label in points:
            crosses += cross(at)
            foot = Point(at.x, at.y - CROSS - SMALL)
            words.append(Text(text=label, at=foot, size=SMALL, anchor="middle", room=OVERLAP - 2.0))
    return (
        Stroke(paths=tuple(edges), pen=FAINT._replace(dashes=(3.0, 1.5))),
        Stroke(paths=tuple(crosses), pen=HAIRLINE),
        *words,
    )


def _ends(low: float, high: float) -> tuple[float, float]:
    """Return where along an overlap its crosses are: near both ends, clear of other overlaps."""
    inset = min(OVERLAP + 2.0 * CROSS, 0.3 * (high - low))
    return low + inset, high - inset
