"""What a person gives of a disc in a photograph besides its separations: bore and holes."""

from __future__ import annotations

import math

import numpy as np

from jobprep.geometry.outline import Point
from jobprep.measuring.circle_fit import fit_circle
from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.find_centre import InnerCircle
from jobprep.measuring.marks import FoundHole
from jobprep.model.taken import Corrections, GivenHole

CLICK = 1.5
"""Standard uncertainty of a place that a person points at, working pixels (common practice, no
source)."""


def given_bore(plane: DiscPlane, points: tuple[Point, ...], reduction: float) -> InnerCircle:
    """Return the bore through three or more points, pixels of the upright file.

    Raises ``ValueError`` where no circle goes through them.
    """
    flat = DiscPlane(plane.ellipse)
    places = flat.from_picture(np.array(points) * reduction)
    fit = fit_circle(places, noise=CLICK / plane.pixels)
    x, y = fit.circle.centre
    return InnerCircle(x, y, fit.circle.radius, fit.radius.uncertainty, 1.0)


def with_given_holes(
    found: tuple[FoundHole, ...], plane: DiscPlane, corrections: Corrections, reduction: float
) -> tuple[FoundHole, ...]:
    """Return the holes found, without those that a person removes, and those that are given."""
    away = plane.from_picture(np.array(corrections.no_holes).reshape(-1, 2) * reduction)
    slack = 2.0 * CLICK / plane.pixels
    kept = tuple(
        hole
        for hole in found
        if all(math.dist(hole[:2], place) > hole.radius + slack for place in away)
    )
    return (*kept, *(_given(plane, each, reduction) for each in corrections.add_holes))


def _given(plane: DiscPlane, hole: GivenHole, reduction: float) -> FoundHole:
    middle = np.array([hole.x, hole.y]) * reduction
    half = 0.5 * hole.width * reduction
    around = middle + half * np.array([[1.0, 0.0], [0.0, 1.0], [-1.0, 0.0], [0.0, -1.0]])
    x, y = (float(value) for value in plane.from_picture(middle))
    places = plane.from_picture(around) - np.array([x, y])
    radius = float(np.hypot(*places.T).mean())
    return FoundHole(x, y, radius, CLICK / plane.pixels, "")
