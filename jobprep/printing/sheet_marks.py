"""What stands on every page round its pieces: bars, crop and registration marks, notes.

The bars are what makes a print trustworthy: both are 100 mm long, one across, one up, so that a
printer that scales, evenly or not, is found out with a ruler.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from jobprep.drawing.drawing import INK, Element, Stroke, Text, straight
from jobprep.geometry.measure import Bounds
from jobprep.geometry.outline import Path, Point, circle
from jobprep.printing.page import GREY, HAIRLINE
from jobprep.printing.paper import Paper

BAR = 100.0
"""Length of the bars, mm."""
EDGE = 8.0
"""Left free along every edge of the paper, mm; few printers reach further (common practice, no
source)."""
LEFT_BAND, TOP_BAND, BOTTOM_BAND = 12.0, 12.0, 19.0
"""Beside, above and below the pieces, for the bars and notes, mm."""
CROSS = 2.5
"""Half length of a registration cross, mm."""
SMALL, LARGE = 2.8, 4.2
"""Sizes of the notes and of the title, mm."""
NOTE = "Print at actual size (100 %), not fitted to the page; then both bars measure 100 mm."
NOT_TRUE = "If a bar measures L, print again with the scale 100/L in that direction."


def field(paper: Paper) -> Bounds:
    """Return where on a paper pieces may lie."""
    return Bounds(
        EDGE + LEFT_BAND,
        EDGE + BOTTOM_BAND,
        paper.width - EDGE - 2.0 * CROSS,
        paper.height - EDGE - TOP_BAND,
    )


def sheet_marks(
    paper: Paper, title: str, notes: tuple[str, ...] = (), subtitle: str = ""
) -> tuple[Element, ...]:
    """Return the bars, crop and registration marks and the notes of a page."""
    inside = field(paper)
    return (
        Stroke(paths=tuple(_bars(paper)), pen=HAIRLINE),
        Stroke(paths=tuple(_crop_marks(inside)), pen=HAIRLINE),
        Stroke(paths=tuple(_registration_marks(paper)), pen=HAIRLINE),
        *_words(paper, title, subtitle, notes),
    )


def cross(at: Point) -> tuple[Path, ...]:
    """Return a registration cross: two strokes and a circle about their meeting point."""
    return (
        straight((at.x - CROSS, at.y), (at.x + CROSS, at.y)),
        straight((at.x, at.y - CROSS), (at.x, at.y + CROSS)),
        circle(at, CROSS / 2.0).segments,
    )


def _bars(paper: Paper) -> Iterator[Path]:
    """Yield the bar across and the bar up, each with its end strokes and a tick every 10 mm."""
    x, y = EDGE + LEFT_BAND, EDGE + BOTTOM_BAND - 6.0
    yield straight((x, y), (x + BAR, y))
    for step in range(11):
        half = 2.0 if step in (0, 10) else 0.8
        yield straight((x + BAR / 10.0 * step, y - half), (x + BAR / 10.0 * step, y + half))
    x, y = EDGE + LEFT_BAND - 7.0, EDGE + BOTTOM_BAND
    yield straight((x, y), (x, y + BAR))
    for step in range(11):
        half = 2.0 if step in (0, 10) else 0.8
        yield straight((x - half, y + BAR / 10.0 * step), (x + half, y + BAR / 10.0 * step))


def _crop_marks(inside: Bounds) -> Iterator[Path]:
    """Yield two short strokes off each corner of the field, clear of the corner itself."""
    gap, length = 1.0, 3.0
    for x, outward_x in ((inside.x_min, -1.0), (inside.x_max, 1.0)):
        for y, outward_y in ((inside.y_min, -1.0), (inside.y_max, 1.0)):
            yield straight((x + outward_x * gap, y), (x + outward_x * (gap + length), y))
            yield straight((x, y + outward_y * gap), (x, y + outward_y * (gap + length)))


def _registration_marks(paper: Paper) -> Iterator[Path]:
    for at in registration_points(paper):
        yield from cross(at)


def registration_points(paper: Paper) -> tuple[Point, ...]:
    """Return where the four registration crosses of a page are, from the lower left, clockwise."""
    left, bottom = EDGE + CROSS, EDGE + CROSS
    right, top = paper.width - left, paper.height - bottom
    return (Point(left, bottom), Point(left, top), Point(right, top), Point(right, bottom))


def _words(paper: Paper, title: str, subtitle: str, notes: tuple[str, ...]) -> Iterator[Element]:
    inside = field(paper)
    room = paper.width - inside.x_min - EDGE - 4.0 * CROSS
    top = paper.height - EDGE - LARGE
    yield Text(text=title, at=Point(inside.x_min, top), size=LARGE, room=room)
    if subtitle:
        yield Text(text=subtitle, at=Point(inside.x_min, top - 4.0), size=SMALL, room=room)
    bar = EDGE + BOTTOM_BAND - 6.0
    beside = inside.x_min + BAR + 3.0
    across = paper.width - beside - EDGE
    yield Text(text="100 mm across", at=Point(beside, bar - 1.0), size=SMALL, room=across)
    up = Point(inside.x_min - 6.0, inside.y_min + BAR + 3.0)
    yield Text(text="100 mm up", at=up, size=SMALL, turn=math.pi / 2.0)
    for row, note in enumerate(filter(None, (NOTE, NOT_TRUE, " ".join(notes)))):
        at = Point(inside.x_min, bar - 5.5 - 3.4 * row)
        yield Text(text=note, at=at, size=SMALL, room=room, colour=GREY if row == 1 else INK)
