"""Between the photograph and the plane of the disc.

The rim's ellipse leaves two numbers of the perspective open: where inside it the disc's centre
lies. They are kept as ``shift``, the centre's place in the plane in which the ellipse has become
the unit circle. The maps of the unit circle onto itself that take the origin to ``shift`` without
turning are the boosts of the Klein model of the hyperbolic plane (Hartley & Zisserman, Multiple
View Geometry, 2nd ed., 2.4: the projective maps that keep a conic).

In the plane of the disc the centre is the origin, the rim the unit circle, x right, y up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from jobprep.measuring.ellipse_fit import Ellipse
from jobprep.measuring.measured import Floats
from jobprep.measuring.plane_map import apply_map


@dataclass(frozen=True, slots=True)
class DiscPlane:
    """The map between a disc and its photograph."""

    ellipse: Ellipse
    shift: tuple[float, float] = (0.0, 0.0)

    @property
    def pixels(self) -> float:
        """Working pixels per disc radius, on the average."""
        return math.sqrt(math.prod(self.ellipse.semi_axes))

    @property
    def matrix(self) -> Floats:
        """Projective map from the disc's plane to the photograph."""
        flat = np.eye(3)
        flat[:2, :2] = self.ellipse.matrix
        flat[:2, 2] = self.ellipse.centre
        return np.asarray(flat @ boost(self.shift) @ np.diag([1.0, -1.0, 1.0]))

    def to_picture(self, points: ArrayLike) -> Floats:
        """Map (..., 2) points of the disc's plane to the photograph."""
        return apply_map(self.matrix, points)

    def from_picture(self, points: ArrayLike) -> Floats:
        """Map (..., 2) points of the photograph to the disc's plane."""
        return apply_map(np.linalg.inv(self.matrix), points)

    def moved(self, step: ArrayLike) -> DiscPlane:
        """Return the plane with its centre moved by a small ``step`` (disc plane, y up)."""
        x, y = np.asarray(step, dtype=np.float64)
        target = apply_map(boost(self.shift), np.array([x, -y]))
        return DiscPlane(self.ellipse, (float(target[0]), float(target[1])))


def boost(shift: tuple[float, float]) -> Floats:
    """Return the map (3, 3) that keeps the unit circle and takes the origin to ``shift``.

    Raises ``ValueError`` for a shift that is not inside the unit circle.
    """
    v = np.asarray(shift, dtype=np.float64)
    square = float(v @ v)
    if square >= 1.0:
        raise ValueError("the disc's centre lies outside its rim")
    gamma = 1.0 / math.sqrt(1.0 - square)
    matrix = np.eye(3)
    matrix[:2, :2] = np.eye(2) / gamma + gamma / (1.0 + gamma) * np.outer(v, v)
    matrix[:2, 2] = matrix[2, :2] = v
    return matrix


def polar(radii: Floats, directions: Floats) -> Floats:
    """Return points (len(radii), len(directions), 2) of the disc's plane."""
    return np.stack(
        [np.outer(radii, np.cos(directions)), np.outer(radii, np.sin(directions))], axis=-1
    )
