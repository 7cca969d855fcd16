"""Circles through scattered points.

``fit_circle`` is the one to use: it minimises the orthogonal distances and gives uncertainties.
The algebraic fit is its start: it minimises ``A (x² + y²) + B x + C y + D`` under a side
condition, which makes it fast and, on short arcs, a little wrong.

Sources: W. Gander, G. H. Golub, R. Strebel, BIT 34 (1994) 558-578 (geometric fit);
G. Taubin, IEEE Trans. PAMI 13 (1991) 1115-1138. Points are (n, 2) in any one unit of length.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from jobprep.geometry.outline import Point
from jobprep.measuring.measured import Floats, Measured, student_factor
from jobprep.units import TURN, from_degrees

SHORT_ARC = from_degrees(120.0)
"""Below this span the radius depends on the sagitta alone; `common practice, no source`."""

_STEPS = 200
_SETTLED = 1e-11


class Circle(NamedTuple):
    """A circle."""

    centre: Point
    radius: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CircleFit:
    """A fitted circle.

    ``covariance`` is that of (centre x, centre y, radius), widened for few points; ``spread`` the
    standard deviation of a point's distance from the circle; ``span`` the angle about the centre
    that the points reach over (a full turn less their largest gap); ``degrees_of_freedom`` those
    of the spread.
    """

    circle: Circle
    covariance: tuple[tuple[float, float, float], ...]
    spread: float
    span: float
    degrees_of_freedom: int

    @property
    def radius(self) -> Measured:
        """Radius and its uncertainty."""
        return Measured(self.circle.radius, math.sqrt(self.covariance[2][2]))

    @property
    def centre_uncertainty(self) -> float:
        """Standard uncertainty of the centre, along its worst direction."""
        (xx, xy, _), (_, yy, _), _ = self.covariance
        return math.sqrt((xx + yy) / 2.0 + math.hypot((xx - yy) / 2.0, xy))

    @property
    def is_short_arc(self) -> bool:
        """Whether the points span too little of the circle to trust its radius and centre."""
        return self.span < SHORT_ARC


def fit_circle(points: ArrayLike, noise: float | None = None) -> CircleFit:
    """Fit the circle of least squared orthogonal distances.

    Parameters
    ----------
    points
        (n, 2), at least three, not on one line.
    noise
        Standard uncertainty of a point's place, if it is known from elsewhere; without it the
        points' own spread is taken, and three points leave the uncertainty infinite.

    Raises
    ------
    ValueError
        Fewer than three different points, or all on one line.
    """
    xy = _checked(points)
    start = taubin_circle(xy)
    centre, radius = _levenberg(xy, start)
    offsets = xy - centre
    distances = np.hypot(offsets[:, 0], offsets[:, 1])
    residuals = distances - radius
    freedom = len(xy) - 3
    jacobian = -np.column_stack([offsets / distances[:, None], np.ones(len(xy))])
    spread = math.sqrt(float(residuals @ residuals) / freedom) if freedom else math.nan
    if noise is not None:
        sigma = noise
    elif freedom:
        sigma = spread * student_factor(freedom)
    else:
        sigma = math.inf
    try:
        unit = np.linalg.inv(jacobian.T @ jacobian)
    except np.linalg.LinAlgError:
        raise ValueError("the points do not determine a circle") from None
    covariance = [[_times(sigma, float(value)) for value in row] for row in unit]
    return CircleFit(
        circle=Circle(Point(float(centre[0]), float(centre[1])), float(radius)),
        covariance=tuple((row[0], row[1], row[2]) for row in covariance),
        spread=spread,
        span=_span(offsets),
        degrees_of_freedom=freedom,
    )


def taubin_circle(points: ArrayLike) -> Circle:
    """Fit with the mean squared gradient of the algebraic distance held at 1 (Taubin 1991).

    Raises ``ValueError`` as ``fit_circle`` does.
    """
    xy, mean, scale = _normalised(_checked(points))
    square = (xy**2).sum(axis=1)
    side = np.zeros((4, 4))
    side[0, 0] = 4.0 * float(square.mean())
    side[0, 1:3] = side[1:3, 0] = 2.0 * xy.mean(axis=0)
    side[1, 1] = side[2, 2] = 1.0
    # Minimise |Z a|² / (a' N a) for this side condition N, by one symmetric eigenproblem.
    design = np.column_stack([square, xy, np.ones(len(xy))])
    _, singular, basis = np.linalg.svd(design, full_matrices=len(xy) < 4)
    if len(singular) < 4 or singular[-1] < 1e-12 * singular[0]:  # all points on one circle
        found = basis[3]
    else:
        whitened = basis.T / singular
        found = whitened @ np.linalg.eigh(whitened.T @ side @ whitened)[1][:, -1]
    a, b, c, d = found
    if abs(a) < 1e-14:
        raise ValueError("the points lie on one line")
    root = math.sqrt(max(b * b + c * c - 4 * a * d, 0.0))
    x, y = np.array([-b, -c]) / (2 * a) * scale + mean
    return Circle(Point(float(x), float(y)), float(root / (2 * abs(a)) * scale))


def _levenberg(xy: Floats, start: Circle) -> tuple[Floats, float]:
    """Gauss-Newton with Levenberg's damping on (centre x, centre y, radius)."""
    values = np.array([*start.centre, start.radius])
    damping = 1e-3
    offsets = xy - values[:2]
    distances = np.hypot(offsets[:, 0], offsets[:, 1])
    for _ in range(_STEPS):
        residuals = distances - values[2]
        jacobian = -np.column_stack(
            [offsets / np.maximum(distances, 1e-300)[:, None], np.ones(len(xy))]
        )
        normal = jacobian.T @ jacobian
        lifted = normal + damping * np.diag(np.diag(normal))
        try:
            step = np.linalg.solve(lifted, -jacobian.T @ residuals)
        except np.linalg.LinAlgError:
            raise ValueError("the points do not determine a circle") from None
        trial = values + step
        offsets_trial = xy - trial[:2]
        distances_trial = np.hypot(offsets_trial[:, 0], offsets_trial[:, 1])
        before, after = residuals @ residuals, ((distances_trial - trial[2]) ** 2).sum()
        if after <= before:
            values, offsets, distances = trial, offsets_trial, distances_trial
            damping /= 10.0
        else:
            damping *= 10.0
        if np.abs(step).max() <= _SETTLED * max(abs(values[2]), 1e-300):
            break
    return values[:2], float(values[2])


