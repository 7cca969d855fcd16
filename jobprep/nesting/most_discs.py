"""How many equal discs a sheet holds at most.

N. Oler's inequality (An inequality in the geometry of numbers, Acta Mathematica 105 (1961) 19-48,
from memory): at most ``2 A / sqrt(3) + P / 2 + 1`` points with distances of 1 or more lie in a
convex set of area A and perimeter P. It counts the discs' middles.
"""

from __future__ import annotations

import math

from jobprep.geometry.measure import area, perimeter
from jobprep.geometry.offset import offset
from jobprep.geometry.outline import Arc, Line, Region
from jobprep.nesting.nest import Spacing
from jobprep.nesting.shapes import SAFETY
from jobprep.nesting.sheet_queue import Roof
from jobprep.units import TURN

ROUNDING = 1e-9
"""Relative; keeps a bound that is just reached from falling to the number below."""


def most_discs(part: Region, sheet: Region, spacing: Spacing) -> int | None:
    """Return the most copies of a round part that any nest on a sheet can hold, its holes ignored.

    None where the part is not round or the sheet not convex.
    """
    radius = disc_radius(part)
    if radius is None or not is_convex(sheet):
        return None
    middles = offset(sheet, -(radius + spacing.edge)).regions
    if not middles:
        return 1  # a place of no area may still hold one
    (place,) = middles
    return _most(area(place), perimeter(place), 2.0 * radius + spacing.gap)


def most_under(part: Region, roof: Roof, spacing: Spacing) -> int:
    """Return a bound of ``most_discs`` for a round part on any sheet under a roof.

    The middles lie in a box, and a convex figure in a box has no more area and perimeter than it.
    """
    distance = 2.0 * (disc_radius(part) or 0.0) + spacing.gap
    width, height = (side + 2.0 * SAFETY - distance for side in roof[:2])
    if min(width, height) <= 0.0:
        return 1
    return _most(width * height, 2.0 * (width + height), distance)


def _most(area: float, perimeter: float, distance: float) -> int:
    found = 2.0 * area / (math.sqrt(3.0) * distance**2) + perimeter / (2.0 * distance)
    return math.floor((found + 1.0) * (1.0 + ROUNDING))


def disc_radius(region: Region) -> float | None:
    """Return the radius of a round part, whatever its holes; None for any other."""
    segments = region.outer.segments
    if not all(isinstance(each, Arc) for each in segments):
        return None
    first = segments[0]
    same = [
        each
        for each in segments
        if isinstance(each, Arc)
        and isinstance(first, Arc)
        and math.dist(each.centre, first.centre) < 1e-6
        and abs(each.radius - first.radius) < 1e-6
    ]
    if len(same) != len(segments) or abs(sum(each.sweep for each in same) - TURN) > 1e-6:
        return None
    return same[0].radius


def is_convex(region: Region) -> bool:
    """Whether a region is a convex polygon without holes."""
    if region.holes or not all(isinstance(each, Line) for each in region.outer.segments):
        return False
    corners = [segment.start for segment in region.outer.segments]
    return all(
        (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x) >= 0.0
        for a, b, c in zip(
            corners, corners[1:] + corners[:1], corners[2:] + corners[:2], strict=True
        )
    )
