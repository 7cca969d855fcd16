"""Straight sides of parts, and how another part lies with a side of its own along one.

Terminology
-----------
side    a straight stretch of a part's outer contour, its part on the left
joint   two sides of two parts that face each other at just the gap, so that one cut makes both
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from jobprep.geometry.outline import Line, Point, Region, moved_path
from jobprep.geometry.segment import segment_length
from jobprep.nesting.nest import Item, Nest

LEAST_SIDE = 5.0
"""Shorter sides are not worth joining parts for, mm."""

FACING = 1e-3
"""How far from the gap sides may lie and still be cut at once, mm."""


class Side(NamedTuple):
    """Where a side starts, its direction, radians, and its length, mm."""

    x: float
    y: float
    direction: float
    length: float


def sides_of(region: Region, least: float = LEAST_SIDE) -> tuple[Side, ...]:
    """Return the straight sides of a region's outer contour."""
    return tuple(_side(each) for each in _lines(region.outer.segments, least))


def _lines(path: Sequence[object], least: float) -> Iterator[Line]:
    for segment in path:
        if isinstance(segment, Line) and segment_length(segment) >= least:
            yield segment


def _side(line: Line) -> Side:
    (x0, y0), (x1, y1) = line
    return Side(x0, y0, math.atan2(y1 - y0, x1 - x0), math.hypot(x1 - x0, y1 - y0))


def shared_length(items: Sequence[Item], gap: float, nest: Nest) -> float:
    """Return the length of sides that face each other at the gap, each pair counted once, mm."""
    total = 0.0
    for number in range(len(nest.sheets)):
        lines = [
            (index, line)
            for index, place in enumerate(nest.placements)
            if place.sheet == number
            for line in _lines(
                moved_path(items[place.item].region.outer.segments, place.angle, place.x, place.y),
                1.0,
            )
        ]
        total += math.fsum(_facing_lengths(lines, gap))
    return total


def _facing_lengths(lines: Iterable[tuple[int, Line]], gap: float) -> Iterator[float]:
    ordered = sorted(lines, key=lambda each: _left(each[1]))
    for at, (part, line) in enumerate(ordered):
        right = max(line.start.x, line.end.x) + gap + FACING
        for other_part, other in ordered[at + 1 :]:
            if _left(other) > right:
                break
            if part != other_part:
                yield _facing(line, other, gap)


def _left(line: Line) -> float:
    return min(line.start.x, line.end.x)


def _facing(line: Line, other: Line, gap: float) -> float:
    """Return the length on which another line runs the opposite way, the gap to the right."""
    (x0, y0), (x1, y1) = line
    length = math.hypot(x1 - x0, y1 - y0)
    x, y = (x1 - x0) / length, (y1 - y0) / length

    def along_and_aside(point: Point) -> tuple[float, float]:
        dx, dy = point.x - x0, point.y - y0
        return dx * x + dy * y, dx * y - dy * x

    (far, far_aside), (near, near_aside) = map(along_and_aside, (other.start, other.end))
    if max(abs(far_aside - gap), abs(near_aside - gap)) > FACING:
        return 0.0
    return max(0.0, min(length, far) - max(0.0, near))