def _checked(points: ArrayLike | Sequence[Point]) -> Floats:
    xy = np.asarray(points, dtype=np.float64)
    if xy.ndim != 2 or xy.shape[1] != 2 or len(np.unique(xy, axis=0)) < 3:
        raise ValueError("a circle needs at least three different points")
    singular = np.linalg.svd(xy - xy.mean(axis=0), compute_uv=False)
    if singular[1] < 1e-9 * singular[0]:
        raise ValueError("the points lie on one line")
    return xy


def _normalised(xy: Floats) -> tuple[Floats, Floats, float]:
    """Shift the mean to the origin and the mean distance to 1, to lose fewer digits."""
    mean = xy.mean(axis=0)
    moved = xy - mean
    scale = float(np.hypot(moved[:, 0], moved[:, 1]).mean())
    return moved / scale, mean, scale


def _span(offsets: Floats) -> float:
    """Return a full turn less the largest gap between neighbouring directions."""
    directions = np.sort(np.arctan2(offsets[:, 1], offsets[:, 0]))
    gaps = np.diff(np.append(directions, directions[0] + TURN))
    return float(TURN - gaps.max())


def _times(sigma: float, value: float) -> float:
    return sigma * sigma * value if math.isfinite(sigma) else (math.inf if value > 0 else 0.0)
