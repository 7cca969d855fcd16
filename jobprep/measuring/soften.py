"""A photograph with its noise softened away.

A symmetric blur in linear light leaves the middle of every edge where it was (``edge_profile``), so
a grainy picture may be read softened: it loses fine detail, not place.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from jobprep.measuring.colour import srgb_from_linear
from jobprep.measuring.picture import Picture

SOFTENINGS = (0.0, 1.2, 2.4)
"""Standard deviations, working pixels, of the softening with which a picture is read, one after the
other, until a reading leaves no question open; `common practice, no source`."""


def softened(picture: Picture, deviation: float) -> Picture:
    """Return the picture with each channel blurred in linear light (Gaussian, in pixels)."""
    from scipy import ndimage

    if deviation == 0.0:
        return picture
    linear = ndimage.gaussian_filter(picture.linear, (deviation, deviation, 0.0), truncate=3.0)
    encoded = srgb_from_linear(linear).astype(np.float32)
    return replace(picture, linear=linear, encoded=encoded, softness=deviation)
