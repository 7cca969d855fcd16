"""Readings that do not belong to the line of the others.

A gross error pulls a least-squares line towards itself and so hides; two of them hide each other.
The search therefore starts from the three quarters that agree best and lets the others in one by
one. A cluster of more than a quarter of the readings passes for a truth of its own.

Sources: P. J. Rousseeuw, J. Am. Stat. Assoc. 79 (1984) 871-880 (least trimmed squares);
A. S. Hadi and J. S. Simonoff, J. Am. Stat. Assoc. 88 (1993) 1264-1272 (letting in one by one);
both from memory.
"""

from __future__ import annotations

import itertools
import math

import numpy as np

from jobprep.measuring.line_fit import design_of
from jobprep.measuring.measured import Floats

LEVEL = 0.05
"""Chance of calling some reading of a clean set an outlier (common practice, no source)."""

_MOST_PAIRS = 4000
"""Lines tried for the start: all of them up to 90 readings, then an even selection."""


def find_outliers(
    x: Floats, y: Floats, uncertainty: Floats, slope: float | None = None
) -> tuple[int, ...]:
    """Return the indices of the points that do not belong to the line of the others.

    The scatter is taken from the points, but not below their given ``uncertainty``. At least two
    points more than the line needs are needed to judge: with fewer, none is named.
    """
    design, target = design_of(x, y, slope)
    design, target = design / uncertainty[:, None], target / uncertainty
    count, wanted = design.shape
    if count < wanted + 2:
        return ()
    inside = _start(design, target)
    while len(inside) < count:
        distances = distances_from(design, target, inside)
        order = np.argsort(distances, kind="stable")
        size = len(inside)
        limit = student_quantile(1.0 - LEVEL / (2.0 * (size + 1)), size - wanted)
        if distances[order[size]] > limit:
            return tuple(sorted(int(i) for i in np.nonzero(distances > limit)[0]))
        inside = order[: size + 1]
    return ()


def student_quantile(probability: float, degrees_of_freedom: int) -> float:
    """Return Student's t below which ``probability`` (above 0.5) of the distribution lies.

    Source: Abramowitz & Stegun 26.7.3 and 26.7.4, solved by halving.
    """
    low, high = 0.0, 0.5 * math.pi
    for _ in range(60):
        middle = 0.5 * (low + high)
        if _central(middle, degrees_of_freedom) < 2.0 * probability - 1.0:
            low = middle
        else:
            high = middle
    return math.sqrt(degrees_of_freedom) * math.tan(0.5 * (low + high))


def _central(angle: float, degrees_of_freedom: int) -> float:
    """Return the probability that Student's t lies within ± √degrees of freedom · tan(angle)."""
    sine, cosine = math.sin(angle), math.cos(angle)
    odd = degrees_of_freedom % 2
    term = cosine if odd else 1.0
    total = 0.0 if degrees_of_freedom == 1 else term
    for k in range(3 if odd else 2, degrees_of_freedom - 1, 2):
        term *= (k - 1) / k * cosine**2
        total += term
    return (angle + sine * total) * 2.0 / math.pi if odd else sine * total


def _start(design: Floats, target: Floats) -> Floats:
    """Return the indices of the three quarters that lie closest to some line through points."""
    count, wanted = design.shape
    size = max((count + wanted + 1) // 2, math.ceil(0.75 * count))
    subsets = list(itertools.combinations(range(count), wanted))
    best, order = math.inf, np.arange(count)
    for subset in subsets[:: len(subsets) // _MOST_PAIRS + 1]:
        rows = design[list(subset)]
        if np.linalg.matrix_rank(rows) < wanted:
            continue
        squares = (target - design @ np.linalg.solve(rows, target[list(subset)])) ** 2
        ascending = np.argsort(squares, kind="stable")
        trimmed = float(squares[ascending[:size]].sum())
        if trimmed < best:
            best, order = trimmed, ascending
    for longer in range(size, count):  # all of them at the latest
        if np.linalg.matrix_rank(design[order[:longer]]) == wanted:
            return order[:longer]
    return order


def distances_from(design: Floats, target: Floats, inside: Floats) -> Floats:
    """Return how far each point lies from the line of those inside, in its own uncertainty.

    A point inside is judged by its studentised residual, one outside by its error of prediction.
    """
    count, wanted = design.shape
    inner = design[inside]
    unit = np.linalg.inv(inner.T @ inner)
    residuals = target - design @ (unit @ inner.T @ target[inside])
    spread = math.sqrt(float(residuals[inside] @ residuals[inside]) / (len(inside) - wanted))
    leverage = np.einsum("ij,jk,ik->i", design, unit, design)
    sign = np.ones(count)
    sign[inside] = -1.0
    variance = np.maximum(1.0 + sign * leverage, 1e-9)
    distances: Floats = np.abs(residuals) / (max(spread, 1.0) * np.sqrt(variance))
    return distances
