"""Lengths in a photograph, and what makes them uncertain."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.find_disc import DiscOutline
from jobprep.measuring.found import Found
from jobprep.measuring.measured import Floats, Measured
from jobprep.measuring.picture import Picture
from jobprep.measuring.shade import circle_growth

CIRCLE_ERROR = 0.7
"""Standard uncertainty, pixels, of a diameter within the rim, besides the scatter of its edge: blur
and coarse colour move the whole edge. In 40 of the tests' computed photographs the root mean square
error was 0.5 for bores, 0.6 for ring limits and 0.8 for holes."""

RIM_SHARES = 4.0
"""Places of the rim that share their noise."""

LENS = 3e-4
"""How far a lens bends a disc out of shape, in its radii: with a barrel of 1 % at the sides of the
picture, a disc of two thirds of its width a tenth off its middle; worked out from the cubic law."""

LENS_LENGTH = 1.5e-3
"""Share by which such a lens shortens or lengthens lengths near the centre."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RimLengths:
    """Turns lengths in radii of the rim as seen into mm, or pixels where nothing is known.

    ``unit`` is that radius, ``rim`` the rim's diameter as it is; ``growth`` and ``shift`` as found.
    """

    picture: Picture
    plane: DiscPlane
    unit: Measured
    rim: Measured
    growth: Measured
    shift: float

    def across(self, x: float, y: float, radius: Measured) -> Measured:
        """Return the diameter of a circle about a place within the rim."""
        pixel = 1.0 / self.plane.pixels
        grown = circle_growth(self.picture, self.plane, x, y, radius.value, self.growth)
        error = math.hypot(
            2.0 * max(radius.uncertainty, 0.15 * pixel),
            CIRCLE_ERROR * pixel,
            2.0 * grown.uncertainty,
            2.0 * self.shift,
            2.0 * LENS_LENGTH * radius.value,
        )
        return Measured(2.0 * (radius.value - grown.value), error).scaled(self.unit)

    def about_centre(self, radius: Measured | None) -> Measured | None:
        """Return the diameter of a circle about the disc's centre."""
        return None if radius is None else self.across(0.0, 0.0, radius)

    def out(self, distance: Measured) -> Measured:
        """Return a distance from the disc's centre."""
        bent = LENS_LENGTH * distance.value * (1.0 - min(distance.value, 1.0) ** 2)
        error = math.hypot(distance.uncertainty, bent, self.shift)
        return Measured(distance.value, error).scaled(self.unit)


def rim_error(outline: DiscOutline) -> float:
    """Return the standard uncertainty of the rim's size by the scatter of its edge, as a share."""
    size = math.sqrt(math.prod(outline.ellipse.semi_axes))
    return max(outline.spread / math.sqrt(60.0), 0.12) / size


def scaled_lengths(
    picture: Picture,
    plane: DiscPlane,
    outline: DiscOutline,
    found: Found,
    diameter: Measured | None,
    beyond: float | None,
) -> RimLengths:
    """Return the lengths of a picture whose rim is ``diameter`` mm across, if that is known.

    A diameter without uncertainty is the true one, another is that of the rim as seen. A second
    circle seen close outside may be the rim itself: then both are possible, unless a person gave
    points on the rim.
    """
    grown = circle_growth(picture, plane, 0.0, 0.0, 1.0, found.growth)
    doubtful = 0.0 if beyond is None else 0.6 * (beyond - 1.0)
    error = math.hypot(rim_error(outline), grown.uncertainty, doubtful, found.shift / 2.0)
    seen = Measured(plane.pixels, 0.0) if diameter is None else diameter.times(0.5)
    true = 1.0 - grown.value
    if diameter is not None and diameter.uncertainty == 0.0:
        rim, radius = diameter, seen.value / true
    else:
        off = math.hypot(seen.uncertainty, seen.value * error)
        rim, radius = Measured(seen.value * true, off).times(2.0), seen.value
    unit = Measured(radius, math.hypot(seen.uncertainty, radius * error))
    return RimLengths(
        picture=picture,
        plane=plane,
        unit=unit,
        rim=rim,
        growth=found.growth,
        shift=found.shift,
    )


def shape_variance(outline: DiscOutline, found: Found) -> Floats:
    """Return what the shape of the rim adds to the covariance of centre and directions.

    An ellipse too long by one part in a thousand along one way turns directions by half of that.
    """
    scatter = RIM_SHARES * float(np.diag(outline.covariance)[2:].max()) / found.plane.pixels**2
    moved = 0.25 * (found.growth.value**2 + found.shift**2)
    variance = scatter + moved + LENS**2
    return np.diag([0.0, 0.0, *(variance for _ in found.edges)])
