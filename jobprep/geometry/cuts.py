"""Where loops must be cut: all places in which they meet, as nodes.

Terminology
-----------
loop      a closed path with a role; it may cross itself and others
node      a point where pieces end; points within the tolerance are one node
stop      a node on a segment, and how far along it
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import NamedTuple

from jobprep.geometry.intersect import intersections
from jobprep.geometry.near import near_segments
from jobprep.geometry.outline import Arc, Line, Path, Point, Segment
from jobprep.geometry.segment import (
    end_direction,
    reach,
    segment_length,
    start_direction,
)

APART = 0.035
"""How many radians segments must stay apart, seen from their joint, to meet nowhere else."""

MUCH = 100.0
"""This number of tolerances long, a segment cannot end on one that lies a few degrees beside it."""


class Loop(NamedTuple):
    """A closed path and its role, 0 or 1; ends of neighbouring segments are one node."""

    path: Path
    role: int = 0


class Stop(NamedTuple):
    """A node on a segment; ``along`` is in mm on a line, in radians of sweep on an arc."""

    along: float
    node: int


class Cuts(NamedTuple):
    """The stops of every segment of all loops in order, its own ends first and last.

    ``touched`` holds the loops that meet another one or themselves.
    """

    stops: list[list[Stop]]
    touched: set[int]
    points: list[Point]


class Nodes:
    """Points, those within a tolerance of each other counted once."""

    def __init__(self, tolerance: float) -> None:
        self.tolerance = tolerance
        self._cell = 64.0 * tolerance
        self.points: list[Point] = []
        self._cells: dict[tuple[int, int], list[int]] = {}

    def at(self, point: Point) -> int:
        """Return the node nearest to a point, a new one if none is near."""
        x, y = point
        best, least, cell = -1, self.tolerance, self._cell
        i, j = math.floor((x - least) / cell), math.floor((y - least) / cell)
        i_last, j_last = math.floor((x + least) / cell), math.floor((y + least) / cell)
        own = (i, j)
        keys = [own]
        if i_last > i or j_last > j:
            keys = [(u, v) for u in range(i, i_last + 1) for v in range(j, j_last + 1)]
            own = (math.floor(x / cell), math.floor(y / cell))
        for key in keys:
            for node in self._cells.get(key, ()):
                gap = math.dist(self.points[node], point)
                if gap <= least:
                    best, least = node, gap
        if best < 0:
            best = len(self.points)
            self.points.append(point)
            self._cells.setdefault(own, []).append(best)
        return best


def find_cuts(
    loops: Sequence[Loop], *, is_simple: bool, tolerance: float, most: float = math.inf
) -> Cuts:
    """Find all places where loops meet.

    ``is_simple`` says that no loop crosses itself, so only different loops are compared.
    Points within ``tolerance``, mm, are one, and so are nodes no piece longer than twice that
    keeps apart.

    Raises ``CrowdedError`` when more than ``most`` pairs of many segments come that near.
    """
    segments = [segment for loop in loops for segment in loop.path]
    owner = [index for index, loop in enumerate(loops) for _ in loop.path]
    nodes = Nodes(tolerance)
    stops = [
        [Stop(0.0, start), Stop(_extent(segment), end)]
        for segment, (start, end) in zip(segments, _joint_nodes(loops, nodes), strict=True)
    ]
    following = followers([loop.path for loop in loops])
    met: set[int] = set()
    for i, j in near_segments(segments, tolerance, most):
        if is_simple and owner[i] == owner[j]:
            continue
        follows, precedes = following[i] == j, following[j] == i
        if follows != precedes:
            before, after = (segments[i], segments[j]) if follows else (segments[j], segments[i])
            if only_join(before, after, tolerance):
                continue
        for point in intersections(segments[i], segments[j], tolerance):
            node = nodes.at(point)
            stops[i].append(_stop(segments[i], point, node))
            stops[j].append(_stop(segments[j], point, node))
            met.update((i, j))
    for i in met:
        # The start stays first and the end last, whatever else lies there.
        start, end, *inner = stops[i]
        stops[i] = [start, *sorted(inner), end]
    touched = {owner[i] for i in met}
    return Cuts(_contracted(stops, segments, 2.0 * tolerance), touched, nodes.points)


def _joint_nodes(loops: Sequence[Loop], nodes: Nodes) -> list[tuple[int, int]]:
    """Return the node at the start and at the end of every segment of all loops."""
    ends: list[tuple[int, int]] = []
    for loop in loops:
        starts = [nodes.at(segment.start) for segment in loop.path]
        ends.extend(zip(starts, starts[1:] + starts[:1], strict=True))
    return ends


def followers(paths: Sequence[Path]) -> list[int]:
    """Return the number of the segment that follows each in its closed path."""
    found: list[int] = []
    for path in paths:
        first = len(found)
        found += range(first + 1, first + len(path))
        found.append(first)
    return found


def only_join(a: Segment, b: Segment, tolerance: float) -> bool:
    """Return whether a segment and the one after it surely meet nowhere but in their joint.

    Seen from there a line lies in one direction, an arc within half its sweep of that direction in
    which it sets out.
    """
    (ux, uy), (vx, vy) = end_direction(a), start_direction(b)
    spread = abs(math.atan2(ux * vy - uy * vx, ux * vx + uy * vy))
    for each in (a, b):
        if reach(each) <= MUCH * tolerance:
            return False
        if isinstance(each, Arc):
            spread += 0.5 * abs(each.sweep)
    return spread < math.pi - APART


def _extent(segment: Segment) -> float:
    """Return how far along a segment its end is."""
    return segment_length(segment) if isinstance(segment, Line) else abs(segment.sweep)


def _stop(segment: Segment, point: Point, node: int) -> Stop:
    """Return the stop at a point on a segment."""
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment
        dx, dy = x1 - x0, y1 - y0
        length = math.hypot(dx, dy)
        along = ((point.x - x0) * dx + (point.y - y0) * dy) / (length or 1.0)
        return Stop(min(max(along, 0.0), length), node)
    turn = math.atan2(point.y - segment.centre.y, point.x - segment.centre.x)
    sweep = abs(segment.sweep)
    along = math.copysign(1.0, segment.sweep) * (turn - segment.start_angle) % math.tau
    # A point a rounding error before the start is no whole turn away from it.
    if along > sweep + 0.5 * (math.tau - sweep):
        along = 0.0
    return Stop(min(along, sweep), node)


def _contracted(
    stops: list[list[Stop]], segments: Sequence[Segment], least: float
) -> list[list[Stop]]:
    """Make one node of nodes that only a piece shorter than ``least`` keeps apart."""
    root: dict[int, int] = {}

    def find(node: int) -> int:
        while node in root:
            node = root[node]
        return node

    for each, segment in zip(stops, segments, strict=True):
        scale = 1.0 if isinstance(segment, Line) else segment.radius
        for before, stop in itertools.pairwise(each):
            if before.node != stop.node and (stop.along - before.along) * scale < least:
                first, second = sorted((find(before.node), find(stop.node)))
                if first != second:
                    root[second] = first
    if not root:
        return stops
    return [[Stop(along, find(node)) for along, node in each] for each in stops]
