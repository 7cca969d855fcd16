"""Arcs cut into pieces that a format can hold well, and as curves where it holds no arcs."""

from __future__ import annotations

import math

from jobprep.geometry.outline import Arc
from jobprep.units import TURN

SMALLER = 1.25
"""By how much a curve's angle is made smaller until it is near enough to its arc."""


def split_arc(arc: Arc, longest: float) -> tuple[Arc, ...]:
    """Cut an arc into the fewest equal arcs of at most ``longest`` radians."""
    count = max(1, math.ceil(abs(arc.sweep) / longest - 1e-9))
    sweep = arc.sweep / count
    return tuple(
        Arc(arc.centre, arc.radius, arc.start_angle + index * sweep, sweep)
        for index in range(count)
    )


def bezier(arc: Arc, tolerance: float) -> list[tuple[float, ...]]:
    """Return cubic Bezier curves for an arc: both handles and the end of each, mm.

    Handles are (4/3) tan(t/4) r long for an angle t, so that the curve touches the arc at both ends
    and in the middle; it leaves the arc by no more than ``tolerance``, see ``bezier_error``.
    """
    curves: list[tuple[float, ...]] = []
    for piece in split_arc(arc, _longest(arc.radius, tolerance)):
        handle = 4.0 / 3.0 * math.tan(piece.sweep / 4.0) * piece.radius
        (x0, y0), (x1, y1) = piece.start, piece.end
        sin0, cos0 = math.sin(piece.start_angle), math.cos(piece.start_angle)
        sin1, cos1 = math.sin(piece.end_angle), math.cos(piece.end_angle)
        curves.append(
            (
                x0 - handle * sin0,
                y0 + handle * cos0,
                x1 + handle * sin1,
                y1 - handle * cos1,
                x1,
                y1,
            )
        )
    return curves


def bezier_error(radius: float, angle: float) -> float:
    """Return how far such a curve may leave its arc, outwards alone, mm.

    At the parameter s its squared distance from the centre is

        r² (1 + 16 sin⁶(t/4) / cos²(t/4) · (s (1 - s) (1 - 2s))²)

    as its Bernstein form multiplies out. The last square is 1/108 at most, and the root of 1 + x at
    most 1 + x/2, which leaves (2/27) sin⁶(t/4) / cos²(t/4) r.
    """
    return 2.0 / 27.0 * math.sin(angle / 4.0) ** 6 / math.cos(angle / 4.0) ** 2 * radius


def _longest(radius: float, tolerance: float) -> float:
    """Return the largest angle of which one curve stays within a tolerance, at most a quarter."""
    angle = TURN / 4.0
    while bezier_error(radius, angle) > tolerance:
        angle /= SMALLER
    return angle
