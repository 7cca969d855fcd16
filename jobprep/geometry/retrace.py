"""An offset found again among the moved segments of the outline it was made from.

An offset is made of pieces of moved segments in their order (``geometry.offset``), less what is
left out between two of them, but it does not say which. Here the outline and one loop of its offset
are walked once, side by side.

Terminology
-----------
stretch   a segment of an offset
spot      a point of an offset, given by the moved segment on which it lies
joint     the end of a stretch, where the next one begins
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from jobprep.geometry.offset import moved_segments
from jobprep.geometry.outline import Arc, Line, Path, Point, Segment
from jobprep.geometry.segment import point_along, point_distance, segment_length

PROBE = 1e-4
"""How far from its ends a stretch is looked up, mm: beyond what rounds its corners."""

ON_CURVE = 2e-5
"""How far a stretch may lie from the moved segment that it is a piece of, mm: twice the widest of
``boolean.TOLERANCES``, within which an arrangement moves its nodes."""

SAME_CURVE = 1e-7
"""How far its centre and radius may be off, mm: arcs are cut, but for rounding not moved."""

SHORTEST = 5e-5
"""Shorter stretches are left out, mm: their directions may be all rounding."""


class Spot(NamedTuple):
    """On which moved segment a point of an offset lies, lap after lap, and what share along it."""

    number: int
    share: float


class Joint(NamedTuple):
    """Where two stretches of an offset meet, and the spots of their ends there."""

    point: Point
    before: Spot
    after: Spot


class _Stretch(NamedTuple):
    """A stretch, and the spots where it begins and ends."""

    segment: Segment
    first: Spot
    last: Spot


class Retraced:
    """An anticlockwise outline with its moved segments, among which its offset is found again."""

    def __init__(self, path: Path, distance: float) -> None:
        moved = list(moved_segments(path, distance))
        self._path = path
        self._moved = [each for each in moved if each.kind != "link"]
        self.is_convex = (
            distance > 0.0
            and len(self._moved) == len(moved)
            and not any(isinstance(each, Arc) and each.sweep < 0.0 for each in path)
        )
        """Whether the offset is all of the moved segments, as that of what bulges everywhere is."""

    def joints(self, loop: Path) -> Iterator[Joint]:
        """Yield the joints of a loop of the offset; short stretches are left out of it."""
        stretches = list(self._stretches(clear_stretches(loop)))
        if stretches:
            starts = [each.first for each in stretches]
            lap = starts[0]._replace(number=starts[0].number + len(self._moved))
            for stretch, after in zip(stretches, [*starts[1:], lap], strict=True):
                yield Joint(stretch.segment.end, stretch.last, after)

    def spot_of(self, loop: Path) -> Spot:
        """Return the spot of some point of a loop."""
        return self._start(max(loop, key=segment_length))

    def is_between(self, joint: Joint, spot: Spot) -> bool:
        """Return whether a spot is left out at a joint."""
        laps = (spot, spot._replace(number=spot.number + len(self._moved)))
        return any(joint.before < each < joint.after for each in laps)

    def left_out(self, joint: Joint) -> Iterator[Segment]:
        """Yield what of the outline lies between the two spots of a joint."""
        _, before, after = joint
        if before.number == after.number:
            return
        start, end = self._side(before), self._side(after)
        if self._is_side(before):
            yield _part(self._path[start % len(self._path)], before.share, 1.0)
            start += 1
        for side in range(start, end):
            yield self._path[side % len(self._path)]
        if self._is_side(after):
            yield _part(self._path[end % len(self._path)], 0.0, after.share)

    def foot(self, spot: Spot, point: Point) -> Point:
        """Return where the outline beside a spot is nearest to a point."""
        segment = self._path[self._side(spot) % len(self._path)]
        return (
            point_along(segment, _share(segment, point)) if self._is_side(spot) else segment.start
        )

    def _side(self, spot: Spot) -> int:
        """Return the number of the outline's segment beside or after a spot, lap after lap."""
        laps, number = divmod(spot.number, len(self._moved))
        return self._moved[number].side + laps * len(self._path)

    def _is_side(self, spot: Spot) -> bool:
        return self._moved[spot.number % len(self._moved)].kind == "side"

    def _stretches(self, clear: list[Segment]) -> Iterator[_Stretch]:
        """Yield the stretches of a loop in order, the longest first."""
        if not clear:
            return
        longest = max(range(len(clear)), key=lambda i: segment_length(clear[i]))
        spot = self._start(clear[longest])
        lap = spot._replace(number=spot.number + len(self._moved))
        for segment in clear[longest:] + clear[:longest]:
            share = min(PROBE / segment_length(segment), 0.5)
            first = self._next(segment, share, spot, lap)
            last = None if first is None else self._next(segment, 1.0 - share, first, lap)
            if first is not None and last is not None:
                begins = self._share_at(first.number, segment.start)
                ends = self._share_at(last.number, segment.end)
                # The start of a circle may seem to be its end, and its end its start.
                first = first._replace(share=begins if begins <= first.share else 0.0)
                spot = last._replace(share=ends if ends >= last.share else 1.0)
                yield _Stretch(segment, first, spot)

    def _start(self, stretch: Segment) -> Spot:
        """Return where a stretch starts, wherever that is."""
        point = point_along(stretch, min(PROBE / segment_length(stretch), 0.5))
        _, _, number = min(
            (not _is_piece(stretch, each.segment), point_distance(each.segment, point), i)
            for i, each in enumerate(self._moved)
        )
        return Spot(number, self._share_at(number, point))

    def _next(self, stretch: Segment, share: float, before: Spot, lap: Spot) -> Spot | None:
        """Return where a point of a stretch is, from one spot on and within the lap."""
        point = point_along(stretch, share)
        for number in range(before.number, lap.number + 1):
            segment = self._moved[number % len(self._moved)].segment
            if _is_piece(stretch, segment) and point_distance(segment, point) <= ON_CURVE:
                spot = Spot(number, _share(segment, point))
                slack = SHORTEST / segment_length(segment)
                is_behind = number == before.number and spot.share < before.share - slack
                is_beyond = number == lap.number and spot.share > lap.share + slack
                if not (is_behind or is_beyond):
                    return spot
        return None

    def _share_at(self, number: int, point: Point) -> float:
        return _share(self._moved[number % len(self._moved)].segment, point)


