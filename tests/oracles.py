"""Slow, obvious twins and other libraries, to compare the project's answers with."""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable
from typing import NamedTuple

import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from jobprep.geometry.outline import Arc, Contour, Line, Path, Point, Region, Segment

CHORD_TOLERANCE = 1e-4
"""How far the chords of shapely's polygons lie from the arcs they stand for, mm."""


def ring_points(contour: Contour, tolerance: float = CHORD_TOLERANCE) -> tuple[Point, ...]:
    """Return points on a contour, at least three, so that chords lie near enough to its arcs."""
    points: list[Point] = []
    for segment in contour.segments:
        if isinstance(segment, Line):
            points.append(segment.start)
        else:
            half = math.acos(max(-1.0, 1.0 - tolerance / segment.radius))
            number = max(1, math.ceil(abs(segment.sweep) / (2.0 * half)))
            points += sampled(segment, number)[:-1]
    if len(points) < 3:
        return ring_points(contour, tolerance / 10.0)
    return tuple(points)


def chords(region: Region, tolerance: float = CHORD_TOLERANCE) -> Polygon:
    """Return a region as a shapely polygon with its corners on the outline."""
    return Polygon(
        ring_points(region.outer, tolerance),
        [ring_points(hole, tolerance) for hole in region.holes],
    )


def all_chords(regions: Iterable[Region]) -> BaseGeometry:
    """Return several regions as one shapely geometry."""
    return shapely.union_all([chords(region) for region in regions], grid_size=1e-9)


def is_simple(contour: Contour) -> bool:
    """Tell whether shapely finds no crossing of a contour with itself, coarse and fine."""
    return all(Polygon(ring_points(contour, fine)).is_valid for fine in (1e-3, 1e-4, 1e-5))


def shapely_offset(
    region: Region, distance: float, tolerance: float = 10.0 * CHORD_TOLERANCE
) -> BaseGeometry:
    """Offset a region with round joints by shapely, chord by chord.

    One buffer of the whole polygon would be simpler, but GEOS simplifies concave parts by up to a
    hundredth of the distance first.
    """
    polygon = chords(region, tolerance)
    band = boundary_band(polygon, abs(distance))
    return polygon.union(band) if distance > 0.0 else polygon.difference(band)


def shapely_gaps(region: Region, radius: float) -> list[float]:
    """Return how deep the closing of a region by a disc fills each of its hollows, mm, falling.

    The depth of a hollow is the distance of the outline in it from the side where the disc closes
    it; infinite where it is closed all round.
    """
    polygon = chords(region, CHORD_TOLERANCE)
    grown = polygon.union(boundary_band(polygon, radius))
    closed = grown.difference(boundary_band(grown, radius))
    filled = closed.difference(polygon)
    # The chords leave slivers along the outline, which join one hollow to the next.
    sliver = 6.0 * CHORD_TOLERANCE
    found = []
    for hollow in shapely.get_parts(filled.buffer(-sliver).buffer(sliver)):
        if hollow.area < sliver:
            continue
        mouth = hollow.boundary.difference(polygon.boundary.buffer(2.0 * sliver))
        whole = filled.intersection(hollow.buffer(4.0 * sliver))
        outline = polygon.boundary.intersection(whole.buffer(sliver))
        corners = shapely.points(shapely.get_coordinates(outline))
        depth = math.inf if mouth.is_empty else float(shapely.distance(mouth, corners).max())
        found.append(depth)
    return sorted(found, reverse=True)


def boundary_band(shape: BaseGeometry, distance: float) -> BaseGeometry:
    """Return all that is within a distance of the boundary of a shape, chord by chord."""
    rings = shapely.get_parts(shape.boundary)
    strokes = [LineString(pair) for ring in rings for pair in itertools.pairwise(ring.coords)]
    step = 2.0 * math.acos(1.0 - min(CHORD_TOLERANCE / distance, 0.5))
    quarter = max(8, math.ceil(0.5 * math.pi / step))
    return shapely.union_all([stroke.buffer(distance, quad_segs=quarter) for stroke in strokes])


