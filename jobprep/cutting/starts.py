"""Where on a contour the beam may start.

The beam dwells where it pierces and leaves a scar a little wider than the kerf. It harms least
at a convex corner of the part, where most of the scar falls outside (common practice, no
source). Where a part has none, as in a hole, the middle of a long straight side is next: away
from the corners, where the hole must fit. A round contour offers evenly spaced points. Only the
kinds of point named here are ever offered; which of them is used is a matter of short travel.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from jobprep.cutting.along import piece_of_segment
from jobprep.geometry.outline import Arc, Contour, Line, Path, Point
from jobprep.geometry.segment import point_along, turn_between
from jobprep.units import TURN, from_degrees

CORNER = from_degrees(15.0)
"""The least turn that counts as a corner; flatter joints are smooth for a pierce scar."""

LONG_SIDE = 0.5
"""A straight side is long if it measures at least this share of the contour's longest."""

ROUND_STARTS = 8
"""How many points a contour without corners and sides offers on each of its arcs."""

MOST_STARTS = 12
"""How many points a contour offers at most, spread evenly over those it has."""


class Start(NamedTuple):
    """A place on a contour: ``fraction`` of the way along one of its segments, 0 <= f < 1."""

    segment: int
    fraction: float


def possible_starts(contour: Contour, kerf: float, *, hole: bool) -> tuple[Start, ...]:
    """Return the places on a tool path where starting harms the part least.

    The path runs anticlockwise round a part, or clockwise in its ``hole``: material to keep is on
    its left then as well. Corners rounded by the kerf count as corners.
    """
    starts = [] if hole else _corners(contour.segments, kerf)
    starts = starts or _long_sides(contour.segments) or _spread_over_arcs(contour.segments)
    step = max(1, math.ceil(len(starts) / MOST_STARTS))
    return tuple(starts[::step])


def start_point(contour: Contour, start: Start) -> Point:
    """Return the point of a start."""
    segment = contour.segments[start.segment]
    return segment.start if start.fraction == 0.0 else point_along(segment, start.fraction)


def begun_at(contour: Contour, start: Start) -> Contour:
    """Return the same contour beginning at ``start``; a segment is split only inside itself."""
    segments = contour.segments
    after, before = segments[start.segment + 1 :], segments[: start.segment]
    segment = segments[start.segment]
    if start.fraction == 0.0:
        return Contour((segment, *after, *before))
    if isinstance(segment, Arc) and len(segments) == 1:
        angle = segment.start_angle + start.fraction * segment.sweep
        return Contour((segment._replace(start_angle=angle),))
    first = piece_of_segment(segment, 0.0, start.fraction)
    second = piece_of_segment(segment, start.fraction, 1.0)
    return Contour((second, *after, *before, first))


def _corners(segments: Path, kerf: float) -> list[Start]:
    """Find sharp left turns, and the arcs of kerf/2 that stand for them on a tool path."""
    corners = []
    before = segments[-1]
    for index, segment in enumerate(segments):
        rounded = isinstance(segment, Arc) and segment.radius <= kerf / 2.0 * (1.0 + 1e-9)
        turn = (
            segment.sweep if isinstance(segment, Arc) and rounded else turn_between(before, segment)
        )
        if turn >= CORNER:
            corners.append(Start(index, 0.0))
        before = segment
    return corners


def _long_sides(segments: Path) -> list[Start]:
    lengths = [
        math.dist(segment.start, segment.end) if isinstance(segment, Line) else 0.0
        for segment in segments
    ]
    longest = max(lengths)
    if longest == 0.0:
        return []
    return [
        Start(index, 0.5) for index, length in enumerate(lengths) if length >= LONG_SIDE * longest
    ]


def _spread_over_arcs(segments: Path) -> list[Start]:
    return [
        Start(index, step / count)
        for index, segment in enumerate(segments)
        if isinstance(segment, Arc)
        for count in [math.ceil(abs(segment.sweep) / TURN * ROUND_STARTS)]
        for step in range(count)
    ]
