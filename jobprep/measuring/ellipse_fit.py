"""Ellipses through scattered points: the image of a disc's rim under a tilted camera.

An ellipse is kept as ``centre + S u`` with ``u`` on the unit circle and ``S`` symmetric and
positive. ``S`` has no trouble near a circle, where an axis direction means nothing, and it is the
map that takes the tilt away: a tilted disc is squeezed along one direction, without turning.

Sources: A. Fitzgibbon, M. Pilu, R. Fisher, IEEE Trans. PAMI 21 (1999) 476-480 in the stable form of
R. Halíř and J. Flusser (WSCG 1998) for the start; Gander, Golub & Strebel, BIT 34 (1994) 558-578
for the geometric fit. Points are (n, 2).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from jobprep.geometry.outline import Point
from jobprep.measuring.circle_fit import taubin_circle
from jobprep.measuring.measured import Floats

_STEPS = 100


class Ellipse(NamedTuple):
    """An ellipse as ``centre + S u``; ``shape`` is (S_xx, S_xy, S_yy)."""

    centre: Point
    shape: tuple[float, float, float]

    @property
    def matrix(self) -> Floats:
        """The symmetric 2 × 2 matrix S."""
        xx, xy, yy = self.shape
        return np.array([[xx, xy], [xy, yy]])

    @property
    def semi_axes(self) -> tuple[float, float]:
        """Half the longest and the shortest diameter."""
        xx, xy, yy = self.shape
        mean, half = (xx + yy) / 2.0, math.hypot((xx - yy) / 2.0, xy)
        return mean + half, mean - half

    def at(self, angles: Floats) -> Floats:
        """Return the (n, 2) images of the unit circle's points at ``angles``."""
        unit = np.column_stack([np.cos(angles), np.sin(angles)])
        return np.asarray(np.asarray(self.centre) + unit @ self.matrix)


@dataclass(frozen=True, slots=True, kw_only=True)
class EllipseFit:
    """A fitted ellipse.

    ``covariance`` (5 × 5) is that of centre x, centre y, S_xx, S_xy, S_yy; ``spread`` the standard
    deviation of a point's distance from the ellipse.
    """

    ellipse: Ellipse
    covariance: Floats
    spread: float


def direct_ellipse(points: ArrayLike) -> Ellipse:
    """Fit by direct least squares on the general conic, held to be an ellipse.

    Raises
    ------
    ValueError
        Fewer than five points, or none of the conics through them is a proper ellipse.
    """
    xy = np.asarray(points, dtype=np.float64)
    if xy.ndim != 2 or xy.shape[1] != 2 or len(xy) < 5:
        raise ValueError("an ellipse needs at least five points")
    mean = xy.mean(axis=0)
    scale = float(np.abs(xy - mean).max()) or 1.0
    x, y = ((xy - mean) / scale).T
    quadratic = np.column_stack([x * x, x * y, y * y])
    linear = np.column_stack([x, y, np.ones_like(x)])
    s1, s2, s3 = quadratic.T @ quadratic, quadratic.T @ linear, linear.T @ linear
    try:
        reduction = -np.linalg.solve(s3, s2.T)
    except np.linalg.LinAlgError:
        raise ValueError("the points lie on one line") from None
    reduced = s1 + s2 @ reduction
    constrained = np.array([reduced[2] / 2.0, -reduced[1], reduced[0] / 2.0])
    vectors = np.real(np.linalg.eig(constrained)[1])
    discriminant = 4.0 * vectors[0] * vectors[2] - vectors[1] ** 2
    if not (discriminant > 0.0).any():
        raise ValueError("no ellipse fits the points")
    first = vectors[:, int(np.argmax(discriminant))]
    return _from_conic(first, reduction @ first, mean, scale)


def fit_ellipse(
    points: ArrayLike, weights: ArrayLike | None = None, start: Ellipse | None = None
) -> EllipseFit:
    """Fit the ellipse of least (weighted) squared orthogonal distances.

    Raises
    ------
    ValueError
        As ``direct_ellipse``, or the fit does not settle on a proper ellipse.
    """
    xy = np.asarray(points, dtype=np.float64)
    weight = np.ones(len(xy)) if weights is None else np.asarray(weights, dtype=np.float64)
    return _fitted(xy, weight, start or direct_ellipse(xy), free=[0, 1, 2, 3, 4])


def fit_upright_ellipse(points: ArrayLike) -> EllipseFit:
    """Fit an ellipse with axes along x and y: a circle seen with unequal scales."""
    xy = np.asarray(points, dtype=np.float64)
    centre, radius = taubin_circle(xy)
    start = Ellipse(centre, (radius, 0.0, radius))
    return _fitted(xy, np.ones(len(xy)), start, free=[0, 1, 2, 4])


