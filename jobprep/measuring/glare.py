"""Find glare: round spots where the picture is saturated white."""

from __future__ import annotations

import math

import numpy as np

from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture

SATURATED = 0.975
"""Encoded value above which all three channels count as saturated."""

LARGEST_SPOT = 0.06
"""Share of the disc's area up to which a white patch may be glare; else it is a white zone."""

LEAST_ROUNDNESS = 0.55
"""Area over that of the circle about it; a sector of 60 degrees has 0.5, a narrower one less."""

SOFT = 0.035
"""How far, in disc radii, a glare spot fades beyond its white."""


def glare_mask(picture: Picture, plane: DiscPlane) -> Floats:
    """Return a (rows, columns) mask of the pixels that glare has spoilt."""
    from scipy import ndimage

    white = picture.encoded.min(axis=2) >= SATURATED
    spots = np.zeros(picture.shape, dtype=bool)
    if not white.any():
        return spots
    disc_area = math.pi * plane.pixels**2
    labels, count = ndimage.label(white)
    areas = np.bincount(labels.ravel(), minlength=count + 1)
    grow = max(1, round(SOFT * plane.pixels))
    for number, where in enumerate(ndimage.find_objects(labels), start=1):
        area = areas[number]
        if area < max(12.0, 2e-4 * disc_area) or area > LARGEST_SPOT * disc_area:
            continue
        height, width = (part.stop - part.start for part in where)
        rows, columns = np.nonzero(labels[where] == number)
        centre = rows.mean(), columns.mean()
        reach = float(np.hypot(rows - centre[0], columns - centre[1]).max()) + 0.5
        if area / (math.pi * reach**2) < LEAST_ROUNDNESS or max(height, width) < 4:
            continue
        middle = where[0].start + centre[0], where[1].start + centre[1]
        radius = reach + grow
        top, left = max(int(middle[0] - radius), 0), max(int(middle[1] - radius), 0)
        bottom, right = int(middle[0] + radius) + 2, int(middle[1] + radius) + 2
        y, x = np.ogrid[top : min(bottom, white.shape[0]), left : min(right, white.shape[1])]
        spots[top:bottom, left:right] |= np.hypot(y - middle[0], x - middle[1]) <= radius
    return spots
