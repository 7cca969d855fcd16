"""Gross errors are found, also where they hide each other, and clean readings are left alone."""

import numpy as np
import pytest
from numpy.random import default_rng

from jobprep.measuring.measured import STUDENT_95_45
from jobprep.measuring.outliers import LEVEL, distances_from, find_outliers, student_quantile


@pytest.mark.parametrize(
    ("probability", "degrees_of_freedom", "value"),
    [
        # Printed tables of Student's t, such as Abramowitz & Stegun, table 26.10.
        (0.975, 1, 12.706),
        (0.975, 2, 4.303),
        (0.975, 3, 3.182),
        (0.975, 5, 2.571),
        (0.975, 10, 2.228),
        (0.975, 30, 2.042),
        (0.995, 1, 63.657),
        (0.995, 4, 4.604),
        (0.995, 5, 4.032),
        (0.9995, 6, 5.959),
    ],
)
def test_student_as_tabulated(probability: float, degrees_of_freedom: int, value: float) -> None:
    assert student_quantile(probability, degrees_of_freedom) == pytest.approx(value, abs=5.1e-4)


@pytest.mark.parametrize("degrees_of_freedom", range(1, 21))
def test_student_agrees_with_gum_table_g_2(degrees_of_freedom: int) -> None:
    """JCGM 100:2008, table G.2, the column of 95.45 %."""
    found = student_quantile(0.5 + 0.9545 / 2.0, degrees_of_freedom)
    assert found == pytest.approx(STUDENT_95_45[degrees_of_freedom - 1], abs=6e-3)


def _line(seed: int, count: int = 16) -> tuple[np.ndarray, np.ndarray, np.ndarray]:  # type: ignore[type-arg]
    random = default_rng(seed)
    x = np.repeat([10.0, 80.0], count // 2)
    return x, -0.2 + x + random.normal(0.0, 0.02, count), np.full(count, 0.02)


@pytest.mark.parametrize("place", [0, 3, 8, 15])
@pytest.mark.parametrize("error", [-0.3, 0.3, 9.0])
def test_one_gross_error_is_found_wherever_it_stands(place: int, error: float) -> None:
    x, y, u = _line(1)
    y[place] += error
    assert find_outliers(x, y, u) == (place,)


def test_two_alike_do_not_hide_each_other() -> None:
    x, y, u = _line(2)
    y[[9, 12]] += 0.5
    assert find_outliers(x, y, u) == (9, 12)


def test_clean_readings_are_called_outliers_seldom() -> None:
    """The level is a chance per set; its bound here is four standard deviations above."""
    trials = 400
    named = sum(bool(find_outliers(*_line(seed))) for seed in range(trials))
    assert named <= trials * LEVEL + 4.0 * (trials * LEVEL) ** 0.5


def test_readings_closer_than_their_uncertainty_are_not_split() -> None:
    """Rounded readings repeat exactly; one last digit off is no gross error."""
    x = np.array([10.0] * 4 + [80.0] * 4)
    y = x - 0.2
    y[0] += 0.01
    assert find_outliers(x, y, np.full(8, 0.0115)) == ()


@pytest.mark.parametrize("count", [1, 2, 3])
def test_too_few_readings_name_none(count: int) -> None:
    x = np.array([10.0, 80.0, 80.0])[:count]
    y = np.array([9.8, 79.8, 70.0])[:count]
    assert find_outliers(x, y, np.full(count, 0.02)) == ()


def test_known_slope_needs_no_second_size() -> None:
    y = np.array([9.80, 9.81, 9.79, 9.10])
    assert find_outliers(np.full(4, 10.0), y, np.full(4, 0.01), slope=1.0) == (3,)


def test_distances_agree_with_fits_without_the_point() -> None:
    """Inside, by the variance of a residual; outside, by that of a prediction.

    R. D. Cook and S. Weisberg, Residuals and Influence in Regression, 1982, chapter 2. Both are
    computed here from numpy's own fit and its covariance, the scatter being at least 1.
    """
    random = default_rng(4)
    x = np.array([1.0, 1.2, 1.1, 8.0, 8.3, 20.0, 2.0])
    y = 3.0 + 2.0 * x + random.normal(0.0, 2.0, 7)
    inside = np.array([0, 1, 3, 4, 5])
    coefficients, unit = np.polyfit(x[inside], y[inside], 1, cov="unscaled")
    residuals = y - np.polyval(coefficients, x)
    spread = max(1.0, float(np.sqrt((residuals[inside] ** 2).sum() / 3)))
    basis = np.column_stack([x, np.ones(7)])
    of_line = np.array([row @ unit @ row for row in basis])
    variance = np.where(np.isin(np.arange(7), inside), 1.0 - of_line, 1.0 + of_line)
    found = distances_from(np.column_stack([np.ones(7), x]), y, inside)
    assert found == pytest.approx(np.abs(residuals) / (spread * np.sqrt(variance)))
