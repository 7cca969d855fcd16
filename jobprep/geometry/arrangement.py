"""Cut outlines at all their meetings and keep the pieces that bound what is wanted.

Terminology
-----------
loop      a closed path with a role; it may cross itself and others
node      a point where pieces end; points within the tolerance are one node
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

from jobprep.geometry.cuts import Loop, Stop, find_cuts
from jobprep.geometry.outline import Arc, Line, Point, Segment
from jobprep.geometry.segment import midpoint


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
class EdgeChain:
    """Edges in order, each with whether it runs forwards, and the step across all of them.

    ``source`` is the index of the loop when the chain is that whole loop, untouched and known to
    be simple; else -1.
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


class Arrangement(NamedTuple):
    """Chains between the branching nodes, and where the nodes lie."""

    chains: list[EdgeChain]
    points: list[Point]


def arrange(
    loops: Sequence[Loop], *, is_simple: bool, tolerance: float, most: float = math.inf
) -> Arrangement:
    """Cut loops at all meetings and return their chains.

    ``is_simple`` says that no loop crosses itself, so only different loops are compared. Pieces
    shorter than twice ``tolerance``, mm, vanish, and pieces closer together are one.

    Raises ``CrowdedError`` when more than ``most`` pairs of many segments come that near.
    """
    cuts = find_cuts(loops, is_simple=is_simple, tolerance=tolerance, most=most)
    hair = 2.0 * tolerance
    chains: list[EdgeChain] = []
    shared: dict[tuple[int, int], list[Edge]] = {}
    base = 0
    for index, loop in enumerate(loops):
        one = Winding(1, 0) if loop.role == 0 else Winding(0, 1)
        following = base + len(loop.path)
        if index in cuts.touched:
            for segment, stops in zip(loop.path, cuts.stops[base:following], strict=True):
                for edge in _pieces(segment, stops, cuts.points, one, hair):
                    _add_edge(shared, edge, hair)
        else:
            whole = [
                (Edge(stops[0].node, stops[-1].node, segment, one), True)
                for segment, stops in zip(loop.path, cuts.stops[base:following], strict=True)
            ]
            chains.append(EdgeChain(whole, one, index if is_simple else -1))
        base = following
    edges = [edge for group in shared.values() for edge in group if any(edge.step)]
    chains.extend(_chains(edges))
    return Arrangement(chains, cuts.points)


def _pieces(
    segment: Segment, stops: Sequence[Stop], points: Sequence[Point], step: Winding, hair: float
) -> Iterator[Edge]:
    """Yield the edges of one segment between its stops."""
    scale = 1.0 if isinstance(segment, Line) else segment.radius
    before = stops[0]
    for stop in stops[1:]:
        length = stop.along - before.along
        # A circle comes back to its node; anything else so short is none.
        if stop.node == before.node and length * scale < 4.0 * hair:
            continue
        piece: Segment
        if isinstance(segment, Line) or length <= 0.0:
            piece = Line(points[before.node], points[stop.node])
        elif length == abs(segment.sweep):
            piece = segment
        else:
            sign = math.copysign(1.0, segment.sweep)
            start_angle = segment.start_angle + sign * before.along
            piece = Arc(segment.centre, segment.radius, start_angle, sign * length)
        yield Edge(before.node, stop.node, piece, step)
        before = stop


def _add_edge(shared: dict[tuple[int, int], list[Edge]], edge: Edge, hair: float) -> None:
    """Add an edge, or its step to the edge that it coincides with."""
    key = (edge.start, edge.end) if edge.start < edge.end else (edge.end, edge.start)
    group = shared.setdefault(key, [])
    for other in group:
        if math.dist(midpoint(other.segment), midpoint(edge.segment)) <= hair:
            first, second = _step(edge, _same_way(other, edge))
            other.step = Winding(other.step.first + first, other.step.second + second)
            return
    group.append(edge)


def _same_way(a: Edge, b: Edge) -> bool:
    """Return whether two edges that coincide run the same way."""
    if a.start == a.end and isinstance(a.segment, Arc) and isinstance(b.segment, Arc):
        return (a.segment.sweep > 0.0) == (b.segment.sweep > 0.0)
    return a.start == b.start


def _step(edge: Edge, forwards: bool) -> Winding:
    """Return the step across an edge run one way or the other."""
    return edge.step if forwards else Winding(-edge.step.first, -edge.step.second)


def _chains(edges: list[Edge]) -> Iterator[EdgeChain]:
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
        yield EdgeChain(run, edge.step)
