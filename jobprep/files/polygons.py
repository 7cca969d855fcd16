"""Polygons as written in files: cleaned, put anticlockwise, refused when they cross themselves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain, islice

from jobprep.model import Points

SAME = 1e-6
"""Points closer than this are one point, mm: above rounding, far below what a cutter resolves."""

MOST_BESIDE = 40_000
"""Pairs of edges looked at one by one: no outline that is cut has as many side by side."""


Corner = tuple[float, float]


def corners(points: Sequence[Sequence[float]]) -> Points:
    """Return a polygon's corners anticlockwise, without a last point that repeats the first."""
    kept = [(float(x), float(y)) for x, y in points]
    if len(kept) > 1 and _is_same(kept[0], kept[-1]):
        kept.pop()
    return tuple(kept) if signed_area(kept) >= 0.0 else (kept[0], *kept[:0:-1])


def signed_area(points: Sequence[tuple[float, float]]) -> float:
    """Return the area in mm², positive when the corners run anticlockwise."""
    if not points:
        return 0.0
    # Measured from the first corner, so that a polygon far from the origin loses no digits.
    x0, y0 = points[0]
    moved = [(x - x0, y - y0) for x, y in points]
    pairs = zip(moved, [*moved[1:], moved[0]], strict=True)
    return sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs) / 2.0


def polygon_fault(points: Sequence[Sequence[float]]) -> str:
    """Say why points make no simple polygon; nothing when they do.

    Points are numbered from 1 in the order given, edge n runs from point n to the next.
    """
    ring = [(float(x), float(y)) for x, y in points]
    if len(ring) > 1 and _is_same(ring[0], ring[-1]):
        ring.pop()
    if len(ring) < 3:
        return "a polygon needs at least 3 different points"
    count = len(ring)
    for i in range(count):
        if _is_same(ring[i], ring[(i + 1) % count]):
            return f"points {i + 1} and {(i + 1) % count + 1} are the same; leave one out"
    for i in range(count):
        if _folds_back(ring[i], ring[(i + 1) % count], ring[(i + 2) % count]):
            return f"edge {(i + 1) % count + 1} runs back along edge {i + 1}"
    return _crossing_fault(ring)


def _crossing_fault(ring: Sequence[Corner]) -> str:
    """Name the first two edges that are no neighbours and meet, nothing when there are none."""
    edges = _edges(tuple(ring))
    last = len(edges) - 1
    first: tuple[int, int] | None = None
    for count, (i, j) in enumerate(_beside(edges)):
        if count == MOST_BESIDE:
            break
        if j - i in (1, last):
            continue
        if edges_meet(*edges[i], *edges[j]):
            first = min(first or (i, j), (i, j))
    else:
        count = 0
    if first is not None:
        return f"edges {first[0] + 1} and {first[1] + 1} cross or touch; an outline must not"
    if count:
        return "too many edges lie side by side; use fewer points, or give it as a drawing"
    return ""


def _beside(edges: Sequence[tuple[Corner, Corner]]) -> Iterator[tuple[int, int]]:
    """Yield the pairs of edges whose boxes meet, found along the axis that tells them apart."""
    x, y = ([(min(a[axis], b[axis]), max(a[axis], b[axis])) for a, b in edges] for axis in (0, 1))
    wide, tall = (sum(high - low for low, high in spans) for spans in (x, y))
    if wide > tall:
        x, y = y, x
    active: list[int] = []
    for i in sorted(range(len(edges)), key=lambda each: x[each][0]):
        front, (low, high) = x[i][0], y[i]
        active = [j for j in active if x[j][1] >= front]
        yield from ((min(i, j), max(i, j)) for j in active if y[j][0] <= high and y[j][1] >= low)
        active.append(i)


def are_intricate(polygons: Iterable[Sequence[Sequence[float]]]) -> bool:
    """Whether polygons have more edges side by side than can be looked at in a few seconds."""
    rings = ([(x, y) for x, y in polygon] for polygon in polygons)
    pairs = chain.from_iterable(_beside(_edges(tuple(ring))) for ring in rings)
    return next(islice(pairs, MOST_BESIDE, None), None) is not None


def lies_within(inner: Points, outer: Points) -> bool:
    """Whether a polygon lies inside another; touching its edge counts as inside."""
    if len(inner) * len(outer) > MOST_BESIDE:
        from shapely.geometry import Polygon

        return bool(Polygon(outer).buffer(SAME, join_style="mitre").covers(Polygon(inner)))
    if not all(_is_inside_or_on(point, outer) for point in inner):
        return False
    middles = (
        ((a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0)
        for a, b in zip(inner, inner[1:] + inner[:1], strict=True)
    )
    crosses = any(_edges_cross(*edge, *other) for edge in _edges(inner) for other in _edges(outer))
    return not crosses and all(_is_inside_or_on(middle, outer) for middle in middles)


def edges_meet(a: Corner, b: Corner, c: Corner, d: Corner) -> bool:
    """Whether the straight edges a-b and c-d share any point; touching counts."""
    if (
        max(a[0], b[0]) < min(c[0], d[0])
        or max(c[0], d[0]) < min(a[0], b[0])
        or max(a[1], b[1]) < min(c[1], d[1])
        or max(c[1], d[1]) < min(a[1], b[1])
    ):
        return False
    return _side(a, b, c) * _side(a, b, d) <= 0 and _side(c, d, a) * _side(c, d, b) <= 0


def _edges(points: Points) -> list[tuple[Corner, Corner]]:
    return list(zip(points, points[1:] + points[:1], strict=True))


def _edges_cross(a: Corner, b: Corner, c: Corner, d: Corner) -> bool:
    """Whether two edges cross properly; touching does not count."""
    return _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0


def _side(a: Corner, b: Corner, point: Corner) -> int:
    """Return on which side of the line a-b a point lies: 1 left, -1 right, 0 on it."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    turn = dx * (point[1] - a[1]) - dy * (point[0] - a[0])
    if abs(turn) <= SAME * (abs(dx) + abs(dy)):
        return 0
    return 1 if turn > 0 else -1


def _is_inside_or_on(point: Corner, outline: Points) -> bool:
    inside = False
    x, y = point
    for a, b in _edges(outline):
        if _side(a, b, point) == 0 and _is_between(point, a, b):
            return True
        if (a[1] > y) != (b[1] > y):
            crossing = a[0] + (y - a[1]) * (b[0] - a[0]) / (b[1] - a[1])
            inside ^= x < crossing
    return inside


def _is_between(point: Corner, a: Corner, b: Corner) -> bool:
    return all(min(a[i], b[i]) - SAME <= point[i] <= max(a[i], b[i]) + SAME for i in (0, 1))


def _is_same(a: Corner, b: Corner) -> bool:
    return abs(a[0] - b[0]) <= SAME and abs(a[1] - b[1]) <= SAME


def _folds_back(a: Corner, b: Corner, c: Corner) -> bool:
    ahead = (b[0] - a[0]) * (c[0] - b[0]) + (b[1] - a[1]) * (c[1] - b[1])
    return _side(a, b, c) == 0 and ahead < 0
