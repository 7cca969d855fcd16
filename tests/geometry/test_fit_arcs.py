"""Fitted arcs against the curve itself, sampled finely, and against closed forms."""

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.geometry.fit_arcs import Curve, bezier, ellipse, elliptic_path, fit_arcs
from jobprep.geometry.outline import Arc, Path, Point
from jobprep.geometry.segment import (
    end_direction,
    midpoint,
    point_distance,
    segment_length,
    start_direction,
)

coordinates = st.tuples(st.floats(-100, 100), st.floats(-100, 100)).map(lambda p: Point(*p))


def greatest_distance(curve: Curve, path: Path, samples: int = 3000) -> float:
    points = [curve.point(i / samples) for i in range(samples + 1)]
    return max(min(point_distance(segment, point) for segment in path) for point in points)


def assert_fits(curve: Curve, path: Path, tolerance: float) -> None:
    """The arcs follow the curve within the tolerance, end where it ends, and do not break."""
    assert greatest_distance(curve, path, 400) <= tolerance
    assert math.dist(path[0].start, curve.point(0)) < 1e-6
    assert math.dist(path[-1].end, curve.point(1)) < 1e-6
    for before, after in pairwise(path):
        assert math.dist(before.end, after.start) < 1e-6


@pytest.mark.parametrize("tolerance", [0.1, 0.01, 0.001])
def test_ellipse_is_followed_and_its_perimeter_found(tolerance: float) -> None:
    """Ramanujan's second approximation, off by less than 1e-6 at this ratio, gives 242.21 mm."""
    a, b = 50.0, 25.0
    curve = ellipse(Point(3, 4), Point(a, 0), Point(0, b), 0.2, math.tau)
    path = fit_arcs(curve, tolerance)
    assert_fits(curve, path, tolerance)
    h = ((a - b) / (a + b)) ** 2
    perimeter = math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    assert sum(map(segment_length, path)) == pytest.approx(perimeter, abs=3 * tolerance)
    assert all(isinstance(segment, Arc) for segment in path)


def test_arcs_are_few() -> None:
    """Biarcs converge with the third power of their length: ten times finer, 2.2 times as many.

    Halving may double them at once, so two steps are taken together.
    """
    curve = ellipse(Point(0, 0), Point(50, 0), Point(0, 25), 0.0, math.tau)
    counts = [len(fit_arcs(curve, tolerance)) for tolerance in (0.1, 0.01, 0.001, 0.0001)]
    for coarse, fine in zip(counts, counts[2:], strict=False):
        assert fine <= 2.2**2 * coarse * 1.1
    assert counts[1] < 64


def test_fitted_ellipse_has_no_corner() -> None:
    path = fit_arcs(ellipse(Point(0, 0), Point(50, 0), Point(0, 25), 0.0, math.tau), 0.01)
    for before, after in zip(path, path[1:] + path[:1], strict=True):
        assert math.dist(end_direction(before), start_direction(after)) < 1e-9


def test_round_ellipse_is_one_exact_arc() -> None:
    turned = elliptic_path(Point(1, 2), Point(3, 4), Point(-4, 3), 0.0, 2.0, 0.01)
    assert turned == (Arc(Point(1, 2), 5.0, math.atan2(4, 3), 2.0),)
    mirrored = elliptic_path(Point(1, 2), Point(5, 0), Point(0, -5), 0.5, 2.0, 0.01)
    assert mirrored == (Arc(Point(1, 2), 5.0, -0.5, -2.0),)


def test_four_beziers_of_a_circle_are_within_their_known_error() -> None:
    """A cubic quarter with handles 4/3 (sqrt 2 - 1) is up to 0.0273 % of the radius outside.

    Common textbook figure, from memory; the fit may add its tolerance.
    """
    k = 4 / 3 * (math.sqrt(2) - 1)
    points = [Point(100, 0), Point(100, 100 * k), Point(100 * k, 100), Point(0, 100)]
    path = fit_arcs(bezier(points), 0.001)
    for segment in path:
        distance = math.hypot(*midpoint(segment))
        assert 100 - 0.001 <= distance <= 100.0273 + 0.001


def test_straight_bezier_is_straight() -> None:
    path = fit_arcs(bezier([Point(0, 0), Point(1, 1), Point(2, 2), Point(9, 9)]), 0.01)
    assert sum(map(segment_length, path)) == pytest.approx(9 * math.sqrt(2))
    assert not any(isinstance(segment, Arc) for segment in path)


def test_cusp_is_kept() -> None:
    """This cubic turns on the spot at (50, 75)."""
    curve = bezier([Point(0, 0), Point(100, 100), Point(0, 100), Point(100, 0)])
    path = fit_arcs(curve, 0.01)
    assert_fits(curve, path, 0.01)
    assert min(math.dist(segment.end, (50, 75)) for segment in path) < 0.01


def test_handles_of_no_length_do_no_harm() -> None:
    curve = bezier([Point(0, 0), Point(0, 0), Point(10, 10), Point(20, 0)])
    assert_fits(curve, fit_arcs(curve, 0.01), 0.01)


def test_point_gives_nothing() -> None:
    assert fit_arcs(bezier([Point(1, 1)] * 4), 0.01) == ()


@settings(deadline=None)
@given(st.lists(coordinates, min_size=3, max_size=5), st.sampled_from([0.05, 0.01]))
def test_any_bezier_is_followed(points: list[Point], tolerance: float) -> None:
    curve = bezier(points)
    path = fit_arcs(curve, tolerance)
    if path:
        assert_fits(curve, path, tolerance)
    else:
        assert max(math.dist(point, points[0]) for point in points) < tolerance


@settings(deadline=None)
@given(coordinates, coordinates, coordinates, st.floats(-7, 7), st.floats(0.01, math.tau))
def test_any_affine_image_of_an_arc_is_followed(
    centre: Point, u: Point, v: Point, start: float, sweep: float
) -> None:
    path = elliptic_path(centre, u, v, start, sweep, 0.01)
    if path:
        assert_fits(ellipse(centre, u, v, start, sweep), path, 0.01)