def clear_stretches(loop: Path) -> list[Segment]:
    """Return the stretches of an offset that are long enough to be found again."""
    return [each for each in loop if segment_length(each) > SHORTEST]


def _is_piece(stretch: Segment, segment: Segment) -> bool:
    """Return whether a stretch is on the line or circle of a segment and runs the same way.

    The way distinguishes the two sides of a slot that is just as wide as the disc.
    """
    if isinstance(stretch, Line) and isinstance(segment, Line):
        (x, y), length = segment.start, segment_length(segment)
        ux, uy = (segment.end.x - x) / length, (segment.end.y - y) / length
        (x0, y0), (x1, y1) = stretch
        return (
            (x1 - x0) * ux + (y1 - y0) * uy > 0.0
            and abs((x0 - x) * uy - (y0 - y) * ux) <= ON_CURVE
            and abs((x1 - x) * uy - (y1 - y) * ux) <= ON_CURVE
        )
    if isinstance(stretch, Arc) and isinstance(segment, Arc):
        return (
            (stretch.sweep > 0.0) == (segment.sweep > 0.0)
            and abs(stretch.radius - segment.radius) <= SAME_CURVE
            and math.dist(stretch.centre, segment.centre) <= SAME_CURVE
        )
    return False


def _share(segment: Segment, point: Point) -> float:
    """Return the share of a segment that leads to where it is nearest to a point."""
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment
        x, y = x1 - x0, y1 - y0
        return min(max(((point.x - x0) * x + (point.y - y0) * y) / (x * x + y * y), 0.0), 1.0)
    turn = math.atan2(point.y - segment.centre.y, point.x - segment.centre.x)
    turn = math.copysign(1.0, segment.sweep) * (turn - segment.start_angle) % math.tau
    sweep = abs(segment.sweep)
    # What lies outside the sweep is nearest to the nearer end.
    return 0.0 if turn > sweep + 0.5 * (math.tau - sweep) else min(turn / sweep, 1.0)


def _part(segment: Segment, first: float, last: float) -> Segment:
    """Return the part of a segment between two shares of its length."""
    if isinstance(segment, Line):
        return Line(point_along(segment, first), point_along(segment, last))
    start = segment.start_angle + first * segment.sweep
    return segment._replace(start_angle=start, sweep=(last - first) * segment.sweep)
