"""Ellipse fits against a published data set and closed forms."""

import math

import numpy as np
import pytest

from jobprep.geometry.outline import Point
from jobprep.measuring.ellipse_fit import Ellipse, direct_ellipse, fit_ellipse, signed_distances

# Gander, Golub & Strebel, BIT 34 (1994) 558-578: eight points, best geometric fit 2.6996, 3.8160,
# semi-axes 6.5187, 3.0319, direction 0.3596, norm of residuals 1.1719 (from memory).
GGS = [(1, 7), (2, 6), (5, 8), (7, 7), (9, 5), (3, 7), (6, 2), (8, 4)]


def test_geometric_fit_gives_the_digits_of_gander_golub_strebel():
    fit = fit_ellipse(GGS)
    xx, xy, yy = fit.ellipse.shape
    direction = 0.5 * math.atan2(2.0 * xy, xx - yy)
    found = (*fit.ellipse.centre, *fit.ellipse.semi_axes, direction)
    assert tuple(round(value, 4) for value in found) == (2.6996, 3.8160, 6.5187, 3.0319, 0.3596)
    assert round(math.sqrt(fit.spread**2 * (len(GGS) - 5)), 4) == 1.1719


@pytest.mark.parametrize("shape", [(5.0, 0.0, 5.0), (5.0, 1.0, 4.0), (2.0, -0.5, 9.0)])
def test_exact_points_give_their_ellipse_back(shape):
    truth = Ellipse(Point(3.0, -40.0), shape)
    points = truth.at(np.linspace(0.3, 6.0, 23))
    for found in (direct_ellipse(points), fit_ellipse(points).ellipse):
        assert found.centre == pytest.approx(truth.centre, abs=1e-8)
        assert found.shape == pytest.approx(truth.shape, abs=1e-8)


def test_distances_are_orthogonal_and_signed():
    ellipse = Ellipse(Point(0.0, 0.0), (5.0, 0.0, 3.0))
    points = [(7, 0), (0, 4), (0, 1), (0, 0), (-6, 0), (0, -3)]
    # On the minor axis the nearest point is its end; from the centre as well.
    assert signed_distances(ellipse, points) == pytest.approx([2, 1, -2, -3, 1, 0])
    dense = ellipse.at(np.linspace(0, 2 * math.pi, 200_001))
    for point in [(1.0, 2.0), (4.0, -2.5), (2.2, 0.3), (-6.0, 5.0)]:
        nearest = np.hypot(*(dense - point).T).min()
        assert abs(signed_distances(ellipse, [point])[0]) == pytest.approx(nearest, abs=1e-6)


def test_covariance_is_that_of_repeated_fits():
    random = np.random.default_rng(3)
    truth = Ellipse(Point(10.0, 20.0), (100.0, 3.0, 92.0))
    angles = np.linspace(0, 2 * math.pi, 60, endpoint=False)
    fits = [fit_ellipse(truth.at(angles) + random.normal(0, 0.5, (60, 2))) for _ in range(200)]
    values = np.array([(*fit.ellipse.centre, *fit.ellipse.shape) for fit in fits])
    claimed = np.mean([np.sqrt(np.diag(fit.covariance)) for fit in fits], axis=0)
    assert values.std(axis=0) == pytest.approx(claimed, rel=0.15)
    assert values.mean(axis=0) == pytest.approx((*truth.centre, *truth.shape), abs=0.03)


@pytest.mark.parametrize(
    "points",
    [
        [(0, 0), (1, 0), (0, 1), (1, 1)],
        [(x, 2 * x) for x in range(6)],
    ],
)
def test_points_without_an_ellipse_are_refused(points):
    with pytest.raises(ValueError, match=r"ellipse|line"):
        fit_ellipse(points)
