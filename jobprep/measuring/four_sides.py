"""Things with four straight sides in a picture: looked for in a reduced one, then placed.

Corners (4, 2) are (column, row) in working pixels, clockwise as seen from the upper left.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from jobprep.measuring.colour import lab_from_linear
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture
from jobprep.measuring.straight_sides import StraightSide, cross, meeting, straight_side


def reduced_lab(picture: Picture, most: int) -> tuple[Floats, float]:
    """Return a picture in CIELAB with at most ``most`` pixels along its longer side.

    Also returns the working pixels that a step in it takes, 1 or more.
    """
    from scipy import ndimage

    step = max(1.0, max(picture.shape) / most)
    small = ndimage.gaussian_filter(picture.linear, (0.45 * step, 0.45 * step, 0))
    rows, columns = (np.arange(0, size - 1e-9, step).astype(int) for size in picture.shape)
    return lab_from_linear(small[np.ix_(rows, columns)]), step


def clockwise(corners: Floats) -> Floats:
    """Return four corners, in either sense round, clockwise from the upper left."""
    # Rows run downwards: clockwise as seen is a positive cross product there.
    if sum(cross(corners[i - 1], corners[i]) for i in range(4)) < 0.0:
        corners = corners[::-1]
    return np.asarray(np.roll(corners, -int(np.argmin(corners.sum(axis=1))), axis=0))


def four_sides(
    picture: Picture, corners: Floats, reach: float, floor: float
) -> tuple[StraightSide, ...] | None:
    """Return the sides from each corner to the next; None where one is not seen.

    ``reach`` and ``floor`` are those of ``straight_side``.
    """
    found = [
        straight_side(picture, corners[i], corners[(i + 1) % 4], reach, floor) for i in range(4)
    ]
    sides = tuple(side for side in found if side is not None)
    return sides if len(sides) == 4 else None


def corners_of(sides: Sequence[StraightSide]) -> Floats | None:
    """Return where each side meets the one before it; None where two are nearly parallel."""
    found = [meeting(sides[i - 1], sides[i]) for i in range(4)]
    return None if any(corner is None for corner in found) else np.array(found)
