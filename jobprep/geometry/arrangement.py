"""Cut outlines at all their meetings and keep the pieces that bound what is wanted.

Terminology
-----------
loop      a closed path with a role; it may cross itself and others
node      a point where pieces end; points within ``SNAP`` are one node
edge      a piece of a segment from node to node that nothing crosses; pieces that coincide are
          one edge
winding   how often the loops of each role run anticlockwise around a point
step      winding on the left of an edge less that on its right, for each role
chain     edges that follow each other where nothing branches: what holds for one holds for all

Booleans and offsets are both made of this: arrange loops, keep the chains with a wanted winding
on exactly one side, join them. Which side is which is asked once per chain, in the middle of its
longest edge, so close to no other edge; short edges near a touch decide nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from jobprep.geometry.intersect import SNAP, intersections
from jobprep.geometry.outline import Arc, Line, Path, Point, Segment
from jobprep.geometry.segment import midpoint, point_distance, segment_box, segment_length

Box = tuple[float, float, float, float]

CELL = 64.0 * SNAP
"""Width of the cells in which nodes are looked up."""


class Loop(NamedTuple):
    """A closed path and its role, 0 or 1; ends of neighbouring segments are one node."""

    path: Path
    role: int = 0


class Winding(NamedTuple):
    """Winding numbers of the loops of role 0 and of role 1."""

    first: int
    second: int


@dataclass(slots=True)
class Edge:
    """A piece of a segment between nodes, with its step."""

    start: int
    end: int
    segment: Segment
    step: Winding


@dataclass(slots=True)
class Chain:
    """Edges in order, each with whether it runs forwards, and the step across all of them.

    ``source`` is the index of the loop when the chain is that whole loop, untouched; else -1.
    """

    edges: list[tuple[Edge, bool]]
    step: Winding
    source: int = -1

    @property
    def start(self) -> int:
        """Return the first node."""
        edge, forwards = self.edges[0]
        return edge.start if forwards else edge.end

    @property
    def end(self) -> int:
        """Return the last node."""
        edge, forwards = self.edges[-1]
        return edge.end if forwards else edge.start


class Nodes:
    """Points, those within ``SNAP`` of each other counted once."""

    def __init__(self) -> None:
        self.points: list[Point] = []
        self._cells: dict[tuple[int, int], list[int]] = {}

    def at(self, point: Point) -> int:
        """Return the node nearest to a point, a new one if none is near."""
        x, y = point
        best, least = -1, SNAP
        for i in range(math.floor((x - SNAP) / CELL), math.floor((x + SNAP) / CELL) + 1):
            for j in range(math.floor((y - SNAP) / CELL), math.floor((y + SNAP) / CELL) + 1):
                for node in self._cells.get((i, j), ()):
                    gap = math.dist(self.points[node], point)
                    if gap <= least:
                        best, least = node, gap
        if best < 0:
            best = len(self.points)
            self.points.append(point)
            key = (math.floor(x / CELL), math.floor(y / CELL))
            self._cells.setdefault(key, []).append(best)
        return best


class Arrangement(NamedTuple):
    """Chains between the branching nodes, and where the nodes lie."""

    chains: list[Chain]
    points: list[Point]


def arrange(loops: Sequence[Loop], *, is_simple: bool) -> Arrangement:
    """Cut loops at all meetings and return their chains.

    ``is_simple`` says that no loop crosses itself, so only different loops are compared.
    """
    segments = [segment for loop in loops for segment in loop.path]
    owner = [index for index, loop in enumerate(loops) for _ in loop.path]
    nodes = Nodes()
    ends = _joint_nodes(loops, nodes)
    stops, touched = _meetings(segments, owner, nodes, is_simple=is_simple)
    chains: list[Chain] = []
    shared: dict[tuple[int, int], list[Edge]] = {}
    base = 0
    for index, loop in enumerate(loops):
        one = Winding(1, 0) if loop.role == 0 else Winding(0, 1)
        if index in touched:
            for i in range(base, base + len(loop.path)):
                for edge in _pieces(segments[i], ends[i], stops.get(i, []), nodes.points, one):
                    _add_edge(shared, edge)
        else:
            whole = [
                (Edge(*ends[base + i], segment, one), True) for i, segment in enumerate(loop.path)
            ]
            chains.append(Chain(whole, one, index))
        base += len(loop.path)
    edges = [edge for group in shared.values() for edge in group if any(edge.step)]
    chains.extend(_chains(edges))
    return Arrangement(chains, nodes.points)


def _joint_nodes(loops: Sequence[Loop], nodes: Nodes) -> list[tuple[int, int]]:
    """Return the node at the start and at the end of every segment of all loops."""
    ends: list[tuple[int, int]] = []
    for loop in loops:
        starts = [nodes.at(segment.start) for segment in loop.path]
        ends.extend(zip(starts, starts[1:] + starts[:1], strict=True))
    return ends


Stops = dict[int, list[tuple[float, int]]]
"""Where segments are cut: per segment, how far along it and at which node."""


def _meetings(
    segments: Sequence[Segment], owner: Sequence[int], nodes: Nodes, *, is_simple: bool
) -> tuple[Stops, set[int]]:
    """Return where segments are cut by others, and which loops meet any."""
    stops: Stops = {}
    pairs: list[tuple[int, int]] = []
    boxes = [segment_box(segment) for segment in segments]
    for i, j in _near_pairs(boxes):
        if is_simple and owner[i] == owner[j]:
            continue
        points = intersections(segments[i], segments[j])
        for point in points:
            node = nodes.at(point)
            stops.setdefault(i, []).append((_along(segments[i], point), node))
            stops.setdefault(j, []).append((_along(segments[j], point), node))
        if points:
            pairs.append((i, j))
    for i, j in pairs:
        _share_stops(i, j, segments, stops, boxes, nodes.points)
        _share_stops(j, i, segments, stops, boxes, nodes.points)
    touched = {owner[i] for i in stops} if is_simple else set(owner)
    return stops, touched


def _share_stops(
    i: int,
    j: int,
    segments: Sequence[Segment],
    stops: Stops,
    boxes: Sequence[Box],
    points: Sequence[Point],
) -> None:
    """Cut segment j, too, where a third one cuts segment i at a point that lies on both.

    Where two segments part slowly, a third crosses them in places that are one node for neither.
    """
    segment = segments[j]
    x_min, y_min, x_max, y_max = boxes[j]
    known = {node for _, node in stops[j]}
    for _, node in stops[i]:
        x, y = point = points[node]
        if (
            node not in known
            and x_min - SNAP <= x <= x_max + SNAP
            and y_min - SNAP <= y <= y_max + SNAP
            and point_distance(segment, point) <= SNAP
        ):
            stops[j].append((_along(segment, point), node))


def _near_pairs(boxes: Sequence[Box]) -> Iterator[tuple[int, int]]:
    """Yield the pairs of boxes that meet, by a sweep along the axis that keeps them apart."""
    if not boxes:
        return
    x_min, y_min, x_max, y_max = zip(*boxes, strict=True)
    wide = (sum(x_max) - sum(x_min)) * (max(y_max) - min(y_min))
    high = (sum(y_max) - sum(y_min)) * (max(x_max) - min(x_min))
    if wide > high:
        x_min, x_max, y_min, y_max = y_min, y_max, x_min, x_max
    order = sorted(range(len(boxes)), key=x_min.__getitem__)
    active: list[int] = []
    for i in order:
        front, low, high = x_min[i] - SNAP, y_min[i] - SNAP, y_max[i] + SNAP
        active = [j for j in active if x_max[j] >= front]
        for j in active:
            if y_min[j] <= high and y_max[j] >= low:
                yield j, i
        active.append(i)


def _along(segment: Segment, point: Point) -> float:
    """Return how far along a segment a point on it lies: mm on a line, radians on an arc."""
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment
        dx, dy = x1 - x0, y1 - y0
        return ((point.x - x0) * dx + (point.y - y0) * dy) / (math.hypot(dx, dy) or 1.0)
    turn = math.atan2(point.y - segment.centre.y, point.x - segment.centre.x)
    sweep = abs(segment.sweep)
    along = math.copysign(1.0, segment.sweep) * (turn - segment.start_angle) % math.tau
    # A point a rounding error before the start is no whole turn away from it.
    return along - math.tau if along > sweep + 0.5 * (math.tau - sweep) else along


def _pieces(
    segment: Segment,
    ends: tuple[int, int],
    stops: list[tuple[float, int]],
    points: list[Point],
    step: Winding,
) -> Iterator[Edge]:
    """Yield the edges of one segment, those shorter than ``SNAP`` left out."""
    if isinstance(segment, Line):
        length, scale = segment_length(segment), 1.0
    else:
        length, scale = abs(segment.sweep), segment.radius
    inner = sorted((min(max(along, 0.0), length), node) for along, node in stops)
    last, node = 0.0, ends[0]
    for along, following in (*inner, (length, ends[1])):
        if following == node and (along - last) * scale < 8.0 * SNAP:
            continue
        piece: Segment
        if isinstance(segment, Line) or along == last:
            piece = Line(points[node], points[following])
        elif along - last == length:
            piece = segment
        else:
            sign = math.copysign(1.0, segment.sweep)
            start_angle = segment.start_angle + sign * last
            piece = Arc(segment.centre, segment.radius, start_angle, sign * (along - last))
        yield Edge(node, following, piece, step)
        last, node = along, following


def _add_edge(shared: dict[tuple[int, int], list[Edge]], edge: Edge) -> None:
    """Add an edge, or its step to the edge that it coincides with."""
    key = (edge.start, edge.end) if edge.start < edge.end else (edge.end, edge.start)
    group = shared.setdefault(key, [])
    for other in group:
        if math.dist(midpoint(other.segment), midpoint(edge.segment)) <= 2.0 * SNAP:
            first, second = _step(edge, _same_way(other, edge))
            other.step = Winding(other.step.first + first, other.step.second + second)
            return
    group.append(edge)


def _same_way(a: Edge, b: Edge) -> bool:
    """Tell whether two edges that coincide run the same way."""
    if a.start == a.end and isinstance(a.segment, Arc) and isinstance(b.segment, Arc):
        return (a.segment.sweep > 0.0) == (b.segment.sweep > 0.0)
    return a.start == b.start


def _step(edge: Edge, forwards: bool) -> Winding:
    """Return the step across an edge run one way or the other."""
    return edge.step if forwards else Winding(-edge.step.first, -edge.step.second)


def _chains(edges: list[Edge]) -> Iterator[Chain]:
    """Yield chains of edges that follow each other through nodes with no third edge."""
    around: dict[int, list[tuple[Edge, bool]]] = {}
    for edge in edges:
        around.setdefault(edge.start, []).append((edge, True))
        around.setdefault(edge.end, []).append((edge, False))
    done: set[int] = set()

    def follow(edge: Edge, forwards: bool) -> Iterator[tuple[Edge, bool]]:
        """Yield the edges after one, up to a branch or back to it."""
        first = edge
        while True:
            node = edge.end if forwards else edge.start
            here = around[node]
            if len(here) != 2:
                return
            came_last = here[1][0] is edge and here[1][1] != forwards
            following, leaves = here[0] if came_last else here[1]
            if following is first or _step(following, leaves) != _step(edge, forwards):
                return
            edge, forwards = following, leaves
            yield edge, forwards

    for edge in edges:
        if id(edge) in done:
            continue
        ahead = [(edge, True), *follow(edge, True)]
        last, forwards = ahead[-1]
        is_closed = (last.end if forwards else last.start) == edge.start
        behind = [] if is_closed else list(follow(edge, False))
        run = [(each, not way) for each, way in reversed(behind)] + ahead
        done.update(id(each) for each, _ in run)
        yield Chain(run, edge.step)
