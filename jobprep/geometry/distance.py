"""Least distances between segments, regions, and a region and what it lies in, all exact."""

from __future__ import annotations

import math
from collections.abc import Sequence

from jobprep.geometry.boolean import difference
from jobprep.geometry.intersect import SNAP, crossings
from jobprep.geometry.measure import BOUNDARY_TOLERANCE, contains, contour_contains, encloses
from jobprep.geometry.near import MANY_PAIRS, CrowdedError, near_between, near_segments
from jobprep.geometry.outline import Arc, Contour, Line, Path, Point, Region, Segment
from jobprep.geometry.segment import point_distance, segment_box, sweeps_over

TOUCH = 1e-9
"""Regions nearer than this, mm, touch: what parts them is rounding."""

MOST_NEAR = 8
"""Pairs that lie as near as a web, for each of many segments, before they are too many to list."""

SAMPLES = 50
"""Segments of a long path that give a first bound."""

TRIES = 5
WIDER = 4.0
"""How often the reach of a search among many is widened from well below the first bound, and by
how much each time."""

Box = tuple[float, float, float, float]
Boxed = list[tuple[Box, Segment]]


def segment_distance(a: Segment, b: Segment) -> float:
    """Return the least distance between two segments, mm; 0 where they cross."""
    points, sine = crossings(a, b)
    if points and sine > 0.0:
        return 0.0
    least = min(
        point_distance(b, a.start),
        point_distance(b, a.end),
        point_distance(a, b.start),
        point_distance(a, b.end),
    )
    if isinstance(a, Arc):
        inner = _arc_arc(a, b) if isinstance(b, Arc) else _line_arc(b, a)
    elif isinstance(b, Arc):
        inner = _line_arc(a, b)
    else:
        return least
    return min(least, inner)


def path_distance(a: Path, b: Path, limit: float = math.inf) -> float:
    """Return the least distance between two paths, mm, or ``limit`` if they are no nearer."""
    return _least(_boxed(a), _boxed(b), limit)


def narrowest_web(region: Region, limit: float) -> float:
    """Return the least distance between two contours of a region, mm, at most ``limit``."""
    if not region.holes:
        return limit
    segments = [segment for contour in region.contours for segment in contour.segments]
    owner = [index for index, contour in enumerate(region.contours) for _ in contour.segments]
    try:
        return _least_between(segments, owner, limit, limit)
    except CrowdedError:
        pass
    try:
        return _least_between(segments, owner, limit, limit / WIDER**TRIES)
    except CrowdedError:
        # A contour crowds itself. Any two contours differ in some bit of their numbers.
        for bit in range(len(region.holes).bit_length()):
            halves: tuple[list[Segment], list[Segment]] = ([], [])
            for index, segment in zip(owner, segments, strict=True):
                halves[index >> bit & 1].append(segment)
            limit = path_distance(tuple(halves[0]), tuple(halves[1]), limit)
        return limit


def _least_between(
    segments: Sequence[Segment], owner: Sequence[int], limit: float, reach: float
) -> float:
    """Return the least distance between segments of two owners, at most ``limit``.

    It is looked for within ``reach``, then farther away. Raises ``CrowdedError`` where too many
    pairs are in reach.
    """
    while True:
        pairs = near_segments(segments, reach, most=MOST_NEAR * len(segments))
        least = min(
            (segment_distance(segments[i], segments[j]) for i, j in pairs if owner[i] != owner[j]),
            default=limit,
        )
        if least <= reach or reach >= limit:
            return min(least, limit)
        reach = min(WIDER * reach, limit)


def distance(a: Region, b: Region, limit: float = math.inf) -> float:
    """Return the least distance between two regions as areas, mm, at most ``limit``.

    It is 0 where they overlap, touch, or one lies in the other's material. A region in a hole of
    the other has a distance from that hole.
    """
    boxed_a, boxed_b = _boxed(a.outer.segments), _boxed(b.outer.segments)
    if _gap(_hull(boxed_a), _hull(boxed_b)) >= limit:
        return limit
    least = _least(boxed_a, boxed_b, limit)
    if least <= TOUCH:
        return 0.0
    # The outer contours do not cross: apart, or one is inside the other.
    for inner, boxed, around in ((b, boxed_b, a), (a, boxed_a, b)):
        point = inner.outer.segments[0].start
        if _surrounds(around.outer, point):
            hole = next((each for each in around.holes if _surrounds(each, point)), None)
            return 0.0 if hole is None else _least(_boxed(hole.segments), boxed, limit)
    return least


def clearance(region: Region, container: Region) -> float:
    """Return the least distance from a region's outline to the outline of what it lies in, mm.

    Minus infinity when it does not lie inside, by more than about 1e-6 mm. A hole of the container
    inside a hole of the region is no harm, and the distance between them counts.
    """
    if not contains(container, region.outer.segments[0].start):
        return -math.inf
    outer = _boxed(region.outer.segments)
    least = _least(outer, _boxed(container.outer.segments), math.inf)
    for defect in container.holes:
        boxed = _boxed(defect.segments)
        apart = _least(outer, boxed, math.inf)
        if apart > BOUNDARY_TOLERANCE and encloses(region.outer, defect.segments[0].start):
            apart = min(
                (
                    _least(_boxed(hole.segments), boxed, math.inf)
                    for hole in region.holes
                    if contour_contains(hole, defect.segments[0].start)
                ),
                default=-math.inf,
            )
        least = min(least, apart)
    if 0.0 <= least <= BOUNDARY_TOLERANCE and difference(region, [container]):
        return -math.inf
    return least


