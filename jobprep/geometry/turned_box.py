"""Whether an outline, turned as needed, fits into a rectangle."""

from __future__ import annotations

import math
from collections.abc import Sequence

from jobprep.geometry.outline import Arc, Contour, Point
from jobprep.geometry.segment import segment_box
from jobprep.units import TURN

TURNS = 36
"""In how many directions over a quarter turn an outline is tried."""


def fits_rectangle(outline: Contour, width: float, height: float) -> bool:
    """Whether an outline fits into a rectangle of these sides, mm, in one of the directions tried.

    One that fits only between two of them is not seen to fit.
    """
    short, long = sorted((width, height))
    corners = _hull([segment.start for segment in outline.segments])
    arcs = [segment for segment in outline.segments if isinstance(segment, Arc)]
    for step in range(TURNS):
        sides = sorted(_sides(corners, arcs, step * TURN / 4.0 / TURNS))
        if sides[0] <= short and sides[1] <= long:
            return True
    return False


def _sides(corners: Sequence[Point], arcs: Sequence[Arc], angle: float) -> tuple[float, float]:
    """Return the sides of the upright box around corners and arcs turned by an angle."""
    cos, sin = math.cos(angle), math.sin(angle)
    xs = [cos * x - sin * y for x, y in corners]
    ys = [sin * x + cos * y for x, y in corners]
    x_min, y_min, x_max, y_max = min(xs), min(ys), max(xs), max(ys)
    for arc in arcs:
        (u, v), radius = arc.centre, arc.radius
        x, y = cos * u - sin * v, sin * u + cos * v
        if x - radius < x_min or y - radius < y_min or x + radius > x_max or y + radius > y_max:
            turned = Arc(Point(x, y), radius, arc.start_angle + angle, arc.sweep)
            left, bottom, right, top = segment_box(turned)
            x_min, y_min = min(x_min, left), min(y_min, bottom)
            x_max, y_max = max(x_max, right), max(y_max, top)
    return x_max - x_min, y_max - y_min


def _hull(points: Sequence[Point]) -> list[Point]:
    """Return the corners of the convex hull of points (A. M. Andrew's monotone chain, 1979)."""
    ordered = sorted(set(points))
    hull: list[Point] = []
    for run in (ordered, ordered[-2::-1]):
        least = len(hull) + 1 if hull else 2
        for point in run:
            while len(hull) >= least and _turn(hull[-2], hull[-1], point) <= 0.0:
                hull.pop()
            hull.append(point)
    return hull


def _turn(a: Point, b: Point, c: Point) -> float:
    """Return a number that is positive where a path of three points turns left."""
    return (b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x)
