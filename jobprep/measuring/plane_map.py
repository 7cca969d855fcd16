"""Maps between a flat thing and its picture.

A projective map is a (3, 3) matrix acting on (x, y, 1). Source: R. Hartley, A. Zisserman,
Multiple View Geometry in Computer Vision, 2nd ed. (2004), sections 2.3 and 4.1 (direct linear
transformation with normalised coordinates).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from jobprep.measuring.measured import Floats


def projective_map(sources: ArrayLike, targets: ArrayLike) -> Floats:
    """Return the map that takes four or more source points to their targets, least squares.

    Raises
    ------
    ValueError
        Fewer than four points, or three of four on one line.
    """
    source, target = np.asarray(sources, dtype=np.float64), np.asarray(targets, dtype=np.float64)
    if len(source) < 4:
        raise ValueError("a perspective needs four reference points")
    before, after = _normaliser(source), _normaliser(target)
    p, q = apply_map(before, source), apply_map(after, target)
    one, zero = np.ones(len(p)), np.zeros((len(p), 3))
    home = np.column_stack([p, one])
    rows = np.vstack(
        [
            np.hstack([home, zero, -q[:, :1] * home]),
            np.hstack([zero, home, -q[:, 1:] * home]),
        ]
    )
    _, singular, basis = np.linalg.svd(rows)
    if singular[7] < 1e-9 * singular[0]:
        raise ValueError("three of the reference points lie on one line")
    return np.asarray(np.linalg.inv(after) @ basis[-1].reshape(3, 3) @ before)


def apply_map(matrix: Floats, points: ArrayLike) -> Floats:
    """Map (..., 2) points."""
    xy = np.asarray(points, dtype=np.float64)
    mapped = xy @ matrix[:, :2].T + matrix[:, 2]
    return np.asarray(mapped[..., :2] / mapped[..., 2:])


def _normaliser(points: Floats) -> Floats:
    """Return the map that brings points to mean 0 and mean distance 1, to lose fewer digits."""
    mean = points.mean(axis=0)
    size = float(np.hypot(*(points - mean).T).mean()) or 1.0
    return np.array([[1 / size, 0, -mean[0] / size], [0, 1 / size, -mean[1] / size], [0, 0, 1.0]])