def _surrounds(contour: Contour, point: Point) -> bool:
    x_min, y_min, x_max, y_max = _hull(_boxed(contour.segments))
    inside = x_min <= point.x <= x_max and y_min <= point.y <= y_max
    return inside and encloses(contour, point)


def _line_arc(line: Line, arc: Arc) -> float:
    """Return how far a line passes outside an arc, infinite where an end is nearer."""
    (x0, y0), (x1, y1) = line
    x, y = x1 - x0, y1 - y0
    square = x * x + y * y
    gap_x, gap_y = arc.centre.x - x0, arc.centre.y - y0
    along = gap_x * x + gap_y * y
    if not 0.0 < along < square:
        return math.inf
    # From the centre to the nearest point of the line.
    side = (gap_x * y - gap_y * x) / square
    out_x, out_y = -side * y, side * x
    out = math.hypot(out_x, out_y) - arc.radius
    if out < -SNAP or not sweeps_over(arc, out_x, out_y):
        return math.inf
    return max(out, 0.0)


def _arc_arc(a: Arc, b: Arc) -> float:
    """Return how far two arcs pass each other, infinite where an end is nearer."""
    x, y = b.centre.x - a.centre.x, b.centre.y - a.centre.y
    apart = math.hypot(x, y)
    if apart == 0.0:
        return math.inf
    outside, inside = apart - a.radius - b.radius, abs(a.radius - b.radius) - apart
    gap = max(outside, inside)
    if gap < -SNAP:
        return math.inf
    if outside >= inside:
        faces = sweeps_over(a, x, y) and sweeps_over(b, -x, -y)
    elif a.radius > b.radius:
        faces = sweeps_over(a, x, y) and sweeps_over(b, x, y)
    else:
        faces = sweeps_over(a, -x, -y) and sweeps_over(b, -x, -y)
    return max(gap, 0.0) if faces else math.inf


def _boxed(path: Path) -> Boxed:
    return [(segment_box(segment), segment) for segment in path]


def _hull(boxed: Boxed) -> Box:
    x_min, y_min, x_max, y_max = zip(*(box for box, _ in boxed), strict=True)
    return min(x_min), min(y_min), max(x_max), max(y_max)


def _gap(a: Box, b: Box) -> float:
    """Return the distance between two boxes."""
    x = max(a[0] - b[2], b[0] - a[2], 0.0)
    y = max(a[1] - b[3], b[1] - a[3], 0.0)
    return math.hypot(x, y)


def _least(a: Boxed, b: Boxed, limit: float) -> float:
    """Return the least distance between two paths, at most ``limit``."""
    if limit < math.inf:
        hull = _hull(b)
        a = [each for each in a if _gap(each[0], hull) < limit]
        if a:
            hull = _hull(a)
            b = [each for each in b if _gap(each[0], hull) < limit]
    if not a or not b:
        return limit
    if len(a) * len(b) <= MANY_PAIRS:
        return _nearest(a, b, limit)
    limit = _nearest(a[:: len(a) // SAMPLES + 1], b[:: len(b) // SAMPLES + 1], limit)
    return _least_of_many([each for _, each in a], [each for _, each in b], limit)


def _least_of_many(ours: Sequence[Segment], theirs: Sequence[Segment], limit: float) -> float:
    """Return the same for long paths, looking farther and farther from well below the limit."""
    reach = limit / WIDER**TRIES
    while limit > 0.0:
        reach = min(reach, limit)
        pairs = near_between(ours, theirs, reach)
        if len(pairs) > SAMPLES * SAMPLES:
            # Only what is nearer than some of them need be looked at.
            some = pairs[:: len(pairs) // SAMPLES]
            limit = min(limit, *(segment_distance(ours[i], theirs[j]) for i, j in some))
            pairs = near_between(ours, theirs, limit) if limit < reach else pairs
        least = min((segment_distance(ours[i], theirs[j]) for i, j in pairs), default=limit)
        limit = min(limit, least)
        if limit <= reach:
            break
        reach *= WIDER
    return limit


def _nearest(a: Boxed, b: Boxed, limit: float) -> float:
    """Return the least distance between two paths, at most ``limit``, nearest boxes first."""
    hull = _hull(b)
    near = sorted((_gap(box, hull), i) for i, (box, _) in enumerate(a))
    for to_hull, i in near:
        if to_hull >= limit:
            break
        box, segment = a[i]
        x_min, y_min, x_max, y_max = box
        candidates = []
        for other_box, other in b:
            if (
                other_box[0] - x_max < limit
                and x_min - other_box[2] < limit
                and other_box[1] - y_max < limit
                and y_min - other_box[3] < limit
            ):
                candidates.append((_gap(box, other_box), other))
        candidates.sort(key=lambda each: each[0])
        for gap, other in candidates:
            if gap >= limit:
                break
            limit = min(limit, segment_distance(segment, other))
            if limit <= 0.0:
                return 0.0
    return limit
