"""Exact measures of outlines: boxes, lengths, areas, moments, and what lies inside.

Areas and moments are closed forms: the polygon through the joints, plus the circular segment
between each arc and its chord (Roark's Formulas for Stress and Strain, appendix "Properties of a
plane area"). They are taken about a point of the outline first and shifted afterwards, so a part
far from the origin loses no digits.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

from jobprep.geometry.outline import JOIN_TOLERANCE, Arc, Contour, Line, Path, Point, Region
from jobprep.geometry.segment import point_distance, segment_box, segment_length

BOUNDARY_TOLERANCE = JOIN_TOLERANCE
"""A point this near to an outline, mm, lies on it, and what lies on it counts as inside."""

SMALL_SWEEP = 0.5
"""Below this sweep, radians, closed forms of circular segments would cancel."""

GAUSS_NODES = (
    (0.1834346424956498, 0.3626837833783620),
    (0.5255324099163290, 0.3137066458778873),
    (0.7966664774136267, 0.2223810344533745),
    (0.9602898564975363, 0.1012285362903763),
)
"""Eight-point Gauss-Legendre rule, Abramowitz and Stegun, table 25.4; each node counts on both
sides. Exact to rounding for arcs up to ``SMALL_SWEEP``."""


class Bounds(NamedTuple):
    """The smallest upright box around something, mm."""

    x_min: float
    y_min: float
    x_max: float
    y_max: float

    @property
    def width(self) -> float:
        """How far it reaches along x."""
        return self.x_max - self.x_min

    @property
    def height(self) -> float:
        """How far it reaches along y."""
        return self.y_max - self.y_min


class SecondMoments(NamedTuple):
    """Integrals of x², y² and xy over an area, about the origin, mm⁴."""

    xx: float
    yy: float
    xy: float


def bounds(path: Path) -> Bounds:
    """Return the box around a path."""
    return _hull(map(segment_box, path))


def region_bounds(region: Region) -> Bounds:
    """Return the box around a region."""
    return bounds(region.outer.segments)


def path_length(path: Path) -> float:
    """Return the length of a path, mm."""
    return math.fsum(map(segment_length, path))


def perimeter(region: Region) -> float:
    """Return the length of all contours of a region, mm."""
    return math.fsum(path_length(contour.segments) for contour in region.contours)


def signed_area(contour: Contour) -> float:
    """Return the area a contour encloses, mm², negative when it runs clockwise."""
    x0, y0 = contour.segments[0].start
    total = 0.0
    for segment, a, b in _joints(contour):
        total += (a.x - x0) * (b.y - y0) - (b.x - x0) * (a.y - y0)
        if isinstance(segment, Arc):
            total += segment.radius * segment.radius * _less_sine(segment.sweep)
    return 0.5 * total


def area(region: Region) -> float:
    """Return the area of a region, mm²; its holes do not count."""
    return math.fsum(map(signed_area, region.contours))


def centroid(region: Region) -> Point:
    """Return the centre of area of a region."""
    return centroid_and_moments(region)[0]


def second_moments(region: Region) -> SecondMoments:
    """Return the second moments of a region about the origin, mm⁴."""
    return centroid_and_moments(region)[1]


def centroid_and_moments(region: Region) -> tuple[Point, SecondMoments]:
    """Return the centre of area and the second moments about the origin, mm⁴, in one go."""
    x0, y0 = reference = region.outer.segments[0].start
    area, x, y, xx, yy, xy = _moments(region, reference)
    return Point(x0 + x / area, y0 + y / area), SecondMoments(
        xx + 2.0 * x0 * x + x0 * x0 * area,
        yy + 2.0 * y0 * y + y0 * y0 * area,
        xy + x0 * y + y0 * x + x0 * y0 * area,
    )


def contains(region: Region, point: tuple[float, float]) -> bool:
    """Return whether a point lies in a region.

    A point within ``BOUNDARY_TOLERANCE`` of any contour, a hole's too, counts as inside.
    """
    if any(_is_on(contour, point) for contour in region.contours):
        return True
    return surrounds(region, point)


def surrounds(region: Region, point: tuple[float, float]) -> bool:
    """Return whether a point that lies on no contour lies in a region."""
    return encloses(region.outer, point) and not any(encloses(hole, point) for hole in region.holes)


def contour_contains(contour: Contour, point: tuple[float, float]) -> bool:
    """Return whether a contour of either direction encloses a point.

    A point within ``BOUNDARY_TOLERANCE`` of the contour counts as enclosed.
    """
    return _is_on(contour, point) or encloses(contour, point)


def encloses(contour: Contour, point: tuple[float, float]) -> bool:
    """Return whether a contour of either direction encloses a point that is not on it.

    The point is in the polygon of the joints or, not both, in a circular segment. Both tests
    of a chord use one and the same side value, so rounding cannot make them disagree; a point on
    a chord counts as lying just to the right of it, or just above a level one.
    """
    x, y = point
    inside = False
    for segment, (x0, y0), (x1, y1) in _joints(contour):
        side = (x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)
        upward = y1 > y0
        if (y0 <= y) != (y1 <= y) and (side > 0.0 if upward else side < 0.0):
            inside = not inside
        if isinstance(segment, Arc):
            dx, dy = x - segment.centre.x, y - segment.centre.y
            if dx * dx + dy * dy < segment.radius * segment.radius:
                if abs(segment.sweep) >= math.tau:
                    is_right = segment.sweep > 0.0
                elif side == 0.0:
                    is_right = upward if y0 != y1 else x1 < x0
                else:
                    is_right = side < 0.0
                if is_right == (segment.sweep > 0.0):
                    inside = not inside
    return inside


def _hull(boxes: Iterable[tuple[float, float, float, float]]) -> Bounds:
    x_min, y_min, x_max, y_max = zip(*boxes, strict=True)
    return Bounds(min(x_min), min(y_min), max(x_max), max(y_max))


def _joints(contour: Contour) -> Iterable[tuple[Line | Arc, Point, Point]]:
    """Yield each segment with its ends; neighbours share the very same joint."""
    starts = [segment.start for segment in contour.segments]
    return zip(contour.segments, starts, starts[1:] + starts[:1], strict=True)


def _less_sine(angle: float) -> float:
    """Return ``angle - sin(angle)`` without cancellation."""
    if abs(angle) > SMALL_SWEEP:
        return angle - math.sin(angle)
    square = angle * angle
    series = 1.0
    for divisor in (156.0, 110.0, 72.0, 42.0, 20.0):
        series = 1.0 - square / divisor * series
    return angle * square / 6.0 * series


def _is_on(contour: Contour, point: tuple[float, float]) -> bool:
    return any(point_distance(segment, point) <= BOUNDARY_TOLERANCE for segment in contour.segments)


def _moments(region: Region, reference: Point) -> list[float]:
    """Return area, first moments x, y and second moments xx, yy, xy about a reference point."""
    total = [0.0] * 6
    for contour in region.contours:
        for segment, a, b in _joints(contour):
            pieces = [
                _triangle(
                    a.x - reference.x, a.y - reference.y, b.x - reference.x, b.y - reference.y
                )
            ]
            if isinstance(segment, Arc):
                pieces.append(_circular_segment(segment, reference))
            for piece in pieces:
                for i, value in enumerate(piece):
                    total[i] += value
    return total


def _triangle(x0: float, y0: float, x1: float, y1: float) -> tuple[float, ...]:
    """Return the signed moments of the triangle from the origin over one chord."""
    cross = x0 * y1 - x1 * y0
    return (
        cross / 2.0,
        cross * (x0 + x1) / 6.0,
        cross * (y0 + y1) / 6.0,
        cross * (x0 * x0 + x0 * x1 + x1 * x1) / 12.0,
        cross * (y0 * y0 + y0 * y1 + y1 * y1) / 12.0,
        cross * (2.0 * (x0 * y0 + x1 * y1) + x0 * y1 + x1 * y0) / 24.0,
    )


def _circular_segment(arc: Arc, reference: Point) -> tuple[float, ...]:
    """Return the signed moments between an arc and its chord about a reference point."""
    half = 0.5 * arc.sweep
    axis = arc.start_angle + half
    cos, sin = math.cos(axis), math.sin(axis)
    foot = arc.radius * math.cos(half)
    if abs(arc.sweep) > SMALL_SWEEP:
        area, u, uu, vv = _segment_about_centre(arc.radius, half)
        out = 0.0
    else:
        area, u, uu, vv = _segment_about_chord(arc.radius, half)
        out = foot
    x = arc.centre.x - reference.x + out * cos
    y = arc.centre.y - reference.y + out * sin
    first_x, first_y = u * cos, u * sin
    return (
        area,
        first_x + x * area,
        first_y + y * area,
        uu * cos * cos + vv * sin * sin + 2.0 * x * first_x + x * x * area,
        uu * sin * sin + vv * cos * cos + 2.0 * y * first_y + y * y * area,
        (uu - vv) * cos * sin + x * first_y + y * first_x + x * y * area,
    )


def _segment_about_centre(radius: float, half: float) -> tuple[float, float, float, float]:
    """Return area, first moment and second moments of a circular segment about its centre.

    The first axis bisects the segment. Roark's sector less the triangle of its radii.
    """
    sin, cos = math.sin(half), math.cos(half)
    return (
        radius**2 * (half - sin * cos),
        radius**3 * sin**3 * 2.0 / 3.0,
        radius**4 * (4.0 * half - math.sin(4.0 * half)) / 16.0,
        radius**4 * (half - sin * cos * (1.0 + 2.0 / 3.0 * sin * sin)) / 4.0,
    )


def _segment_about_chord(radius: float, half: float) -> tuple[float, float, float, float]:
    """Return the same about the middle of the chord, by strips across it, for small sweeps."""
    area = first = uu = vv = 0.0
    for node, weight in GAUSS_NODES:
        angle = half * node
        height = 2.0 * radius * math.sin(0.5 * (half + angle)) * math.sin(0.5 * (half - angle))
        along = radius * math.sin(angle)
        strip = 2.0 * weight * half * radius * math.cos(angle) * height
        area += strip
        first += strip * height / 2.0
        uu += strip * height * height / 3.0
        vv += strip * along * along
    return area, first, uu, vv
