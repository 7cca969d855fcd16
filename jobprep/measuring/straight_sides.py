"""Straight sides of flat things in a picture, each placed by the edges along it.

Points are (2,) arrays, (column, row) in working pixels.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from jobprep.measuring.colour import lab_from_linear
from jobprep.measuring.edge_profile import edge_positions, sample
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture

LEAST_SEEN = 0.35
"""Share of a side that must show an edge on one line."""

CORNER_FLOOR = 0.3
"""Standard uncertainty of a side's place, pixels, beside its scatter: lenses bend lines and paper
curls (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class StraightSide:
    """A straight side: a point on it, its direction, its standard uncertainty, its share seen."""

    at: Floats
    along: Floats
    off: float
    seen: float


def straight_side(
    picture: Picture, start: Floats, end: Floats, reach: float, floor: float = CORNER_FLOOR
) -> StraightSide | None:
    """Place the side near the line from ``start`` to ``end``, within ``reach`` pixels either way.

    ``floor`` is the standard uncertainty of its place, pixels, beside the scatter of its edge. None
    where too little of an edge is seen on one line.
    """
    along = end - start
    length = float(np.hypot(*along))
    along = along / length
    normal = np.array([-along[1], along[0]])
    shares = np.linspace(0.05, 0.95, 160)
    steps = np.arange(-reach, reach + 0.25, 0.5)
    base = start + shares[:, None] * length * along
    profiles = sample(picture.linear, base[:, None] + steps[None, :, None] * normal)
    position, weight = edge_positions(profiles, lab_from_linear(profiles))
    offset = steps[0] + 0.5 * position
    keep = weight > 0.0
    x = shares * length
    slope = intercept = spread = 0.0
    for _ in range(8):
        if keep.sum() < LEAST_SEEN * len(shares):
            return None
        slope, intercept = np.polyfit(x[keep], offset[keep], 1)
        off = np.abs(offset - slope * x - intercept)
        spread = max(1.4826 * float(np.median(off[keep])), 0.1)
        keep = (weight > 0.0) & (off < 3.0 * spread)
    at = start + intercept * normal
    direction = along + slope * normal
    error = math.hypot(2.0 * spread / math.sqrt(float(keep.sum())), floor)
    return StraightSide(at, direction / np.hypot(*direction), error, float(keep.mean()))


def meeting(first: StraightSide, second: StraightSide) -> Floats | None:
    """Return where two sides meet, None where they are nearly parallel."""
    across = cross(first.along, second.along)
    if abs(across) < 0.2:
        return None
    return np.asarray(first.at + first.along * cross(second.at - first.at, second.along) / across)


def cross(first: Floats, second: Floats) -> float:
    """Return the cross product of two vectors."""
    return float(first[0] * second[1] - first[1] * second[0])
