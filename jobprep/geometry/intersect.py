"""Where two segments meet.

Everything is judged within a tolerance: an end that near to the other segment lies on it, and
lines or circles whose least gap or overlap is no larger touch in one point. Segments that run along
each other on the same line or circle meet in the ends of their common piece.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from jobprep.geometry.outline import Arc, Line, Point, Segment
from jobprep.geometry.segment import point_distance, sweeps_over

SNAP = 1e-7
"""Points nearer than this, mm, are one: well above rounding, a ten-thousandth of any kerf."""


def intersections(a: Segment, b: Segment, tolerance: float = SNAP) -> tuple[Point, ...]:
    """Return the points where two segments cross, touch or start and stop to overlap.

    Ends that lie on the other segment are returned as they are; a crossing at such an
    end is not returned again.
    """
    if isinstance(a, Line) and isinstance(b, Line):
        if _is_beside(a, b, tolerance) or _is_beside(b, a, tolerance):
            return ()
    ends = [end for end in (a.start, a.end) if point_distance(b, end) <= tolerance]
    ends += [end for end in (b.start, b.end) if point_distance(a, end) <= tolerance]
    points, sine = crossings(a, b, tolerance)
    if sine == 0.0:
        return tuple(ends) or points
    return tuple(ends) + tuple(
        point for point in points if all(math.dist(point, end) > 2.0 * tolerance for end in ends)
    )


def _is_beside(a: Line, b: Line, tolerance: float) -> bool:
    """Return whether both ends of ``a`` lie on one side of the straight line through ``b``."""
    (x, y), (x_end, y_end) = b
    dx, dy = x_end - x, y_end - y
    (ax, ay), (bx, by) = a
    first, second = dx * (ay - y) - dy * (ax - x), dx * (by - y) - dy * (bx - x)
    limit = tolerance * (abs(dx) + abs(dy))
    return (first > limit and second > limit) or (first < -limit and second < -limit)


class Crossings(NamedTuple):
    """Points on both segments, and the sine of the angle there: 0 where lines only touch."""

    points: tuple[Point, ...]
    sine: float


NONE = Crossings((), 1.0)
ALONG = Crossings((), 0.0)


def crossings(a: Segment, b: Segment, tolerance: float = SNAP) -> Crossings:
    """Return where the lines and circles of two segments cross, within both segments.

    Those that overlap or part by no more than ``tolerance`` touch, in one point; those that run
    along each other have no crossing, and sine 0.
    """
    if isinstance(a, Line):
        return _line_line(a, b, tolerance) if isinstance(b, Line) else _line_arc(a, b, tolerance)
    return _line_arc(b, a, tolerance) if isinstance(b, Line) else _arc_arc(a, b, tolerance)


def _line_line(a: Line, b: Line, tolerance: float) -> Crossings:
    (ax, ay), (a_end_x, a_end_y) = a
    (bx, by), (b_end_x, b_end_y) = b
    dx, dy, ex, ey = a_end_x - ax, a_end_y - ay, b_end_x - bx, b_end_y - by
    cross = dx * ey - dy * ex
    # The sine of the angle times the shorter line: how far the lines part at most.
    if abs(cross) <= tolerance * max(math.hypot(dx, dy), math.hypot(ex, ey)):
        return ALONG
    gap_x, gap_y = bx - ax, by - ay
    along_a = (gap_x * ey - gap_y * ex) / cross
    along_b = (gap_x * dy - gap_y * dx) / cross
    if not (0.0 <= along_a <= 1.0 and 0.0 <= along_b <= 1.0):
        return NONE
    sine = abs(cross) / (math.hypot(dx, dy) * math.hypot(ex, ey))
    return Crossings((Point(ax + along_a * dx, ay + along_a * dy),), sine)


def _line_arc(line: Line, arc: Arc, tolerance: float) -> Crossings:
    (x0, y0), (x1, y1) = line
    (centre_x, centre_y), radius = arc.centre, arc.radius
    length = math.hypot(x1 - x0, y1 - y0)
    if length == 0.0:
        return ALONG
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    gap_x, gap_y = centre_x - x0, centre_y - y0
    foot = gap_x * ux + gap_y * uy
    side = gap_x * uy - gap_y * ux
    over = radius - abs(side)
    if over < -tolerance:
        return NONE
    if over <= tolerance:
        alongs: tuple[float, ...] = (foot,)
        sine = 0.0
    else:
        half = math.sqrt(over * (radius + abs(side)))
        alongs = (foot - half, foot + half)
        sine = half / radius
    points = (Point(x0 + along * ux, y0 + along * uy) for along in alongs if 0.0 <= along <= length)
    return Crossings(
        tuple(
            point for point in points if sweeps_over(arc, point.x - centre_x, point.y - centre_y)
        ),
        sine,
    )


def _arc_arc(a: Arc, b: Arc, tolerance: float) -> Crossings:
    dx, dy = b.centre.x - a.centre.x, b.centre.y - a.centre.y
    distance = math.hypot(dx, dy)
    plus, minus = a.radius + b.radius, a.radius - b.radius
    if distance + abs(minus) <= tolerance:
        return ALONG
    outer_overlap, inner_overlap = plus - distance, distance - abs(minus)
    overlap = min(outer_overlap, inner_overlap)
    if overlap < -tolerance:
        return NONE
    ux, uy = dx / distance, dy / distance
    if overlap <= tolerance:
        is_far_side = inner_overlap < outer_overlap and minus < 0.0
        offsets: tuple[tuple[float, float], ...] = ((-a.radius if is_far_side else a.radius, 0.0),)
        sine = 0.0
    else:
        along = 0.5 * (distance + minus * plus / distance)
        # Heron: twice the area of the triangle of the centres and a crossing, over its base.
        double = math.sqrt(
            (plus + distance) * outer_overlap * inner_overlap * (distance + abs(minus))
        )
        half = 0.5 * double / distance
        offsets = ((along, half), (along, -half))
        sine = 0.5 * double / (a.radius * b.radius)
    found = []
    for along, across in offsets:
        x, y = along * ux - across * uy, along * uy + across * ux
        if sweeps_over(a, x, y) and sweeps_over(b, x - dx, y - dy):
            found.append(Point(a.centre.x + x, a.centre.y + y))
    return Crossings(tuple(found), sine)
