"""Our own single-line letters for engraving: lines and arcs, no font of any system.

Terminology
-----------
glyph     the strokes of one sign on a grid 6 units tall, its left edge at 0, its foot at 0
stroke    where it starts, then its moves: ``(x, y)`` goes straight there; ``(x, y, quarters)``
          turns about the centre ``(x, y)``, anticlockwise by this number of quarter turns
"""

from __future__ import annotations

import math
from typing import NamedTuple

from jobprep.geometry.outline import Arc, Line, Path, Point, Segment
from jobprep.units import TURN

GRID_HEIGHT = 6.0
SPACE_WIDTH = 3.0
LETTER_SPACE = 1.5
UNDERLINE_DROP = 1.5
"""How far the line under an ambiguous number lies below its foot, in grid units."""

Move = tuple[float, float] | tuple[float, float, float]
Stroke = tuple[Move, ...]


class Glyph(NamedTuple):
    """A sign's width in grid units and its strokes."""

    width: float
    strokes: tuple[Stroke, ...]


GLYPHS: dict[str, Glyph] = {
    "0": Glyph(4, (((0, 2), (2, 2, 2), (4, 4), (2, 4, 2), (0, 2)),)),
    "1": Glyph(2, (((0, 4), (2, 6), (2, 0)),)),
    "2": Glyph(4, (((0, 4), (2, 4, -2), (0, 0), (4, 0)),)),
    "3": Glyph(4, (((0, 6), (2.5, 6), (2.5, 4.5, -2), (2.5, 1.5, -2), (0, 0)), ((1, 3), (2.5, 3)))),
    "4": Glyph(4, (((3, 0), (3, 6), (0, 2), (4, 2)),)),
    "5": Glyph(4, (((3.6, 6), (0.4, 6), (0.4, 3.5), (2.25, 3.5), (2.25, 1.75, -2), (0, 0)),)),
    "6": Glyph(4, (((3.5, 6), (2, 6), (2, 4, 1), (0, 2), (2, 2, 4)),)),
    "7": Glyph(4, (((0, 6), (4, 6), (1.2, 0)),)),
    "8": Glyph(4, (((2, 3), (2, 4.5, 4), (2, 1.5, -4)),)),
    "9": Glyph(4, (((0.5, 0), (2, 0), (2, 2, 1), (4, 4), (2, 4, 4)),)),
    "A": Glyph(4, (((0, 0), (2, 6), (4, 0)), ((0.7, 2.1), (3.3, 2.1)))),
    "B": Glyph(
        4,
        (((0, 3), (2.5, 3), (2.5, 1.5, -2), (0, 0), (0, 6), (2.5, 6), (2.5, 4.5, -2)),),
    ),
    "C": Glyph(4, (((4, 4), (2, 4, 2), (0, 2), (2, 2, 2)),)),
    "D": Glyph(4, (((0, 0), (0, 6), (1, 6), (1, 3, -2), (0, 0)),)),
    "E": Glyph(3.5, (((3.5, 6), (0, 6), (0, 0), (3.5, 0)), ((0, 3), (2.8, 3)))),
    "F": Glyph(3.5, (((3.5, 6), (0, 6), (0, 0)), ((0, 3), (2.8, 3)))),
    "G": Glyph(4, (((4, 4), (2, 4, 2), (0, 2), (2, 2, 2), (4, 3), (2.2, 3)),)),
    "H": Glyph(4, (((0, 0), (0, 6)), ((0, 3), (4, 3)), ((4, 0), (4, 6)))),
    "I": Glyph(2, (((0, 0), (2, 0)), ((1, 0), (1, 6)), ((0, 6), (2, 6)))),
    "J": Glyph(3, (((3, 6), (3, 1.5), (1.5, 1.5, -2)),)),
    "K": Glyph(4, (((0, 0), (0, 6)), ((4, 6), (0, 2.5)), ((1.2, 3.55), (4, 0)))),
    "L": Glyph(3.5, (((0, 6), (0, 0), (3.5, 0)),)),
    "M": Glyph(5, (((0, 0), (0, 6), (2.5, 2), (5, 6), (5, 0)),)),
    "N": Glyph(4, (((0, 0), (0, 6), (4, 0), (4, 6)),)),
    "O": Glyph(
        5,
        (
            (
                (1.5, 0),
                (3.5, 0),
                (3.5, 1.5, 1),
                (5, 4.5),
                (3.5, 4.5, 1),
                (1.5, 6),
                (1.5, 4.5, 1),
                (0, 1.5),
                (1.5, 1.5, 1),
            ),
        ),
    ),
    "P": Glyph(4, (((0, 0), (0, 6), (2.5, 6), (2.5, 4.5, -2), (0, 3)),)),
    "Q": Glyph(
        5,
        (
            (
                (1.5, 0),
                (3.5, 0),
                (3.5, 1.5, 1),
                (5, 4.5),
                (3.5, 4.5, 1),
                (1.5, 6),
                (1.5, 4.5, 1),
                (0, 1.5),
                (1.5, 1.5, 1),
            ),
            ((3, 2), (5, 0)),
        ),
    ),
    "R": Glyph(4, (((0, 0), (0, 6), (2.5, 6), (2.5, 4.5, -2), (0, 3)), ((2, 3), (4, 0)))),
    "S": Glyph(4, (((3.5, 4.5), (2, 4.5, 3), (2, 1.5, -3)),)),
    "T": Glyph(4, (((0, 6), (4, 6)), ((2, 6), (2, 0)))),
    "U": Glyph(4, (((0, 6), (0, 2), (2, 2, 2), (4, 6)),)),
    "V": Glyph(4, (((0, 6), (2, 0), (4, 6)),)),
    "W": Glyph(5, (((0, 6), (1.2, 0), (2.5, 4), (3.8, 0), (5, 6)),)),
    "X": Glyph(4, (((0, 0), (4, 6)), ((0, 6), (4, 0)))),
    "Y": Glyph(4, (((0, 6), (2, 3), (4, 6)), ((2, 3), (2, 0)))),
    "Z": Glyph(4, (((0, 6), (4, 6), (0, 0), (4, 0)),)),
    "-": Glyph(2.5, (((0, 3), (2.5, 3)),)),
    "+": Glyph(3, (((0, 3), (3, 3)), ((1.5, 1.5), (1.5, 4.5)))),
    "/": Glyph(3, (((0, 0), (3, 6)),)),
    ",": Glyph(0.8, (((0.8, 1), (0.1, 0)),)),
    "'": Glyph(0.4, (((0.2, 6), (0.2, 4.5)),)),
    ".": Glyph(0.6, (((0.6, 0.3), (0.3, 0.3, 4)),)),
    ":": Glyph(0.6, (((0.6, 1.3), (0.3, 1.3, 4)), ((0.6, 4.3), (0.3, 4.3, 4)))),
    "(": Glyph(1.3, (((1.3, 6), (4.3, 3, 1)),)),
    ")": Glyph(1.3, (((0, 0), (-3, 3, 1)),)),
}


