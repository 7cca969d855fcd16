"""The straight line against certified and published results."""

import math
from random import Random

import numpy as np
import pytest

from jobprep.measuring.line_fit import fit_line

# NIST Statistical Reference Datasets, linear regression, "Norris": (x, y).
NORRIS = [
    (0.2, 0.1), (337.4, 338.8), (118.2, 118.1), (884.6, 888.0), (10.1, 9.2), (226.5, 228.1),
    (666.3, 668.5), (996.3, 998.5), (448.6, 449.1), (777.0, 778.9), (558.2, 559.2), (0.4, 0.3),
    (0.6, 0.1), (775.5, 778.1), (666.9, 668.8), (338.0, 339.3), (447.5, 448.9), (11.6, 10.8),
    (556.0, 557.7), (228.1, 228.3), (995.8, 998.0), (887.6, 888.8), (120.2, 119.6), (0.3, 0.3),
    (0.3, 0.6), (556.8, 557.6), (339.1, 339.3), (887.2, 888.0), (999.0, 998.5), (779.0, 778.9),
    (11.1, 10.2), (118.3, 117.6), (229.2, 228.9), (669.1, 668.4), (448.9, 449.2), (0.5, 0.2),
]  # fmt: skip

# JCGM 100:2008 (GUM), table H.6: thermometer readings and corrections, degrees Celsius.
READINGS = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511]
CORRECTIONS = [-171, -169, -166, -159, -164, -165, -156, -157, -159, -161, -160]  # thousandths


def test_norris_as_certified_by_nist() -> None:
    x, y = zip(*NORRIS, strict=True)
    line = fit_line(x, y)
    assert line.intercept == pytest.approx(-0.262323073774029, rel=1e-9)
    assert line.slope == pytest.approx(1.00211681802045, rel=1e-12)
    (aa, _), (_, bb) = line.covariance
    assert math.sqrt(aa) == pytest.approx(0.232818234301152, rel=1e-9)
    assert math.sqrt(bb) == pytest.approx(0.000429796848199937, rel=1e-9)
    assert line.spread == pytest.approx(0.884796396144373, rel=1e-9)
    assert line.degrees_of_freedom == 34


def test_noint1_keeps_its_intercept() -> None:
    """NIST StRD NoInt1: a line through the origin has the certified slope 2.07438016528926.

    The data are y = x + 70 exactly; forcing away an intercept would read it as scale.
    """
    x = np.arange(60.0, 71.0)
    y = x + 70.0
    line = fit_line(x, y)
    assert line.intercept == pytest.approx(70.0, abs=1e-9)
    assert line.slope == pytest.approx(1.0, abs=1e-11)
    assert float(x @ y / (x @ x)) == pytest.approx(2.07438016528926, rel=1e-12)


def test_thermometer_of_gum_h_3() -> None:
    """JCGM 100:2008, H.3: printed y1 -0.1712 (0.0029), y2 0.00218 (0.00067), r -0.930."""
    x = np.array(READINGS) - 20.0
    line = fit_line(x, np.array(CORRECTIONS) / 1000.0)
    (aa, ab), (_, bb) = line.covariance
    assert line.intercept == pytest.approx(-0.1712, abs=5e-5)
    assert line.slope == pytest.approx(0.00218, abs=5e-6)
    assert math.sqrt(aa) == pytest.approx(0.0029, abs=5e-5)
    assert math.sqrt(bb) == pytest.approx(0.00067, abs=5e-6)
    assert ab / math.sqrt(aa * bb) == pytest.approx(-0.930, abs=5e-4)
    assert line.spread == pytest.approx(0.0035, abs=5e-5)
    at_30 = line.at(10.0)
    assert at_30.value == pytest.approx(-0.1494, abs=5e-5)
    assert at_30.uncertainty == pytest.approx(0.0041, abs=5e-5)


def test_a_known_slope_gives_mean_and_its_uncertainty_of_gum_4_4_3() -> None:
    """JCGM 100:2008, table 1: 20 temperatures; printed mean 100.145, s 1.489, u 0.333."""
    readings = [
        96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
        100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72,
    ]  # fmt: skip
    line = fit_line([0.0] * 20, readings, slope=0.0)
    assert line.intercept == pytest.approx(100.145, abs=5e-4)
    assert line.spread == pytest.approx(1.489, abs=5e-4)
    assert line.at(0.0).uncertainty == pytest.approx(0.333, abs=5e-4)


def test_weights_count_like_repeated_points() -> None:
    """A point of half the uncertainty weighs as much as the same point four times."""
    weighted = fit_line([0.0, 1.0, 2.0], [0.0, 1.3, 1.8], [1.0, 0.5, 1.0])
    repeated = fit_line([0.0, 1.0, 1.0, 1.0, 1.0, 2.0], [0.0, 1.3, 1.3, 1.3, 1.3, 1.8])
    assert weighted.intercept == pytest.approx(repeated.intercept, abs=1e-12)
    assert weighted.slope == pytest.approx(repeated.slope, abs=1e-12)


def test_line_agrees_with_numpy_s_weighted_polynomial() -> None:
    random = Random(3)
    x = [random.uniform(-10.0, 80.0) for _ in range(12)]
    u = [random.uniform(0.01, 0.3) for _ in x]
    y = [0.2 + 1.01 * each + random.gauss(0.0, s) for each, s in zip(x, u, strict=True)]
    slope, intercept = np.polyfit(x, y, 1, w=1.0 / np.array(u))
    _, covariance = np.polyfit(x, y, 1, w=1.0 / np.array(u), cov=True)
    line = fit_line(x, y, u)
    assert line.intercept == pytest.approx(intercept, rel=1e-9)
    assert line.slope == pytest.approx(slope, rel=1e-9)
    assert line.covariance[0][0] == pytest.approx(covariance[1, 1], rel=1e-9)
    assert line.covariance[1][1] == pytest.approx(covariance[0, 0], rel=1e-9)
    assert line.weights @ np.array(y) == pytest.approx(intercept, rel=1e-9)
    assert line.slope_weights @ np.array(y) == pytest.approx(slope, rel=1e-9)


def test_two_points_leave_the_uncertainty_unknown() -> None:
    line = fit_line([0.0, 1.0], [1.0, 3.0])
    assert (line.intercept, line.slope) == (pytest.approx(1.0), pytest.approx(2.0))
    assert line.degrees_of_freedom == 0
    assert math.isinf(line.at(0.5).uncertainty)


@pytest.mark.parametrize("x", [[1.0], [2.0, 2.0, 2.0]])
def test_a_slope_needs_two_different_places(x: list[float]) -> None:
    with pytest.raises(ValueError, match="determine"):
        fit_line(x, x)
