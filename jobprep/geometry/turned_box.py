"""Whether an outline, turned as needed, fits into a rectangle."""

from __future__ import annotations

from jobprep.geometry.measure import bounds
from jobprep.geometry.outline import Contour, moved_path
from jobprep.units import TURN

TURNS = 36
"""In how many directions over a quarter turn an outline is tried."""


def fits_rectangle(outline: Contour, width: float, height: float) -> bool:
    """Whether an outline fits into a rectangle of these sides, mm, in one of the directions tried.

    One that fits only between two of them is not seen to fit.
    """
    short, long = sorted((width, height))
    for step in range(TURNS):
        box = bounds(moved_path(outline.segments, step * TURN / 4.0 / TURNS, 0.0, 0.0))
        sides = sorted((box.width, box.height))
        if sides[0] <= short and sides[1] <= long:
            return True
    return False
