"""Straight sides of flat things in a picture, each placed by the edges along it.

Points are (2,) arrays, (column, row) in working pixels.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from jobprep.measuring.colour import lab_from_linear
from jobprep.measuring.edge_profile import edge_positions, sample
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture

LEAST_SEEN = 0.35
"""Share of a side that must show an edge on one line."""

CORNER_FLOOR = 0.3
"""Standard uncertainty of a side's place, pixels, besides its scatter: lenses bend lines and paper
curls (common practice, no source)."""


MOST_BEND = 0.08
"""By how much a lens may shift what lies half a picture's width from its middle, as a share."""


@dataclass(frozen=True, slots=True)
class StraightSide:
    """A straight side: a point on it, its direction, its standard uncertainty, its share seen.

    ``places`` (n, 2) are the edges that it was placed by, ``bow`` how a parabola through them
    curves: half the second derivative of their distance from the side, 1/pixels.
    """

    at: Floats
    along: Floats
    off: float
    seen: float
    places: Floats
    bow: float

    @property
    def normal(self) -> Floats:
        """The direction in which a positive ``bow`` bends."""
        return np.array([-self.along[1], self.along[0]])


def straight_side(
    picture: Picture, start: Floats, end: Floats, reach: float, floor: float = CORNER_FLOOR
) -> StraightSide | None:
    """Place the side near the line from ``start`` to ``end``, within ``reach`` pixels either way.

    ``floor`` is the standard uncertainty of its place, pixels, besides the scatter of its edge. The
    result is None where too little of an edge is seen on one slightly bent line.
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
    for _ in range(8):
        if keep.sum() < LEAST_SEEN * len(shares):
            return None
        bent = np.polynomial.Polynomial.fit(shares[keep], offset[keep], 2)
        off = np.abs(offset - bent(shares))
        spread = max(1.4826 * float(np.median(off[keep])), 0.1)
        keep = (weight > 0.0) & (off < 3.0 * spread)
    if keep.sum() < LEAST_SEEN * len(shares):
        return None
    places = base[keep] + offset[keep, None] * normal
    return side_through(places, floor, float(keep.mean()), along)


def side_through(places: Floats, floor: float, seen: float, towards: Floats) -> StraightSide:
    """Return the side through edges (n, 2), in the sense of a direction ``towards``."""
    at = places.mean(axis=0)
    along = np.linalg.svd(places - at)[2][0]
    along = along if float(along @ towards) > 0.0 else -along
    normal = np.array([-along[1], along[0]])
    x, y = (places - at) @ along, (places - at) @ normal
    bow, _, _ = np.polyfit(x, y, 2)
    spread = float(np.sqrt(np.mean((y - np.polyval(np.polyfit(x, y, 2), x)) ** 2)))
    error = math.hypot(2.0 * spread / math.sqrt(len(places)), floor)
    return StraightSide(at, along, error, seen, places, float(bow))


@dataclass(frozen=True, slots=True)
class Bend:
    """How a lens bends lines: a place p of the picture is shown straight at m + (p - m)(1 + k r²).

    m is the picture's ``middle`` and r pixels from there. Source: the radial part of D. C. Brown,
    Photogrammetric Engineering 32 (1966) 444-462, from memory.
    """

    middle: tuple[float, float]
    k: float = 0.0

    def straight(self, places: Floats) -> Floats:
        """Return where a lens that does not bend lines would show places (..., 2)."""
        away = places - np.array(self.middle)
        return np.asarray(places + self.k * (away**2).sum(axis=-1, keepdims=True) * away)

    def bent(self, places: Floats) -> Floats:
        """Return where this lens shows them; ten steps settle it within 0.001 of a pixel."""
        found = np.array(places, dtype=np.float64)
        for _ in range(10):
            found = found + (places - self.straight(found))
        return found


def bend_of(picture: Picture, sides: Sequence[StraightSide]) -> Bend:
    """Return the bend that makes straight sides straightest.

    A side that lies d from the picture's middle bows by -k d: k follows by least squares.
    """
    height, width = picture.shape
    middle = np.array([width / 2.0, height / 2.0])
    away = np.array([float((side.at - middle) @ side.normal) for side in sides])
    bows = np.array([side.bow for side in sides])
    square = float(away @ away)
    most = MOST_BEND / (width / 2.0) ** 2
    k = 0.0 if square == 0.0 else float(np.clip(-(bows @ away) / square, -most, most))
    return Bend((float(middle[0]), float(middle[1])), k)


def meeting(first: StraightSide, second: StraightSide) -> Floats | None:
    """Return where two sides meet, None where they are nearly parallel."""
    across = cross(first.along, second.along)
    if abs(across) < 0.2:
        return None
    return np.asarray(first.at + first.along * cross(second.at - first.at, second.along) / across)


def cross(first: Floats, second: Floats) -> float:
    """Return the cross product of two vectors."""
    return float(first[0] * second[1] - first[1] * second[0])
