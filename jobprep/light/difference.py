"""How far two colours differ to the eye.

Source: G. Sharma, W. Wu, E. N. Dalal, Color Research & Application 30 (2005) 21-30 (CIEDE2000).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from jobprep.light.grid import Floats


def ciede2000(first: ArrayLike, second: ArrayLike) -> Floats:
    """Return the CIEDE2000 difference of CIELAB colours (weights k all 1), broadcasting.

    A hue difference of half a turn to within rounding counts as half a turn exactly, so that the
    result does not depend on the platform's arctangent.
    """
    l1, a1, b1 = np.moveaxis(np.asarray(first, dtype=np.float64), -1, 0)
    l2, a2, b2 = np.moveaxis(np.asarray(second, dtype=np.float64), -1, 0)
    mean_chroma = (np.hypot(a1, b1) + np.hypot(a2, b2)) / 2.0
    lift = 1.0 + 0.5 * (1.0 - np.sqrt(mean_chroma**7 / (mean_chroma**7 + 25.0**7)))
    c1, c2 = np.hypot(lift * a1, b1), np.hypot(lift * a2, b2)
    h1 = np.degrees(np.arctan2(b1, lift * a1)) % 360.0
    h2 = np.degrees(np.arctan2(b2, lift * a2)) % 360.0
    grey = c1 * c2 == 0.0
    apart = np.abs(h2 - h1) > 180.0 + 1e-9
    turn = np.where(apart, np.where(h2 > h1, -360.0, 360.0), 0.0)
    hue_step = np.where(grey, 0.0, h2 - h1 + turn)
    delta_l, delta_c = l2 - l1, c2 - c1
    delta_h = 2.0 * np.sqrt(c1 * c2) * np.sin(np.radians(hue_step / 2.0))
    mean_l, mean_c = (l1 + l2) / 2.0, (c1 + c2) / 2.0
    wrap = np.where(apart, np.where(h1 + h2 < 360.0, 360.0, -360.0), 0.0)
    mean_h = np.where(grey, h1 + h2, (h1 + h2 + wrap) / 2.0)
    weight = (
        1.0
        - 0.17 * np.cos(np.radians(mean_h - 30.0))
        + 0.24 * np.cos(np.radians(2.0 * mean_h))
        + 0.32 * np.cos(np.radians(3.0 * mean_h + 6.0))
        - 0.20 * np.cos(np.radians(4.0 * mean_h - 63.0))
    )
    rotation = (
        -2.0
        * np.sqrt(mean_c**7 / (mean_c**7 + 25.0**7))
        * np.sin(np.radians(60.0 * np.exp(-(((mean_h - 275.0) / 25.0) ** 2))))
    )
    s_l = 1.0 + 0.015 * (mean_l - 50.0) ** 2 / np.sqrt(20.0 + (mean_l - 50.0) ** 2)
    l_term = delta_l / s_l
    c_term = delta_c / (1.0 + 0.045 * mean_c)
    h_term = delta_h / (1.0 + 0.015 * mean_c * weight)
    square = l_term**2 + c_term**2 + h_term**2 + rotation * c_term * h_term
    return np.asarray(np.sqrt(np.maximum(square, 0.0)))
