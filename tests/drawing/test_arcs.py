"""Arcs as curves, against the closed form of how far they leave them."""

import math

import pytest
from drawing.strokes import arcs
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.drawing.arcs import bezier, bezier_error
from jobprep.geometry.outline import Arc, Point

Curve = tuple[float, ...]


def at(start: Point, curve: Curve, s: float) -> tuple[float, float]:
    """A point of a cubic curve (Bernstein form)."""
    corners = (start, curve[0:2], curve[2:4], curve[4:6])
    weights = ((1 - s) ** 3, 3 * s * (1 - s) ** 2, 3 * s * s * (1 - s), s**3)
    x, y = (sum(w * corner[i] for w, corner in zip(weights, corners, strict=True)) for i in (0, 1))
    return x, y


@given(angle=st.floats(0.01, math.pi / 2), s=st.floats(0.0, 1.0))
def test_squared_distance_from_the_centre_is_the_closed_form(angle: float, s: float) -> None:
    arc = Arc(Point(0.0, 0.0), 1.0, 0.3, angle)
    (curve,) = bezier(arc, 1.0)
    steep = 16.0 * math.sin(angle / 4.0) ** 6 / math.cos(angle / 4.0) ** 2
    square = 1.0 + steep * (s * (1.0 - s) * (1.0 - 2.0 * s)) ** 2
    x, y = at(arc.start, curve, s)
    assert x * x + y * y == pytest.approx(square, abs=1e-14)


def test_the_bound_is_reached_where_the_closed_form_is_greatest() -> None:
    """At s (1 - s) = 1/6; a quarter circle is 2.73e-4 of its radius off, as textbooks have it."""
    arc = Arc(Point(0.0, 0.0), 1.0, 0.0, math.pi / 2.0)
    (curve,) = bezier(arc, 1.0)
    off = math.hypot(*at(arc.start, curve, (3.0 - math.sqrt(3.0)) / 6.0)) - 1.0
    assert off == pytest.approx(2.73e-4, abs=5e-7)
    assert off <= bezier_error(1.0, math.pi / 2.0) <= 1.0002 * off


@given(arcs, st.sampled_from((0.01, 0.0005)))
@settings(max_examples=60)
def test_curves_run_on_from_end_to_end_within_the_tolerance(arc: Arc, tolerance: float) -> None:
    here = arc.start
    for curve in bezier(arc, tolerance):
        for step in range(33):
            off = math.dist(at(here, curve, step / 32), arc.centre) - arc.radius
            assert -1e-9 < off < tolerance + 1e-9
        here = Point(*curve[4:6])
    assert math.dist(here, arc.end) < 1e-9 * max(1.0, arc.radius)
