"""Measures of one segment: length, direction, box and distance to a point."""

from __future__ import annotations

import math

from jobprep.geometry.outline import Arc, Line, Point, Segment

QUADRANT = 0.5 * math.pi


def segment_length(segment: Segment) -> float:
    """Return the length of a segment, mm."""
    if isinstance(segment, Line):
        return math.dist(segment.start, segment.end)
    return segment.radius * abs(segment.sweep)


def segment_box(segment: Segment) -> tuple[float, float, float, float]:
    """Return the box around a segment: least x, least y, greatest x, greatest y."""
    start, end = segment.start, segment.end
    x_min, x_max = (start.x, end.x) if start.x < end.x else (end.x, start.x)
    y_min, y_max = (start.y, end.y) if start.y < end.y else (end.y, start.y)
    if isinstance(segment, Arc):
        (x, y), radius = segment.centre, segment.radius
        low = min(segment.start_angle, segment.end_angle)
        high = low + abs(segment.sweep)
        for quarter in range(math.ceil(low / QUADRANT), math.floor(high / QUADRANT) + 1):
            match quarter % 4:
                case 0:
                    x_max = max(x_max, x + radius)
                case 1:
                    y_max = max(y_max, y + radius)
                case 2:
                    x_min = min(x_min, x - radius)
                case _:
                    y_min = min(y_min, y - radius)
    return x_min, y_min, x_max, y_max


def point_along(segment: Segment, share: float) -> Point:
    """Return the point that ``share`` of the length of a segment leads to."""
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment
        return Point(x0 + share * (x1 - x0), y0 + share * (y1 - y0))
    return segment.at(segment.start_angle + share * segment.sweep)


def midpoint(segment: Segment) -> Point:
    """Return the point half way along a segment."""
    return point_along(segment, 0.5)


def start_direction(segment: Segment) -> Point:
    """Return the unit vector in which a segment sets out."""
    if isinstance(segment, Line):
        return _unit(segment)
    return _tangent(segment.start_angle, segment.sweep)


def end_direction(segment: Segment) -> Point:
    """Return the unit vector in which a segment arrives."""
    if isinstance(segment, Line):
        return _unit(segment)
    return _tangent(segment.end_angle, segment.sweep)


def turn_between(before: Segment, after: Segment) -> float:
    """Return the turn from the end of one segment to the start of the next, left positive."""
    come, go = end_direction(before), start_direction(after)
    return math.atan2(come.x * go.y - come.y * go.x, come.x * go.x + come.y * go.y)


def reach(segment: Segment) -> float:
    """Return how far from its start a segment gets before it may come back."""
    if isinstance(segment, Line):
        return segment_length(segment)
    return 2.0 * segment.radius * math.sin(0.5 * min(abs(segment.sweep), math.pi))


def heading(origin: Point, segment: Segment, distance: float) -> float:
    """Return the direction in which a segment is seen ``distance`` from its start.

    ``origin``, from where it is seen, is that start, or is so near to it that a rounding error
    parts them. It tells apart segments that set out in the same direction and then part.
    """
    if isinstance(segment, Line):
        x, y = point_along(segment, distance / segment_length(segment))
    else:
        turn = 2.0 * math.asin(min(0.5 * distance / segment.radius, 1.0))
        x, y = segment.at(segment.start_angle + math.copysign(turn, segment.sweep))
    return math.atan2(y - origin.y, x - origin.x)


def sweeps_over(arc: Arc, x: float, y: float) -> bool:
    """Return whether an arc passes through the direction ``(x, y)`` seen from its centre."""
    turn = math.atan2(y, x) - arc.start_angle
    if arc.sweep < 0.0:
        turn = -turn
    return turn % math.tau <= abs(arc.sweep)


def point_distance(segment: Segment, point: tuple[float, float]) -> float:
    """Return the least distance from a point to a segment, mm."""
    x, y = point
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment
        dx, dy = x1 - x0, y1 - y0
        square = dx * dx + dy * dy
        along = ((x - x0) * dx + (y - y0) * dy) / square if square > 0.0 else 0.0
        if along <= 0.0:
            return math.hypot(x - x0, y - y0)
        if along >= 1.0:
            return math.hypot(x - x1, y - y1)
        return abs((x - x0) * dy - (y - y0) * dx) / math.sqrt(square)
    x -= segment.centre.x
    y -= segment.centre.y
    if sweeps_over(segment, x, y):
        return abs(math.hypot(x, y) - segment.radius)
    return min(math.dist(point, segment.start), math.dist(point, segment.end))


def _unit(line: Line) -> Point:
    (x0, y0), (x1, y1) = line
    length = math.hypot(x1 - x0, y1 - y0)
    if length == 0.0:
        return Point(0.0, 0.0)
    return Point((x1 - x0) / length, (y1 - y0) / length)


def _tangent(angle: float, sweep: float) -> Point:
    sign = math.copysign(1.0, sweep)
    return Point(-sign * math.sin(angle), sign * math.cos(angle))
