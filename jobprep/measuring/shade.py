"""How a soft shadow under the films moves their edges.

A film lies a little above its ground. Light crosses it twice: on its way down where the lamp stands
and on its way up to the camera. A lamp of some extent blurs the first crossing to a border ``p``
wide, while the second stays sharp. With transmissions a > b either side the bright side loses
a (a - b) p / 8 of its light near the edge, the dark side gains b (a - b) p / 8, against a step of
a² - b²: the edge looks shifted towards the bright side by p / 8 times

    contrast = (a - b) / (a + b).

A lamp at a slant that shifts the shadow by s moves every edge by s / 2, as if the disc lay
elsewhere, and adds |s| / 2 times the contrast. So whatever the lamp, dark sides grow by one
``growth`` times their contrast, and openings shrink by as much; separations show how much.
"""

from __future__ import annotations

import numpy as np

from jobprep.colour import LUMINANCE
from jobprep.measuring.disc_plane import DiscPlane, polar
from jobprep.measuring.edge_profile import sample
from jobprep.measuring.measured import Floats, Measured
from jobprep.measuring.picture import Picture
from jobprep.units import TURN

GROWTH = 1.0
"""Working pixels by which dark sides may grow (standard deviation) before anything is known of it:
a shadow's border 8 pixels wide; `common practice, no source`."""

MODEL = 0.5
"""Standard uncertainty of a correction by this model, as a share of it."""

BESIDE = 5.0
"""Pixels beside a circle at which the light either side is taken."""


def contrast(dark: Floats, bright: Floats) -> Floats:
    """Return (a - b) / (a + b) of linear colours (..., 3) seen through films twice."""
    low, high = (np.sqrt(np.maximum(c @ np.array(LUMINANCE), 0.0)) for c in (dark, bright))
    return np.asarray((high - low) / np.maximum(high + low, 1e-6))


def circle_growth(
    picture: Picture, plane: DiscPlane, x: float, y: float, radius: float, growth: Measured
) -> Measured:
    """Return by how much a circle (disc radii) looks larger than it is, and how uncertain that is.

    A circle that is brighter outside is that of something dark, which grows.
    """
    beside = min(BESIDE / plane.pixels, 0.5 * radius)
    directions = np.arange(96) * TURN / 96
    around = polar(np.array([radius - beside, radius + beside]), directions)
    around += np.array([x, y])
    inside, outside = sample(picture.linear, plane.to_picture(around))
    mean = float(np.mean(contrast(inside, outside)))
    by = mean * growth.value
    return Measured(by, float(np.hypot(mean * growth.uncertainty, MODEL * by)))
