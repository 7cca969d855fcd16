"""Loose drawn paths become one region: joined end to end, checked, sorted into outer and holes.

Terminology
-----------
end        where an open path starts or stops
meeting    ends that lie within the tolerance of each other; a sound one has exactly two
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import product
from typing import TYPE_CHECKING, NamedTuple

from jobprep.geometry.flatten import flatten_path
from jobprep.geometry.measure import signed_area
from jobprep.geometry.near import near_boxes
from jobprep.geometry.outline import (
    JOIN_TOLERANCE,
    Arc,
    Contour,
    Line,
    Path,
    Point,
    Region,
    Segment,
    reversed_contour,
    reversed_path,
)
from jobprep.geometry.segment import midpoint, segment_box, segment_length
from jobprep.units import number

if TYPE_CHECKING:
    from shapely import Polygon

MOST_SEGMENTS = 20_000
"""Most segments and most elements of a drawing; an outline that must be cut needs far fewer."""

MOST_PAIRS = 10 * MOST_SEGMENTS
"""Pairs of outlines one in the other that are looked at: a hole makes two of them."""

MOST_CHORDS = 1_000_000
"""Chords used to find crossings: enough for 10 000 round holes."""

MOST_BESIDE = 5 * MOST_SEGMENTS
"""Pairs of segments whose boxes meet: each has two neighbours, few outlines have more."""

CROSSING_CHORDS = 1e-3
"""How far the chords used to find crossings may lie inside their arcs, mm: far below a cut."""


class OutlineError(ValueError):
    """What is wrong with a drawn outline, as the end of a sentence."""


class _End(NamedTuple):
    """One end of an open path: which path, and whether it is the last point."""

    path: int
    is_last: bool


def join_region(paths: Iterable[Path], tolerance: float) -> Region:
    """Join drawn paths into one region.

    Ends within ``tolerance`` mm of each other become one point; that a path is shorter than this
    leaves it out.

    Raises
    ------
    OutlineError
        If an outline is open, branches, touches or crosses itself or another one, or if there is
        not exactly one outer outline with holes.
    """
    contours = join_contours(paths, tolerance)
    if not contours:
        raise OutlineError("holds no outline; a closed outline of lines and curves is needed")
    return _nested(contours)


def join_contours(paths: Iterable[Path], tolerance: float) -> list[Contour]:
    """Join paths end to end into closed contours, in the order of their first paths."""
    contours: list[tuple[int, Contour]] = []
    loose: list[tuple[int, Path]] = []
    for index, drawn in enumerate(paths):
        path = tuple(each for each in drawn if segment_length(each) > JOIN_TOLERANCE)
        if not path or math.fsum(map(segment_length, path)) <= tolerance:
            continue
        if math.dist(path[0].start, path[-1].end) <= tolerance:
            contours.append((index, _closed(path)))
        else:
            loose.append((index, path))
    partners = _partners([path for _, path in loose], tolerance)
    unused = dict.fromkeys(range(len(loose)))
    while unused:
        first = next(iter(unused))
        chain = _chain(first, [path for _, path in loose], partners, unused)
        contours.append((loose[first][0], _closed(chain)))
    return [contour for _, contour in sorted(contours, key=lambda pair: pair[0])]


def _chain(
    first: int, paths: Sequence[Path], partners: dict[_End, _End], unused: dict[int, None]
) -> Path:
    """Walk from path to path until the first one comes round again."""
    chain: list[Segment] = []
    end = _End(first, is_last=True)
    while end.path in unused:
        del unused[end.path]
        path = paths[end.path]
        chain += path if end.is_last else reversed_path(path)
        near = partners[end]
        end = _End(near.path, not near.is_last)
    return tuple(chain)


def _partners(paths: Sequence[Path], tolerance: float) -> dict[_End, _End]:
    """Find the one end that each end of the open paths meets."""
    points = {
        _End(index, is_last): path[-1].end if is_last else path[0].start
        for index, path in enumerate(paths)
        for is_last in (False, True)
    }
    cells: dict[tuple[int, int], list[_End]] = {}
    for end, point in points.items():
        cell = math.floor(point.x / tolerance), math.floor(point.y / tolerance)
        cells.setdefault(cell, []).append(end)
    partners: dict[_End, _End] = {}
    alone: list[Point] = []
    for (i, j), ends in cells.items():
        around = [
            other
            for di, dj in product((-1, 0, 1), repeat=2)
            for other in cells.get((i + di, j + dj), ())
        ]
        for end in ends:
            near = [
                other
                for other in around
                if other != end and math.dist(points[other], points[end]) <= tolerance
            ]
            if len(near) > 1:
                raise OutlineError(
                    f"{len(near) + 1} lines meet at {_at(points[end])}; an outline runs on as one"
                )
            if near:
                partners[end] = near[0]
            else:
                alone.append(points[end])
    if alone:
        raise OutlineError(_open_outline(alone))
    return partners


def _open_outline(ends: list[Point]) -> str:
    """Say where an outline is open: from the first loose end to the one nearest to it."""
    first, *others = ends
    if not others:
        return f"the outline is open at {_at(first)}; close it"
    nearest = min(others, key=lambda point: math.dist(point, first))
    return (
        f"the outline is open: {math.dist(first, nearest):.4g} mm are missing between "
        f"{_at(first)} and {_at(nearest)}; close it"
    )


def _closed(path: Path) -> Contour:
    """Close the small gaps between the segments of a ring."""
    segments = list(path)
    for index in range(-1, len(segments) - 1):
        before, after = segments[index], segments[index + 1]
        gap = math.dist(before.end, after.start)
        if gap <= 0.1 * JOIN_TOLERANCE:
            continue
        if isinstance(before, Line):
            segments[index] = Line(before.start, after.start)
        elif isinstance(after, Line):
            segments[index + 1] = Line(before.end, after.end)
        else:
            segments[index + 1] = _arc_from(before.end, after)
    return Contour(_bridged(segments))


def _arc_from(start: Point, arc: Arc) -> Arc:
    """Return the arc through a new start and the old middle and end."""
    (ax, ay), (bx, by), (cx, cy) = start, midpoint(arc), arc.end
    bx, by, cx, cy = bx - ax, by - ay, cx - ax, cy - ay
    cross = 2.0 * (bx * cy - by * cx)
    if cross == 0.0:
        return arc
    b, c = bx * bx + by * by, cx * cx + cy * cy
    centre = Point(ax + (cy * b - by * c) / cross, ay + (bx * c - cx * b) / cross)
    angle = math.atan2(ay - centre.y, ax - centre.x)
    end_angle = math.atan2(arc.end.y - centre.y, arc.end.x - centre.x)
    sweep = (end_angle - angle) % math.copysign(math.tau, arc.sweep)
    return Arc(centre, math.dist(centre, start), angle, sweep)


def _bridged(segments: Sequence[Segment]) -> Path:
    """Put a line into each gap that is left; only arcs that nearly close a circle leave one."""
    path: list[Segment] = []
    before = segments[-1]
    for segment in segments:
        if math.dist(before.end, segment.start) > 0.5 * JOIN_TOLERANCE:
            path.append(Line(before.end, segment.start))
        path.append(segment)
        before = segment
    return tuple(path)


def _nested(contours: Sequence[Contour]) -> Region:
    """Sort contours that do not touch into one outer contour and its holes."""
    from shapely import STRtree

    _refuse_costly(contours)
    polygons = [_polygon(contour) for contour in contours]
    tree = STRtree(polygons)
    depths = [0] * len(polygons)
    pairs = 0
    for a, polygon in enumerate(polygons):
        near = tree.query(polygon, predicate="intersects")
        pairs += len(near)
        if pairs > MOST_PAIRS:
            raise OutlineError("nests too many outlines in each other; a part has only holes")
        for b in near:
            if a == b:
                continue
            if polygons[b].contains_properly(polygon):
                depths[a] += 1
            elif not polygon.contains_properly(polygons[b]):
                where = polygon.boundary.intersection(polygons[b].boundary)
                at = _at(Point(*where.representative_point().coords[0]))
                raise OutlineError(f"two outlines touch or cross at {at}; they must stay apart")
    outers = [contour for contour, depth in zip(contours, depths, strict=True) if depth == 0]
    holes = [contour for contour, depth in zip(contours, depths, strict=True) if depth == 1]
    if len(outers) > 1:
        first, second = (_at(contour.segments[0].start) for contour in outers[:2])
        raise OutlineError(
            f"holds {len(outers)} separate outlines, among them those at {first} and {second}; a "
            "part has one outer outline, so give each its own drawing"
        )
    for contour, depth in zip(contours, depths, strict=True):
        if depth > 1:
            at = _at(contour.segments[0].start)
            raise OutlineError(
                f"holds an outline inside a hole, at {at}; that would be a second part, so give it "
                "its own drawing"
            )
    return Region(_turned(outers[0], 1.0), tuple(_turned(hole, -1.0) for hole in holes))


def _refuse_costly(contours: Sequence[Contour]) -> None:
    """Raise when there is more to look through than a machine does in a few seconds."""
    sweeps = 0.0
    for contour in contours:
        for segment in contour.segments:
            if isinstance(segment, Arc):  # a chord spans some sqrt(8 r s) of an arc
                sweeps += abs(segment.sweep) * math.sqrt(segment.radius / (8.0 * CROSSING_CHORDS))
    if sweeps > MOST_CHORDS:
        raise OutlineError("has too many arcs, or too large ones; simplify the outline")
    boxes = [segment_box(each) for contour in contours for each in contour.segments]
    if near_boxes(boxes, 0.0, MOST_BESIDE) is None:
        raise OutlineError("has too many edges side by side; simplify the outline")


def _polygon(contour: Contour) -> Polygon:
    """Return a fine polygon of a contour that neither touches nor crosses itself."""
    from shapely import is_valid_reason
    from shapely.geometry import Polygon

    points = flatten_path(contour.segments, CROSSING_CHORDS)
    polygon = Polygon(points) if len(points) > 2 else Polygon()
    if not polygon.is_valid:
        _, _, place = is_valid_reason(polygon).partition("[")
        x, y = map(float, place.rstrip("]").split())
        raise OutlineError(
            f"the outline touches or crosses itself at {_at(Point(x, y))}; it must be simple"
        )
    if polygon.area <= CROSSING_CHORDS**2:
        at = _at(contour.segments[0].start)
        raise OutlineError(f"the outline at {at} encloses nothing; it runs back over itself")
    return polygon


def _turned(contour: Contour, sign: float) -> Contour:
    """Return the contour run so that its area has a sign."""
    return contour if signed_area(contour) * sign > 0.0 else reversed_contour(contour)


def _at(point: Point) -> str:
    return f"({number(point.x, 3)}, {number(point.y, 3)})"
