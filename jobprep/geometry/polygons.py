"""Polygons as people write them: cleaned, put anticlockwise, refused when they cross themselves.

An outline in general may touch itself (``whole``); one that is typed corner by corner must not.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jobprep.geometry.intersect import intersections
from jobprep.geometry.measure import signed_area
from jobprep.geometry.near import CrowdedError, near_segments
from jobprep.geometry.outline import JOIN_TOLERANCE, Line, Point, Region, polygon, reversed_contour
from jobprep.geometry.segment import point_distance
from jobprep.geometry.whole import ContourFault, place_faults

MOST_BESIDE = 40_000
"""Pairs of edges looked at one by one: no outline that is cut has as many side by side."""

Corners = tuple[tuple[float, float], ...]


def corners(points: Sequence[Sequence[float]]) -> Corners:
    """Return a polygon's corners anticlockwise, without a last point that repeats the first."""
    first, *rest = kept = _ring(points)
    if signed_area(polygon(kept)) < 0.0:
        kept = [first, *reversed(rest)]
    return tuple((point.x, point.y) for point in kept)


def polygon_fault(points: Sequence[Sequence[float]]) -> str:
    """Return why points make no simple polygon, nothing when they do.

    Points are numbered from 1 in the order given, edge n runs from point n to the next.
    """
    ring = _ring(points)
    if len(ring) < 3:
        return "a polygon needs at least 3 different points"
    edges = [Line(a, b) for a, b in zip(ring, ring[1:] + ring[:1], strict=True)]
    count = len(edges)
    for i, (start, end) in enumerate(edges):
        if _is_same(start, end):
            return f"points {i + 1} and {(i + 1) % count + 1} are the same; leave one out"
    for i, edge in enumerate(edges):
        after = edges[(i + 1) % count]
        ends = point_distance(edge, after.end), point_distance(after, edge.start)
        if min(ends) <= JOIN_TOLERANCE:
            return f"edge {(i + 1) % count + 1} runs back along edge {i + 1}"
    try:
        pairs = near_segments(edges, JOIN_TOLERANCE, MOST_BESIDE)
        for i, j in sorted((min(pair), max(pair)) for pair in pairs):
            is_next = j - i in (1, count - 1)
            if not is_next and intersections(edges[i], edges[j], JOIN_TOLERANCE):
                return f"edges {i + 1} and {j + 1} cross or touch; an outline must not"
    except CrowdedError:
        return "too many edges lie side by side; use fewer points, or give it as a drawing"
    return ""


def defect_faults(outline: Corners, defects: Sequence[Corners]) -> Iterator[ContourFault]:
    """Yield defects, counted from 1, that do not lie inside their sheet; they may touch its edge.

    All are polygons without fault. Contour 0 is the outline: there are too many edges in all.
    """
    holes = tuple(reversed_contour(polygon(defect)) for defect in defects)
    return place_faults(Region(polygon(outline), holes), defects=True)


def _ring(points: Sequence[Sequence[float]]) -> list[Point]:
    ring = [Point(float(x), float(y)) for x, y in points]
    return ring[:-1] if len(ring) > 1 and _is_same(ring[0], ring[-1]) else ring


def _is_same(a: Point, b: Point) -> bool:
    return abs(a.x - b.x) <= JOIN_TOLERANCE and abs(a.y - b.y) <= JOIN_TOLERANCE
