"""Join chains into simple contours, material on the left, and contours into regions."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from jobprep.geometry.arrangement import Edge, EdgeChain
from jobprep.geometry.intersect import SNAP
from jobprep.geometry.measure import Bounds, bounds, encloses, signed_area
from jobprep.geometry.outline import (
    JOIN_TOLERANCE,
    Arc,
    Contour,
    Line,
    Path,
    Point,
    Region,
    Segment,
    reversed_segment,
)
from jobprep.geometry.segment import heading, point_along, reach, segment_length

SAME_CURVE = 1e-9
"""Lines and circles that differ by less, mm, are one: rounding of the same curve."""

THINNEST = 10.0 * SNAP
"""A contour whose area is less than this times its length is no piece of anything."""


class OpenContourError(ArithmeticError):
    """Chains do not close: at some place more of them end than begin."""

    def __init__(self, place: Point) -> None:
        super().__init__(f"chains stay open at {place}")
        self.place = place


def contours_of(chains: Sequence[EdgeChain], points: Sequence[Point]) -> list[Contour]:
    """Join chains that all have material on their left into simple contours.

    Where more than two chains meet, each contour keeps to its own wedge of material; a contour
    that comes back to a node is split there. Slivers are dropped.

    Raises ``OpenContourError`` when the chains do not close.
    """
    contours: list[Contour] = []
    for loop in _loops(chains, points):
        path = [_outwards(*each) for chain in loop for each in chain.edges]
        is_untouched = loop[0].source >= 0
        contour = Contour(tuple(path) if is_untouched else merged_path(_bridged(path)))
        length = sum(map(segment_length, contour.segments))
        if abs(signed_area(contour)) > THINNEST * length:
            contours.append(contour)
    return contours


def regions_of(contours: Sequence[Contour]) -> tuple[Region, ...]:
    """Give each clockwise contour to the smallest anticlockwise one around it."""
    outers: list[tuple[float, Contour]] = []
    holes: list[Contour] = []
    for contour in contours:
        size = signed_area(contour)
        if size > 0.0:
            outers.append((size, contour))
        else:
            holes.append(contour)
    owned: list[list[Contour]] = [[] for _ in outers]
    order = sorted(range(len(outers)), key=lambda i: outers[i][0])
    boxes = [bounds(outer.segments) for _, outer in outers]
    for hole in holes:
        if len(outers) == 1:
            owned[0].append(hole)
            continue
        for i in order:
            if _lies_in(hole, outers[i][1], boxes[i]):
                owned[i].append(hole)
                break
    return tuple(
        Region(outer, tuple(inner)) for (_, outer), inner in zip(outers, owned, strict=True)
    )


def _lies_in(hole: Contour, outer: Contour, box: Bounds) -> bool:
    """Return whether a contour that crosses another nowhere lies in it, though it may touch it.

    Two of three points decide: one may be where they touch.
    """
    longest = max(hole.segments, key=segment_length)
    inside = 0
    for tested, share in enumerate((0.29, 0.63, 0.87)):
        x, y = point = point_along(longest, share)
        is_near = box.x_min <= x <= box.x_max and box.y_min <= y <= box.y_max
        inside += is_near and encloses(outer, point)
        if inside == 2 or inside < tested:
            break
    return inside == 2


def turned_back(chain: EdgeChain) -> EdgeChain:
    """Return the same chain run backwards."""
    return EdgeChain(
        [(edge, not forwards) for edge, forwards in reversed(chain.edges)],
        chain.step,
        chain.source,
    )


def _loops(chains: Iterable[EdgeChain], points: Sequence[Point]) -> Iterator[list[EdgeChain]]:
    """Yield closed runs of chains that visit no node twice."""
    open_chains: list[EdgeChain] = []
    for chain in chains:
        if chain.start == chain.end:
            yield [chain]
        else:
            open_chains.append(chain)
    following = _successors(open_chains, points)
    done: set[int] = set()
    for chain in open_chains:
        run: list[EdgeChain] = []
        starts: dict[int, int] = {}
        while id(chain) not in done:
            done.add(id(chain))
            starts[chain.start] = len(run)
            run.append(chain)
            first = starts.get(chain.end)
            if first is not None:
                yield run[first:]
                for each in run[first:]:
                    del starts[each.start]
                del run[first:]
            chain = following[id(chain)]


def _successors(chains: Iterable[EdgeChain], points: Sequence[Point]) -> dict[int, EdgeChain]:
    """Return the chain that follows each one, by id, around the same wedge of material."""
    leaving: dict[int, list[EdgeChain]] = {}
    arriving: dict[int, list[EdgeChain]] = {}
    for chain in chains:
        leaving.setdefault(chain.start, []).append(chain)
        arriving.setdefault(chain.end, []).append(chain)
    following: dict[int, EdgeChain] = {}
    for node in leaving.keys() | arriving.keys():
        out, into = leaving.get(node, []), arriving.get(node, [])
        if len(out) != len(into):
            raise OpenContourError(points[node])
        if len(out) == 1:
            following[id(into[0])] = out[0]
            continue
        outwards = [_outwards(*chain.edges[0]) for chain in out]
        backwards = [
            _outwards(edge, not forwards) for edge, forwards in (c.edges[-1] for c in into)
        ]
        near = 0.5 * min(map(reach, outwards + backwards))
        angles = [heading(points[node], segment, near) for segment in outwards]
        for chain, segment in zip(into, backwards, strict=True):
            back = heading(points[node], segment, near)
            turns = [(back - angle) % math.tau for angle in angles]
            following[id(chain)] = out[turns.index(min(turns))]
        if len({id(following[id(chain)]) for chain in into}) != len(into):
            raise OpenContourError(points[node])
    return following


def _outwards(edge: Edge, forwards: bool) -> Segment:
    """Return the segment of an edge run from its start, or back from its end."""
    return edge.segment if forwards else reversed_segment(edge.segment)


def _bridged(path: Sequence[Segment]) -> Iterator[Segment]:
    """Yield the segments of a closed path with a line across every gap too wide for a joint."""
    for segment, following in zip(path, (*path[1:], path[0]), strict=True):
        yield segment
        if math.dist(segment.end, following.start) > 0.9 * JOIN_TOLERANCE:
            yield Line(segment.end, following.start)


def merged_path(pieces: Iterable[Segment]) -> Path:
    """Join neighbouring pieces of the same line or circle, around the whole contour."""
    path: list[Segment] = []
    for piece in pieces:
        joined = _joined(path[-1], piece) if path else None
        if joined is None:
            path.append(piece)
        else:
            path[-1] = joined
    if len(path) > 1:
        joined = _joined(path[-1], path[0])
        if joined is not None:
            path[0] = joined
            path.pop()
    if len(path) == 1 and isinstance(path[0], Arc):
        only = path[0]
        path[0] = only._replace(sweep=math.copysign(math.tau, only.sweep))
    return tuple(path)


def _joined(a: Segment, b: Segment) -> Segment | None:
    """Return one segment for two that follow each other, None unless on the same curve."""
    if isinstance(a, Line) and isinstance(b, Line):
        whole = Line(a.start, b.end)
        length = segment_length(whole)
        (x0, y0), (x1, y1) = whole
        x, y = a.end.x - x0, a.end.y - y0
        off = abs(x * (y1 - y0) - y * (x1 - x0))
        along = x * (x1 - x0) + y * (y1 - y0)
        is_between = 0.0 < along < length * length
        return whole if is_between and off <= SAME_CURVE * length else None
    if isinstance(a, Arc) and isinstance(b, Arc):
        is_same = (
            (a.sweep > 0.0) == (b.sweep > 0.0)
            and abs(a.radius - b.radius) <= SAME_CURVE
            and math.dist(a.centre, b.centre) <= SAME_CURVE
        )
        if is_same:
            longer = a if abs(a.sweep) >= abs(b.sweep) else b
            sweep = max(-math.tau, min(a.sweep + b.sweep, math.tau))
            return Arc(longer.centre, longer.radius, a.start_angle, sweep)
    return None
