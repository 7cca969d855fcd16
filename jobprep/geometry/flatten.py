"""Polygons around, inside or along outlines with arcs.

Every contour of a region has material on its left, so one rule serves outer contours and holes:
an arc that runs anticlockwise bulges out of the material, one that runs clockwise bulges into
it. A polygon around the region takes tangents of the former and chords of the latter, a polygon
inside it the reverse. Both hold to rounding, about 1e-12 of the coordinates.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from jobprep.geometry.outline import JOIN_TOLERANCE, Arc, Contour, Line, Path, Point, Region

WIDEST_STEP = math.tau / 3.0
"""Widest part of an arc, radians, that one chord or two tangents stand for: a circle never gets
less than a triangle."""

COLLINEAR = 1e-9
"""Sine of the turn below which a corner of a polygon is left out."""


SAME_POINT = 1e-9
"""Corners nearer than this, mm, are one."""


class Polygons(NamedTuple):
    """An outer polygon, anticlockwise, and its holes, clockwise; first points not repeated."""

    outer: tuple[Point, ...]
    holes: tuple[tuple[Point, ...], ...]


def flatten_path(path: Path, tolerance: float) -> tuple[Point, ...]:
    """Return points on a path whose chords stay within ``tolerance`` of it, mm.

    The first point is the start of the path; the end follows last, but the end of a closed path
    is its start and is not repeated.
    """
    points: list[Point] = []
    for segment in path:
        points.append(segment.start)
        if isinstance(segment, Arc):
            points.extend(_inner_points(segment, _chords(segment, tolerance)))
    if math.dist(path[-1].end, points[0]) > JOIN_TOLERANCE:
        points.append(path[-1].end)
    return tuple(points)


def flatten_outside(region: Region, tolerance: float) -> Polygons:
    """Return polygons that contain a region and stay within ``tolerance`` of its outline, mm.

    A hole that no polygon of this tolerance fits into is left out. Gaps of the outline narrower
    than twice the tolerance may close, and the polygon then touches or crosses itself.
    """
    outer = _polygon(region.outer, tolerance, is_outside=True)
    holes = (_polygon(hole, tolerance, is_outside=True) for hole in region.holes)
    return Polygons(outer, tuple(hole for hole in holes if len(hole) > 2))


def flatten_inside(region: Region, tolerance: float) -> Polygons:
    """Return polygons that lie in a region and stay within ``tolerance`` of its outline, mm.

    Where the region is narrower than twice the tolerance they may touch or cross themselves.
    """
    return Polygons(
        _polygon(region.outer, tolerance, is_outside=False),
        tuple(_polygon(hole, tolerance, is_outside=False) for hole in region.holes),
    )


def flatten_alike(regions: Sequence[Region], tolerance: float) -> tuple[Polygons, ...]:
    """Return polygons that lie in regions of the same make, corner for corner.

    The outlines have the same segments in the same order and differ in size alone, as parallel
    ones do. All polygons of an outline get as many corners as the one that needs most.
    """
    outlines = zip(*(region.contours for region in regions), strict=True)
    rings = [_alike(contours, tolerance) for contours in outlines]
    return tuple(Polygons(outer, tuple(holes)) for outer, *holes in zip(*rings, strict=True))


def _chords(arc: Arc, tolerance: float) -> int:
    """Return how many equal chords keep within ``tolerance`` of an arc."""
    sagitta = min(tolerance / arc.radius, 1.0)
    step = min(4.0 * math.asin(math.sqrt(0.5 * sagitta)), WIDEST_STEP)
    return max(1, math.ceil(abs(arc.sweep) / step - 1e-9))


def _tangents(arc: Arc, tolerance: float) -> int:
    """Return how many equal parts of an arc keep the crossing of their end tangents near."""
    step = min(
        2.0 * math.atan(math.sqrt((2.0 + tolerance / arc.radius) * tolerance / arc.radius)),
        WIDEST_STEP,
    )
    return max(1, math.ceil(abs(arc.sweep) / step - 1e-9))


def _inner_points(arc: Arc, parts: int) -> list[Point]:
    """Return the points between equal parts of an arc, ends left out."""
    step = arc.sweep / parts
    return [arc.at(arc.start_angle + step * i) for i in range(1, parts)]


def _crossings(arc: Arc, parts: int) -> list[Point]:
    """Return where the tangents at both ends of each equal part of an arc cross."""
    step = arc.sweep / parts
    around = Arc(arc.centre, arc.radius / math.cos(0.5 * step), arc.start_angle, arc.sweep)
    return [around.at(arc.start_angle + step * (i + 0.5)) for i in range(parts)]


def _polygon(contour: Contour, tolerance: float, *, is_outside: bool) -> tuple[Point, ...]:
    """Return the polygon of a contour, finer than asked for where it would have no area."""
    for _ in range(8):
        points: list[Point] = []
        for segment in contour.segments:
            points.append(segment.start)
            if isinstance(segment, Line):
                continue
            if (segment.sweep > 0.0) == is_outside:
                points.extend(_crossings(segment, _tangents(segment, tolerance)))
            else:
                points.extend(_inner_points(segment, _chords(segment, tolerance)))
        corners = _without_collinear(points)
        if len(corners) > 2:
            return corners
        tolerance /= 4.0
    return corners


def _alike(contours: Sequence[Contour], tolerance: float) -> tuple[tuple[Point, ...], ...]:
    """Return the polygons of contours of the same make, inside their regions."""
    corners: list[tuple[Point, ...]] = []
    for segments in zip(*(contour.segments for contour in contours), strict=True):
        corners.append(tuple(segment.start for segment in segments))
        arcs = [segment for segment in segments if isinstance(segment, Arc)]
        if arcs and arcs[0].sweep > 0.0:
            parts = max(_chords(arc, tolerance) for arc in arcs)
            corners += zip(*(_inner_points(arc, parts) for arc in arcs), strict=True)
        elif arcs:
            parts = max(_tangents(arc, tolerance) for arc in arcs)
            corners += zip(*(_crossings(arc, parts) for arc in arcs), strict=True)
    kept = [
        corner
        for before, corner, after in zip(
            corners[-1:] + corners[:-1], corners, corners[1:] + corners[:1], strict=True
        )
        if not all(map(_is_straight, before, corner, after))
    ]
    return tuple(zip(*kept, strict=True))


def _without_collinear(points: list[Point]) -> tuple[Point, ...]:
    """Leave out repeated points and corners that do not turn, such as tangent joints."""
    kept: list[Point] = []
    for point in points:
        if not kept or math.dist(kept[-1], point) > SAME_POINT:
            kept.append(point)
    while len(kept) > 1 and math.dist(kept[0], kept[-1]) <= SAME_POINT:
        kept.pop()
    return tuple(
        point
        for before, point, after in zip(
            kept[-1:] + kept[:-1], kept, kept[1:] + kept[:1], strict=True
        )
        if not _is_straight(before, point, after)
    )


def _is_straight(before: Point, point: Point, after: Point) -> bool:
    ax, ay = point.x - before.x, point.y - before.y
    bx, by = after.x - point.x, after.y - point.y
    scale = math.hypot(ax, ay) * math.hypot(bx, by)
    return abs(ax * by - ay * bx) <= COLLINEAR * scale and ax * bx + ay * by > 0.0
