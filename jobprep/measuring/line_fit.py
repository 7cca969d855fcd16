"""A straight line through weighted points, with its uncertainty.

Source: JCGM 100:2008 (GUM), H.3, with weights as in any text on least squares. Points are given
as (n,) arrays, y in one unit with its standard uncertainties.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from jobprep.measuring.measured import Floats, Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class LineFit:
    """The line ``y = intercept + slope · x``.

    ``covariance`` is that of (intercept, slope) from the points' own scatter, not widened for few
    points; infinite where no degree of freedom is left. ``spread`` is the standard deviation of a
    point in units of its given uncertainty. ``weights`` (n,) hold what each y adds to the
    intercept, ``slope_weights`` to the slope.
    """

    intercept: float
    slope: float
    covariance: tuple[tuple[float, float], tuple[float, float]]
    spread: float
    degrees_of_freedom: int
    weights: tuple[float, ...]
    slope_weights: tuple[float, ...]

    def at(self, x: float) -> Measured:
        """Return the line at ``x`` with its standard uncertainty (GUM H.3.4, equation H.16)."""
        (aa, ab), (_, bb) = self.covariance
        variance = aa + 2.0 * x * ab + x * x * bb
        return Measured(self.intercept + self.slope * x, math.sqrt(max(variance, 0.0)))


def fit_line(
    x: ArrayLike, y: ArrayLike, uncertainty: ArrayLike | None = None, slope: float | None = None
) -> LineFit:
    """Fit a line by least squares, each point weighted with 1 / uncertainty².

    Parameters
    ----------
    x, y
        (n,) points.
    uncertainty
        (n,) standard uncertainties of y; only their ratios count for the line. All alike if None.
    slope
        The slope where it is known; then only the intercept is fitted.

    Raises
    ------
    ValueError
        When there are too few points, or all have the same x and the slope is not given.
    """
    xs, ys = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    us = np.ones_like(xs) if uncertainty is None else np.asarray(uncertainty, dtype=np.float64)
    design, target = design_of(xs, ys, slope)
    gain = _gain(design, us)
    coefficients = gain @ target
    residuals = (target - design @ coefficients) / us
    freedom = len(xs) - design.shape[1]
    spread = math.sqrt(float(residuals @ residuals) / freedom) if freedom else math.inf
    root = gain * us
    with np.errstate(invalid="ignore"):
        covariance = np.nan_to_num((root @ root.T) * spread**2, nan=0.0, posinf=np.inf)
    if slope is not None:
        return LineFit(
            intercept=float(coefficients[0]),
            slope=slope,
            covariance=((float(covariance[0, 0]), 0.0), (0.0, 0.0)),
            spread=spread,
            degrees_of_freedom=freedom,
            weights=_floats(gain[0]),
            slope_weights=(0.0,) * len(xs),
        )
    (aa, ab), (_, bb) = covariance.tolist()
    return LineFit(
        intercept=float(coefficients[0]),
        slope=float(coefficients[1]),
        covariance=((aa, ab), (ab, bb)),
        spread=spread,
        degrees_of_freedom=freedom,
        weights=_floats(gain[0]),
        slope_weights=_floats(gain[1]),
    )


def design_of(x: Floats, y: Floats, slope: float | None) -> tuple[Floats, Floats]:
    """Return the design matrix (n, 2), or (n, 1) where the slope is known, and its target (n,)."""
    if slope is not None:
        return np.ones((len(x), 1)), y - slope * x
    return np.column_stack([np.ones(len(x)), x]), y


def _gain(design: Floats, uncertainty: Floats) -> Floats:
    """Return the matrix that takes y to the coefficients."""
    count, wanted = design.shape
    if count < wanted:
        raise ValueError(f"{count} points do not determine {wanted} coefficients")
    scaled = design / uncertainty[:, None]
    if np.linalg.matrix_rank(scaled) < wanted:
        raise ValueError("all points have the same x, so the slope is not determined")
    return np.linalg.pinv(scaled) / uncertainty


def _floats(values: Floats) -> tuple[float, ...]:
    listed: Sequence[float] = values.tolist()
    return tuple(listed)
