"""Winding numbers on both sides of the chains of an arrangement.

A ray is sent from the middle of a chain's longest edge, along x or y, whichever crosses that
edge more steeply.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from jobprep.geometry.arrangement import Arrangement, Edge, EdgeChain, Winding
from jobprep.geometry.intersect import SNAP
from jobprep.geometry.outline import Arc, Line, Point
from jobprep.geometry.rays import Rays
from jobprep.geometry.segment import midpoint, segment_length, start_direction

MANY = 4_000_000
"""Edges times rays from which on they are dealt with together."""

FEW = 4
"""Rays for which most edges are left out at once."""


class Sides(NamedTuple):
    """Winding on the left and on the right of a chain."""

    left: Winding
    right: Winding


class _Asked(NamedTuple):
    """The edge and the point on it that decide on a chain, and whether its left is beyond."""

    chain: EdgeChain
    edge: Edge
    point: Point
    left_is_beyond: bool


def sides(arrangement: Arrangement) -> Iterator[tuple[EdgeChain, Sides]]:
    """Yield every chain with the winding on both sides of it."""
    asked: dict[bool, list[_Asked]] = {}
    for chain in arrangement.chains:
        edge, forwards = max(chain.edges, key=lambda each: segment_length(each[0].segment))
        dx, dy = _direction(edge)
        along_y = abs(dx) > abs(dy)
        left_is_beyond = (dx > 0.0 if along_y else dy < 0.0) == forwards
        one = _Asked(chain, edge, midpoint(edge.segment), left_is_beyond)
        asked.setdefault(along_y, []).append(one)
    found: dict[int, Sides] = {}
    for along_y, those in asked.items():
        for one, beyond in zip(those, _beyond(arrangement, those, along_y), strict=True):
            step = one.chain.step
            if one.left_is_beyond:
                right = Winding(beyond.first - step.first, beyond.second - step.second)
                found[id(one.chain)] = Sides(beyond, right)
            else:
                left = Winding(beyond.first + step.first, beyond.second + step.second)
                found[id(one.chain)] = Sides(left, beyond)
    for chain in arrangement.chains:
        yield chain, found[id(chain)]


def _beyond(arrangement: Arrangement, asked: Sequence[_Asked], along_y: bool) -> list[Winding]:
    """Return the winding beyond the edge that stands for each chain."""
    edges = [edge for chain in arrangement.chains for edge, _ in chain.edges]
    starts = [(one.edge, one.point) for one in asked]
    if len(starts) <= FEW:
        edges = _within_reach(edges, starts, arrangement.points, along_y)
    if len(edges) * len(asked) > MANY:
        # Not needed for a small part: a check of those is to start at once.
        from jobprep.geometry.many_rays import ManyRays

        return ManyRays(edges, arrangement.points, along_y=along_y).beyond(starts)
    rays = Rays(edges, arrangement.points, along_y=along_y)
    return [rays.beyond(*start) for start in starts]


def _within_reach(
    edges: Sequence[Edge],
    starts: Sequence[tuple[Edge, Point]],
    points: Sequence[Point],
    along_y: bool,
) -> list[Edge]:
    """Return the edges that rays from some starts may meet, as far as their levels tell."""
    axis = 0 if along_y else 1
    levels = [point[axis] for _, point in starts]

    def spans(edge: Edge) -> bool:
        start, end = points[edge.start][axis], points[edge.end][axis]
        if isinstance(edge.segment, Arc):
            middle, radius = edge.segment.centre[axis], edge.segment.radius + SNAP
            start, end = min(start, end, middle - radius), max(start, end, middle + radius)
        return any((start <= level) != (end <= level) for level in levels)

    return [edge for edge in edges if spans(edge)]


def _direction(edge: Edge) -> Point:
    """Return the direction of an edge at its middle."""
    segment = edge.segment
    if isinstance(segment, Line):
        return start_direction(segment)
    angle = segment.start_angle + 0.5 * segment.sweep
    return start_direction(Arc(segment.centre, segment.radius, angle, segment.sweep))
