"""Rays that cross edges: which edges one meets beyond its start, and the winding they add up to.

Arcs are cut where they turn back along the ray's normal, and neighbouring pieces share the very
same ordinate, so a ray can slip through no joint and hit none twice. Where exactly it meets a piece
only matters if it starts beside it; of others their reach is enough.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from jobprep.geometry.arrangement import Edge, Winding
from jobprep.geometry.intersect import SNAP
from jobprep.geometry.outline import Arc, Line, Point
from jobprep.geometry.segment import QUADRANT


class MonotonePiece(NamedTuple):
    """Part of an edge whose level goes one way; ``sign`` is +1 where it rises.

    ``bulge`` is 0 for a line, else which side of the centre an arc is on, +1 or -1.
    Level is y and place x for rays along x; for rays along y the two are exchanged.
    """

    low: float
    high: float
    sign: int
    edge: Edge
    bulge: int


class Reach(NamedTuple):
    """A piece with the least and the greatest place it may be at, rounding included."""

    greatest: float
    least: float
    piece: MonotonePiece


class Rays:
    """Pieces sorted into bands of level, for rays towards greater place along one axis."""

    def __init__(self, edges: Iterable[Edge], points: list[Point], *, along_y: bool) -> None:
        self._along_y = along_y
        pieces = [piece for edge in edges for piece in pieces_of(edge, points, along_y=along_y)]
        self._low = min((piece.low for piece in pieces), default=0.0)
        height = max((piece.high for piece in pieces), default=0.0) - self._low
        # About two entries a piece, however long the pieces are.
        total = sum(piece.high - piece.low for piece in pieces)
        number = max(1, int(len(pieces) * height / total)) if total > 0.0 else 1
        number = min(number, len(pieces) + 1)
        self._scale = number / height if height > 0.0 else 0.0
        self._bands: list[list[Reach]] = [[] for _ in range(number + 1)]
        for piece in pieces:
            reach = _reach(piece, along_y=along_y)
            for band in range(self._band(piece.low), self._band(piece.high) + 1):
                self._bands[band].append(reach)
        for reaches in self._bands:
            reaches.sort(key=lambda each: -each.greatest)

    def _band(self, level: float) -> int:
        return int((level - self._low) * self._scale)

    def beyond(self, edge: Edge, point: Point) -> Winding:
        """Return the winding just beyond an edge, as the ray from a point on it sees it."""
        level, place = (point.x, point.y) if self._along_y else (point.y, point.x)
        first = second = 0
        own: list[tuple[float, MonotonePiece, bool]] = []
        for greatest, least, piece in self._bands[self._band(level)]:
            if greatest < place:
                break
            if piece.low <= level < piece.high:
                if piece.edge is edge:
                    other = place_at(piece, level, along_y=self._along_y)
                    own.append((abs(other - place), piece, other > place))
                elif least > place or place_at(piece, level, along_y=self._along_y) > place:
                    first += piece.sign * piece.edge.step.first
                    second += piece.sign * piece.edge.step.second
        own.sort(key=lambda each: each[0])
        for _, piece, is_beyond in own[1:]:
            if is_beyond:
                first += piece.sign * edge.step.first
                second += piece.sign * edge.step.second
        return Winding(first, second)


def pieces_of(edge: Edge, points: list[Point], *, along_y: bool) -> Iterator[MonotonePiece]:
    """Yield the pieces of an edge; for rays along y its step changes sign, as x and y exchange."""
    segment = edge.segment
    axis = 0 if along_y else 1
    level, end = points[edge.start][axis], points[edge.end][axis]
    turns: list[tuple[float, int]] = []
    if isinstance(segment, Arc):
        turns = list(_turns(segment, along_y=along_y))
    mirror = -1 if along_y else 1
    centre = 0.0 if isinstance(segment, Line) else segment.centre[axis]
    for extreme, bulge in turns:
        following = end if extreme == 0.0 else centre + extreme
        if following != level:
            low, high = (level, following) if level < following else (following, level)
            yield MonotonePiece(low, high, mirror * (1 if following > level else -1), edge, bulge)
        level = following
    if not turns and level != end:
        low, high = (level, end) if level < end else (end, level)
        yield MonotonePiece(low, high, mirror * (1 if end > level else -1), edge, 0)


def _turns(arc: Arc, *, along_y: bool) -> Iterator[tuple[float, int]]:
    """Yield the extreme level, from the centre, at which each piece of an arc ends, and its side.

    The last piece ends at no extreme but at the end of the arc, for which 0 stands.
    """
    shift = 0.0 if along_y else QUADRANT
    start, end = arc.start_angle - shift, arc.end_angle - shift
    if arc.sweep > 0.0:
        halves = range(math.floor(start / math.pi) + 1, math.ceil(end / math.pi))
    else:
        halves = range(math.ceil(start / math.pi) - 1, math.floor(end / math.pi), -1)
    before = start
    for half in halves:
        angle = half * math.pi
        yield arc.radius * (1 if half % 2 == 0 else -1), _side(before, angle, along_y=along_y)
        before = angle
    yield 0.0, _side(before, end, along_y=along_y)


def _side(start: float, end: float, *, along_y: bool) -> int:
    """Return the side of the centre on which an arc between two extremes lies."""
    is_positive = math.sin(0.5 * (start + end)) > 0.0
    return 1 if is_positive == along_y else -1


def _reach(piece: MonotonePiece, *, along_y: bool) -> Reach:
    """Return between which places a piece lies: those of its ends and of an arc's extreme."""
    places = [place_at(piece, level, along_y=along_y) for level in (piece.low, piece.high)]
    segment = piece.edge.segment
    if isinstance(segment, Arc):
        centre = segment.centre[1 if along_y else 0]
        places.append(centre + piece.bulge * segment.radius)
    return Reach(max(places) + SNAP, min(places) - SNAP, piece)


def place_at(piece: MonotonePiece, level: float, *, along_y: bool) -> float:
    """Return where a piece is at a level."""
    segment = piece.edge.segment
    level_axis, place_axis = (0, 1) if along_y else (1, 0)
    if isinstance(segment, Line):
        a, b = segment
        rise = b[level_axis] - a[level_axis]
        # Level, but for its nodes: they may lie a rounding error off its own ends, which is many
        # times its rise. No place of it is beyond its ends.
        share = (level - a[level_axis]) / rise if rise != 0.0 else 0.5
        return a[place_axis] + min(max(share, 0.0), 1.0) * (b[place_axis] - a[place_axis])
    across = level - segment.centre[level_axis]
    square = (segment.radius - across) * (segment.radius + across)
    return segment.centre[place_axis] + piece.bulge * math.sqrt(max(square, 0.0))
