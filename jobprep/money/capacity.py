"""How many discs can lie on given sheets at most: bounds that no nest can exceed.

By area: parts grown by half the gap do not overlap, and all lie in the sheet shrunk by the edge
less half the gap. For equal round discs alone there is a sharper bound, N. Oler's inequality (An
inequality in the geometry of numbers, Acta Mathematica 105 (1961) 19-48, from memory): at most
``2 A / sqrt(3) + P / 2 + 1`` points with distances of 1 or more lie in a convex set of area A and
perimeter P. It counts the discs' middles.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from jobprep.geometry.measure import area, perimeter
from jobprep.geometry.offset import offset
from jobprep.geometry.outline import Arc, Line, Region
from jobprep.nesting.nest import Item, Sheet, Spacing
from jobprep.units import TURN

ROUNDING = 1e-9
"""Relative; keeps a bound that is just reached from falling to the number below."""


def most_sets(
    once: Sequence[Item], per_set: Sequence[Item], sheets: Sequence[Sheet], spacing: Spacing
) -> int:
    """Return an upper bound for how many sets of parts the sheets hold.

    ``once`` are parts that must find room besides, ``per_set`` those of one set; both with their
    quantities. Sheets need a finite count.
    """
    bounds = [_by_area(once, per_set, sheets, spacing)]
    if not once and len(per_set) == 1 and _radius(per_set[0].region) is not None:
        discs = [_by_middles(per_set[0], sheet, spacing) for sheet in sheets if sheet.count]
        if all(found is not None for found in discs):
            counts = (sheet.count or 0 for sheet in sheets if sheet.count)
            total = sum((found or 0) * count for found, count in zip(discs, counts, strict=True))
            bounds.append(total // per_set[0].quantity)
    return min(bounds)


def _by_area(
    once: Sequence[Item], per_set: Sequence[Item], sheets: Sequence[Sheet], spacing: Spacing
) -> int:
    held = sum(
        (sheet.count or 0) * _grown(sheet.region, 0.5 * spacing.gap - spacing.edge)
        for sheet in sheets
    )
    held -= sum(item.quantity * _grown(item.region, 0.5 * spacing.gap) for item in once)
    need = sum(item.quantity * _grown(item.region, 0.5 * spacing.gap) for item in per_set)
    return max(0, math.floor(held / need * (1.0 + ROUNDING)))


def _grown(region: Region, distance: float) -> float:
    return sum(map(area, offset(region, distance).regions))


def _by_middles(item: Item, sheet: Sheet, spacing: Spacing) -> int | None:
    """Return Oler's bound for one sheet, None where the sheet is not convex."""
    if not _is_convex(sheet.region):
        return None
    radius = _radius(item.region)
    if radius is None:
        return None
    middles = offset(sheet.region, -(radius + spacing.edge)).regions
    if not middles:
        return 1  # a place of no area may still hold one
    distance = 2.0 * radius + spacing.gap
    (place,) = middles
    found = 2.0 * area(place) / (math.sqrt(3.0) * distance**2) + perimeter(place) / (2.0 * distance)
    return math.floor((found + 1.0) * (1.0 + ROUNDING))


def _radius(region: Region) -> float | None:
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


def _is_convex(region: Region) -> bool:
    if region.holes or not all(isinstance(each, Line) for each in region.outer.segments):
        return False
    corners = [segment.start for segment in region.outer.segments]
    return all(
        (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x) >= 0.0
        for a, b, c in zip(
            corners, corners[1:] + corners[:1], corners[2:] + corners[:2], strict=True
        )
    )
