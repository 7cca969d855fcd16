"""Whether an outline, turned as needed, is too large for a rectangle."""

from __future__ import annotations

import math
from collections.abc import Sequence

from jobprep.geometry.outline import Arc, Contour, Point
from jobprep.geometry.segment import segment_box
from jobprep.units import TURN

DIRECTIONS = 36
"""In how many directions over a quarter turn an outline is looked at first."""

MOST_LOOKS = 400
"""Directions looked at before an outline counts as one that may fit."""

SPARE = 1e-6
"""How much more than there is an outline may need, mm: rounding."""


def fits_nowhere(
    outline: Contour, width: float, height: float, turns: Sequence[float] | None = None
) -> bool:
    """Whether an outline is proven to fit no rectangle of these sides, mm, however it is turned.

    ``turns`` are the angles that it may be turned by, radians; None for all. Turned by no more than
    d from where it is w wide, an outline of diameter D is at least
    ``w cos d - sqrt(D² - w²) sin d`` wide, since two of its points lie w apart across and no
    farther than D from each other. Directions about which that says nothing yet are looked at
    more closely; one that is within rounding of fitting is not proven not to fit.
    """
    corners = _hull([segment.start for segment in outline.segments])
    arcs = [segment for segment in outline.segments if isinstance(segment, Arc)]

    def sides(angle: float) -> tuple[float, float]:
        return _sides(corners, arcs, angle)

    if turns is not None:
        turned = map(sides, turns)
        return not any(w <= width + SPARE and h <= height + SPARE for w, h in turned)
    short, long = sorted((width + SPARE, height + SPARE))
    half = TURN / 8.0 / DIRECTIONS
    looks = [((2 * step + 1) * half, half) for step in range(DIRECTIONS)]
    seen = [(angle, half, sides(angle)) for angle, half in looks]
    diameter = max(max(found) for _, _, found in seen) / math.cos(half)
    n_looks = 0
    while seen:
        angle, half, found = seen.pop()
        least, most = sorted(found)
        if least <= short and most <= long:
            return False
        least, most = sorted(_least_width(side, diameter, half) for side in found)
        if least > short or most > long:
            continue
        n_looks += 2
        if n_looks > MOST_LOOKS:
            return False
        half *= 0.5
        seen += ((at, half, sides(at)) for at in (angle - half, angle + half))
    return True


def _least_width(width: float, diameter: float, turn: float) -> float:
    """Return how wide an outline is at least when it is turned by no more than an angle."""
    along = math.sqrt(max(0.0, diameter * diameter - width * width))
    return width * math.cos(turn) - along * math.sin(turn)


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