def text_width(text: str, height: float) -> float:
    """Return how wide a line of text is, mm."""
    widths = [GLYPHS[sign].width if sign in GLYPHS else SPACE_WIDTH for sign in text.upper()]
    return (sum(widths) + LETTER_SPACE * max(0, len(widths) - 1)) * height / GRID_HEIGHT


def text_paths(text: str, height: float) -> tuple[Path, ...]:
    """Return a line of text as open paths, its foot on y = 0, starting at x = 0.

    ``height`` is that of a capital letter, mm. Small letters become capitals; a sign without a
    glyph leaves a space.
    """
    scale = height / GRID_HEIGHT
    paths: list[Path] = []
    left = 0.0
    for sign in text.upper():
        glyph = GLYPHS.get(sign)
        if glyph is not None:
            paths.extend(_stroke_path(stroke, left, scale) for stroke in glyph.strokes)
        left += (SPACE_WIDTH if glyph is None else glyph.width) + LETTER_SPACE
    return tuple(paths)


def number_paths(number: int, height: float) -> tuple[Path, ...]:
    """Return a number as open paths; with a 6 or 9 in it, a line underneath says which way up."""
    text = str(number)
    paths = text_paths(text, height)
    if not needs_underline(number):
        return paths
    y = -UNDERLINE_DROP * height / GRID_HEIGHT
    return (*paths, (Line(Point(0.0, y), Point(text_width(text, height), y)),))


def needs_underline(number: int) -> bool:
    """Whether a number could be read upside down as another."""
    return any(digit in "69" for digit in str(number))


def _stroke_path(stroke: Stroke, left: float, scale: float) -> Path:
    """Place one stroke of a glyph whose left edge is at ``left`` grid units."""
    here = _placed(stroke[0], left, scale)
    segments: list[Segment] = []
    for move in stroke[1:]:
        target = _placed(move, left, scale)
        if len(move) == 2:
            segments.append(Line(here, target))
            here = target
        else:
            start = math.atan2(here.y - target.y, here.x - target.x)
            arc = Arc(target, math.dist(here, target), start, move[2] * TURN / 4.0)
            segments.append(arc)
            here = arc.end
    return tuple(segments)


def _placed(move: Move, left: float, scale: float) -> Point:
    return Point((move[0] + left) * scale, move[1] * scale)
