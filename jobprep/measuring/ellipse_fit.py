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
_SETTLED = 1e-10


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
    (centre,), (matrix,) = direct_ellipses(xy[None])
    if not np.isfinite(matrix).all():
        raise ValueError("no ellipse fits the points: they lie on a line or an open curve")
    return ellipse_of(centre, matrix)


def direct_ellipses(points: Floats) -> tuple[Floats, Floats]:
    """Fit many ellipses at once, each to its points: (m, n, 2), n at least five.

    Returns the centres (m, 2) and the matrices S (m, 2, 2); NaN where no proper ellipse fits.
    """
    mean = points.mean(axis=1, keepdims=True)
    scale = np.abs(points - mean).max(axis=(1, 2))
    scale[scale == 0.0] = 1.0
    x, y = np.moveaxis((points - mean) / scale[:, None, None], -1, 0)
    quadratic = np.stack([x * x, x * y, y * y], axis=-1)
    linear = np.stack([x, y, np.ones_like(x)], axis=-1)
    turned = quadratic.swapaxes(1, 2)
    s1, s2, s3 = turned @ quadratic, turned @ linear, linear.swapaxes(1, 2) @ linear
    good = np.linalg.matrix_rank(s3, hermitian=True) == 3
    s3[~good] = np.eye(3)
    reduction = -np.linalg.solve(s3, s2.swapaxes(1, 2))
    reduced = s1 + s2 @ reduction
    constrained = np.stack([reduced[:, 2] / 2.0, -reduced[:, 1], reduced[:, 0] / 2.0], axis=1)
    vectors = np.real(np.linalg.eig(constrained)[1])
    discriminant = 4.0 * vectors[:, 0] * vectors[:, 2] - vectors[:, 1] ** 2
    best = np.argmax(discriminant, axis=1)
    rows = np.arange(len(points))
    good &= discriminant[rows, best] > 0.0
    first = vectors[rows, :, best]
    centres, matrices = _from_conics(first, (reduction @ first[..., None])[..., 0])
    centres = centres * scale[:, None] + mean[:, 0]
    matrices = matrices * scale[:, None, None]
    matrices[~good] = np.nan
    return centres, matrices


def ellipse_of(centre: Floats, matrix: Floats) -> Ellipse:
    """Return the ellipse of a centre (2,) and a matrix S (2, 2)."""
    return Ellipse(
        Point(float(centre[0]), float(centre[1])),
        (float(matrix[0, 0]), float(matrix[0, 1]), float(matrix[1, 1])),
    )


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
    """Fit an ellipse with axes along x and y: a circle seen with unequal scales.

    Raises ``ValueError`` as ``fit_circle`` does, or where the fit does not settle.
    """
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
        settled = np.abs(step).max() <= _SETTLED * scale
        if trial.semi_axes[1] > 1e-6 * scale:
            residuals_trial, jacobian_trial = _residuals(trial, xy)
            if weight @ residuals_trial**2 <= weight @ residuals**2:
                ellipse, residuals, jacobian = trial, residuals_trial, jacobian_trial
                damping /= 10.0
                if settled:
                    break
                continue
        if settled or damping > 1e12:  # a step this small fails by rounding alone
            break
        damping *= 10.0
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


def _from_conics(quadratic: Floats, linear: Floats) -> tuple[Floats, Floats]:
    """Turn conic coefficients, twice (m, 3), into centres and S; NaN where it is no ellipse."""
    a, half, c = quadratic[:, 0], quadratic[:, 1] / 2.0, quadratic[:, 2]
    form = np.stack([np.stack([a, half], -1), np.stack([half, c], -1)], axis=1)
    proper = np.abs(np.linalg.det(form)) > 1e-300
    form[~proper] = np.eye(2)
    centre = np.linalg.solve(form, -linear[:, :2, None] / 2.0)[..., 0]
    level = np.einsum("mi,mij,mj->m", centre, form, centre) - linear[:, 2]
    level[level == 0.0] = np.nan
    form /= level[:, None, None]
    proper &= np.isfinite(form).all(axis=(1, 2))
    form[~proper] = np.eye(2)
    values, axes = np.linalg.eigh(form)
    proper &= (values > 0.0).all(axis=1)
    shrunk = axes / np.sqrt(np.where(values > 0.0, values, 1.0))[:, None, :]
    shape = shrunk @ axes.swapaxes(1, 2)
    shape[~proper] = np.nan
    return centre, shape