def sampled(segment: Segment, number: int) -> list[Point]:
    """Return evenly spaced points on a segment, both ends included."""
    shares = [i / number for i in range(number + 1)]
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment
        return [Point(x0 + t * (x1 - x0), y0 + t * (y1 - y0)) for t in shares]
    (x, y), radius, start, sweep = segment
    angles = [start + t * sweep for t in shares]
    return [Point(x + radius * math.cos(a), y + radius * math.sin(a)) for a in angles]


def sampled_distance(a: Segment, b: Segment, number: int = 400) -> float:
    """Return the least distance between chords of two segments, by shapely."""
    return float(LineString(sampled(a, number)).distance(LineString(sampled(b, number))))


class Moments(NamedTuple):
    """Area, first and second moments about the origin."""

    area: float
    x: float
    y: float
    xx: float
    yy: float
    xy: float


def polygon_moments(polygon: Polygon) -> Moments:
    """Return the moments of a polygon, corner by corner (Green's theorem)."""
    sums = [0.0] * 6
    for ring in (orient(polygon).exterior, *orient(polygon).interiors):
        for (x0, y0), (x1, y1) in itertools.pairwise(ring.coords):
            cross = x0 * y1 - x1 * y0
            sums[0] += cross / 2.0
            sums[1] += cross * (x0 + x1) / 6.0
            sums[2] += cross * (y0 + y1) / 6.0
            sums[3] += cross * (x0 * x0 + x0 * x1 + x1 * x1) / 12.0
            sums[4] += cross * (y0 * y0 + y0 * y1 + y1 * y1) / 12.0
            sums[5] += cross * (x0 * y1 + 2.0 * x0 * y0 + 2.0 * x1 * y1 + x1 * y0) / 24.0
    return Moments(*sums)


def scaled(region: Region, factor: float) -> Region:
    """Return a region with all lengths multiplied."""
    return _mapped(region, lambda path: tuple(_scaled(segment, factor) for segment in path))


def mirrored(region: Region) -> Region:
    """Return a region with x reversed, its contours still running their proper way."""
    return _mapped(region, lambda path: tuple(_mirrored(each) for each in reversed(path)))


def _mapped(region: Region, change: Callable[[Path], Path]) -> Region:
    return Region(
        Contour(change(region.outer.segments)),
        tuple(Contour(change(hole.segments)) for hole in region.holes),
    )


def _scaled(segment: Segment, factor: float) -> Segment:
    if isinstance(segment, Line):
        return Line(*(Point(factor * x, factor * y) for x, y in segment))
    centre = Point(factor * segment.centre.x, factor * segment.centre.y)
    return Arc(centre, factor * segment.radius, segment.start_angle, segment.sweep)


def _mirrored(segment: Segment) -> Segment:
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment
        return Line(Point(-x1, y1), Point(-x0, y0))
    centre = Point(-segment.centre.x, segment.centre.y)
    return Arc(centre, segment.radius, math.pi - segment.end_angle, segment.sweep)


def same_curves(a: Path, b: Path, tolerance: float = 1e-9) -> bool:
    """Tell whether two closed paths are one, wherever they start."""
    if len(a) != len(b):
        return False
    return any(
        all(
            _same_segment(one, other, tolerance)
            for one, other in zip(a, b[i:] + b[:i], strict=True)
        )
        for i in range(len(b))
    )


def _same_segment(a: Segment, b: Segment, tolerance: float) -> bool:
    if isinstance(a, Arc) != isinstance(b, Arc):
        return False
    if isinstance(a, Arc) and isinstance(b, Arc):
        if math.dist(a.centre, b.centre) > tolerance or abs(a.radius - b.radius) > tolerance:
            return False
        if abs(a.sweep - b.sweep) * a.radius > tolerance:
            return False
        if abs(a.sweep) >= math.tau:
            return True
    return math.dist(a.start, b.start) <= tolerance and math.dist(a.end, b.end) <= tolerance
