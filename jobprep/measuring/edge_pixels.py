"""The pixels of a picture where colours change most, and which way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from jobprep.measuring.measured import Floats

MOST_EDGES = 9000
"""Stronger edges than these are enough to find a disc by."""


@dataclass(frozen=True, slots=True)
class EdgePixels:
    """Edge pixels: places (n, 2), unit normals (n, 2), strengths (n,).

    ``weights`` (n,), 0..1, say how far each stands out from the edges of a textured ground.
    """

    places: Floats
    normals: Floats
    strengths: Floats
    weights: Floats

    def chosen(self, mask: Floats) -> EdgePixels:
        """Return those that a mask (n,) chooses."""
        return EdgePixels(
            self.places[mask], self.normals[mask], self.strengths[mask], self.weights[mask]
        )


def strong_edges(small: Floats) -> EdgePixels:
    """Return thinned edge pixels by the largest eigenvalue of the colour structure tensor.

    Source: S. Di Zenzo, Computer Vision, Graphics, and Image Processing 33 (1986) 116-125.
    """
    from scipy import ndimage

    soft = ndimage.gaussian_filter(small, (1.2, 1.2, 0))
    dx, dy = ndimage.sobel(soft, axis=1) / 8.0, ndimage.sobel(soft, axis=0) / 8.0
    xx, yy, xy = (dx * dx).sum(axis=2), (dy * dy).sum(axis=2), (dx * dy).sum(axis=2)
    strength = np.sqrt((xx + yy) / 2.0 + np.hypot((xx - yy) / 2.0, xy))
    direction = 0.5 * np.arctan2(2.0 * xy, xx - yy)
    nx, ny = np.cos(direction), np.sin(direction)
    rows, columns = np.indices(strength.shape, dtype=np.float64)
    ahead = ndimage.map_coordinates(strength, [rows + ny, columns + nx], order=1, mode="nearest")
    behind = ndimage.map_coordinates(strength, [rows - ny, columns - nx], order=1, mode="nearest")
    floor = max(0.006, 2.5 * float(np.median(strength)))
    ridge = (strength >= ahead) & (strength > behind) & (strength > floor)
    ridge[:2], ridge[-2:], ridge[:, :2], ridge[:, -2:] = False, False, False, False
    where = np.argwhere(ridge)
    if len(where) > MOST_EDGES:
        order = np.argsort(strength[ridge])[::-1][:MOST_EDGES]
        where = where[np.sort(order)]
    y, x = where.T
    strengths = strength[y, x].astype(np.float64)
    ordinary = float(np.median(strengths)) if len(strengths) else 1.0
    return EdgePixels(
        np.column_stack([x, y]).astype(np.float64),
        np.column_stack([nx[y, x], ny[y, x]]),
        strengths,
        1.0 - np.exp(-strengths / ordinary),
    )