def _fitted(xy: Floats, weight: Floats, ellipse: Ellipse, free: list[int]) -> EllipseFit:
    """Gauss-Newton with Levenberg's damping on the ``free`` ones of the five parameters."""
    scale = ellipse.semi_axes[0]
    damping = 1e-4
    residuals, jacobian = _residuals(ellipse, xy)
    for _ in range(_STEPS):
        weighted = jacobian[:, free] * weight[:, None]
        normal = jacobian[:, free].T @ weighted
        lifted = normal + damping * np.diag(np.diag(normal))
        step = np.zeros(5)
        try:
            step[free] = np.linalg.solve(lifted, -weighted.T @ residuals)
        except np.linalg.LinAlgError:
            raise ValueError("the points do not determine an ellipse") from None
        trial = _moved(ellipse, step)
        if trial.semi_axes[1] > 1e-6 * scale:
            residuals_trial, jacobian_trial = _residuals(trial, xy)
            if weight @ residuals_trial**2 <= weight @ residuals**2:
                ellipse, residuals, jacobian = trial, residuals_trial, jacobian_trial
                damping /= 10.0
                if np.abs(step).max() <= 1e-12 * scale:
                    break
                continue
        damping *= 10.0
        if damping > 1e12:
            break
    freedom = max(float(weight.sum()) - len(free), 0.0)
    variance = float(weight @ residuals**2) / freedom if freedom > 0 else math.inf
    unit = np.linalg.pinv(jacobian[:, free].T @ (jacobian[:, free] * weight[:, None]))
    covariance = np.zeros((5, 5))
    covariance[np.ix_(free, free)] = unit * variance if math.isfinite(variance) else math.inf
    return EllipseFit(
        ellipse=ellipse,
        covariance=covariance,
        spread=math.sqrt(variance),
    )


def signed_distances(ellipse: Ellipse, points: ArrayLike) -> Floats:
    """Return the orthogonal distances of points from an ellipse, positive outside."""
    return _residuals(ellipse, np.asarray(points, dtype=np.float64))[0]


def _residuals(ellipse: Ellipse, xy: Floats) -> tuple[Floats, Floats]:
    """Return signed distances and their derivatives by centre and S.

    The foot point may move along the curve without changing the distance, so its parameter
    counts as fixed.
    """
    lengths, axes = np.linalg.eigh(ellipse.matrix)
    local = (xy - np.asarray(ellipse.centre)) @ axes
    unit_local = _foot(local, lengths)
    unit = unit_local @ axes.T
    normal = (unit_local / lengths) @ axes.T
    normal /= np.hypot(normal[:, 0], normal[:, 1])[:, None]
    foot = np.asarray(ellipse.centre) + unit @ ellipse.matrix
    residuals = ((xy - foot) * normal).sum(axis=1)
    jacobian = -np.column_stack(
        [
            normal,
            normal[:, 0] * unit[:, 0],
            normal[:, 0] * unit[:, 1] + normal[:, 1] * unit[:, 0],
            normal[:, 1] * unit[:, 1],
        ]
    )
    return residuals, jacobian


def _foot(local: Floats, lengths: Floats) -> Floats:
    """Return unit-circle points whose images are nearest, in the principal frame.

    With semi-axes b <= a the nearest point is (a² x / (s + a²), b² y / (s + b²)), s the largest
    root of a function that is convex there, so Newton from its left end is monotone.
    """
    b, a = lengths
    y, x = np.abs(local).T
    root = -b * b + b * y
    floor = 1e-12 * a * a  # at the centre of a circle every direction is nearest
    for _ in range(60):
        far, near = np.maximum(root + a * a, floor), np.maximum(root + b * b, floor)
        along, across = a * x / far, b * y / near
        value = along**2 + across**2 - 1.0
        slope = along**2 / far + across**2 / near
        step = value / np.maximum(2.0 * slope, 1e-12 / (a * a))
        root = np.maximum(root + step, -b * b)
        if np.abs(step).max() <= 1e-13 * a * a:
            break
    along = a * x / np.maximum(root + a * a, floor)
    across = np.sqrt(np.maximum(1.0 - np.minimum(along, 1.0) ** 2, 0.0))
    unit = np.column_stack([np.copysign(across, local[:, 0]), np.copysign(along, local[:, 1])])
    return np.asarray(unit / np.hypot(unit[:, 0], unit[:, 1])[:, None])


def _moved(ellipse: Ellipse, step: Floats) -> Ellipse:
    x, y, xx, xy, yy = (float(value) for value in step)
    centre, shape = ellipse
    return Ellipse(Point(centre.x + x, centre.y + y), (shape[0] + xx, shape[1] + xy, shape[2] + yy))


def _from_conic(quadratic: Floats, linear: Floats, mean: Floats, scale: float) -> Ellipse:
    """Turn conic coefficients in shifted and scaled coordinates into centre and S."""
    form = np.array([[quadratic[0], quadratic[1] / 2.0], [quadratic[1] / 2.0, quadratic[2]]])
    centre = np.linalg.solve(form, -linear[:2] / 2.0)
    level = float(centre @ form @ centre - linear[2])
    values, axes = np.linalg.eigh(form / level)
    if not (values > 0.0).all():
        raise ValueError("no ellipse fits the points")
    shape = (axes / np.sqrt(values)) @ axes.T * scale
    place = centre * scale + mean
    return Ellipse(
        Point(float(place[0]), float(place[1])),
        (float(shape[0, 0]), float(shape[0, 1]), float(shape[1, 1])),
    )
