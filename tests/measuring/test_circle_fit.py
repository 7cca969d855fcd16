"""Circle fits against published data sets, closed forms and their own statistics.

Sources of the data sets: W. Gander, G. H. Golub, R. Strebel, "Least-squares fitting of circles and
ellipses", BIT 34 (1994) 558-578 (GGS); I. D. Coope, J. Optim. Theory Appl. 76 (1993) 381-388
(COOPE); SciPy Cookbook, "Least squares circle" (COOKBOOK, all round and short arc). A handful of
points each, which text after text uses for comparison; quoted as facts.
"""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.measuring.circle_fit import CircleFit, fit_circle, taubin_circle
from jobprep.measuring.measured import STUDENT_95_45, student_factor

GGS = [(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7)]
COOPE = [(0.7, 4), (3.3, 4.7), (5.6, 4), (7.5, 1.3), (6.4, -1.1), (4.4, -3), (0.3, -2.5)]
COOPE += [(-1.1, 1.3)]
COOKBOOK_ROUND = [(9, 34), (35, 10), (-13, 6), (10, -14), (23, 27), (0, -10)]
COOKBOOK_ARC = [(36, 14), (36, 10), (19, 28), (18, 31), (33, 18), (26, 26)]


def sum_of_squares(fit: CircleFit) -> float:
    return fit.spread**2 * fit.degrees_of_freedom


@pytest.mark.parametrize(
    ("points", "published", "digits"),
    [
        (GGS, (4.7398, 2.9835, 4.7142), 4),
        (COOPE, (3.0432, 0.7457, 4.1059), 4),
        (COOKBOOK_ROUND, (10.50009, 9.65995, 23.33353), 5),
    ],
)
def test_geometric_fit_gives_published_digits(points, published, digits):
    circle = fit_circle(points).circle
    found = (*circle.centre, circle.radius)
    assert tuple(round(value, digits) for value in found) == published


def test_short_arc_of_the_cookbook_is_fitted_and_warned_of():
    # The Cookbook prints 9.88760, 3.68753, 27.35040, where its optimiser stopped; the minimum
    # itself, found by two independent programs, is 9.8875668, 3.6874975, 27.3504429.
    fit = fit_circle(COOKBOOK_ARC)
    assert (*fit.circle.centre, fit.circle.radius) == pytest.approx(
        (9.88760, 3.68753, 27.35040), abs=5e-5
    )
    assert sum_of_squares(fit) == pytest.approx(4.04252, abs=5e-6)
    assert fit.is_short_arc
    assert not fit_circle(COOKBOOK_ROUND).is_short_arc


@pytest.mark.parametrize(
    ("points", "published"), [(GGS, 1.2275991), (COOPE, 0.2959484), (COOKBOOK_ROUND, 7.7118522)]
)
def test_sum_of_squared_distances_gives_known_digits(points, published):
    assert sum_of_squares(fit_circle(points)) == pytest.approx(published, abs=5e-8)


@pytest.mark.parametrize(
    ("points", "published", "digits"),
    [
        (GGS, (4.6139, 2.7952, 4.8792), 4),
        (COOPE, (3.0588227, 0.7419514, 4.1093941), 7),
        (COOKBOOK_ROUND, (10.5502930, 9.7099634, 23.3625727), 7),
        (COOKBOOK_ARC, (9.5757969, 3.4798989, 27.7022003), 7),
    ],
)
def test_the_algebraic_fit_gives_known_digits(points, published, digits):
    circle = taubin_circle(points)
    found = (*circle.centre, circle.radius)
    assert tuple(round(value, digits) for value in found) == published


def test_three_points_give_their_circumcircle_and_no_uncertainty():
    fit = fit_circle([(0, 0), (4, 0), (0, 3)])  # right angle: centre in the hypotenuse's middle
    assert (*fit.circle.centre, fit.circle.radius) == pytest.approx((2, 1.5, 2.5))
    assert math.isinf(fit.radius.uncertainty)
    assert fit_circle([(0, 0), (4, 0), (0, 3)], noise=0.1).radius.uncertainty < 0.2


@pytest.mark.parametrize("points", [[(0, 0), (1, 1)], [(0, 0), (1, 1), (2, 2)], [(1, 1)] * 5])
def test_points_without_a_circle_are_refused(points):
    with pytest.raises(ValueError, match=r"one line|at least three"):
        fit_circle(points)


@given(
    scale=st.sampled_from([1e-3, 1.0, 1e3]),
    turn=st.floats(0, 6.28),
    shift=st.tuples(st.floats(-50, 50), st.floats(-50, 50)),
)
@settings(max_examples=30, deadline=None)
def test_fit_moves_turns_and_scales_with_its_points(scale, turn, shift):
    cos, sin = math.cos(turn), math.sin(turn)
    rotation = np.array([[cos, -sin], [sin, cos]])
    plain = fit_circle(COOPE)
    moved = fit_circle((np.array(COOPE) @ rotation.T + shift) * scale)
    centre = (rotation @ plain.circle.centre + shift) * scale
    assert moved.circle.centre == pytest.approx(tuple(centre), abs=1e-6 * scale)
    assert moved.radius.value == pytest.approx(plain.radius.value * scale, rel=1e-8)
    assert moved.radius.uncertainty == pytest.approx(plain.radius.uncertainty * scale, rel=1e-6)


@pytest.mark.parametrize("span", [math.pi / 2, math.pi, 2 * math.pi])
@pytest.mark.parametrize("count", [5, 8, 30])
def test_two_standard_uncertainties_hold_the_truth(span, count):
    random = np.random.default_rng(7)
    angles = np.linspace(0, span, count, endpoint=False)
    inside = 0
    for _ in range(300):
        points = np.column_stack([3 + 40 * np.cos(angles), -2 + 40 * np.sin(angles)])
        radius = fit_circle(points + random.normal(0, 0.1, points.shape)).radius
        inside += abs(radius.value - 40) <= 2 * radius.uncertainty
    assert 0.91 <= inside / 300 <= 0.99


def test_student_factors_are_those_of_the_distribution():
    stats = pytest.importorskip("scipy.stats")
    level = stats.norm.cdf(2)  # two-sided 95.45 %
    for freedom, tabled in enumerate(STUDENT_95_45, start=1):
        assert tabled == pytest.approx(stats.t.ppf(level, freedom), abs=0.006)
    for freedom in (25, 40, 100):
        assert student_factor(freedom) == pytest.approx(stats.t.ppf(level, freedom) / 2, abs=2e-3)
    assert math.isinf(student_factor(0))
