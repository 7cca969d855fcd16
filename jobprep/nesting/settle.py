"""Slide the parts of a nest against each other, down and to the left, until they touch.

A search leaves parts a little apart where nothing is to be gained by more. Sides that are to be
cut together must face each other at exactly the gap, so every part is slid as far as it goes:
down, then left, the lowest and leftmost first. A slid nest is as valid as it was before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from jobprep.geometry.distance import clearance, distance
from jobprep.geometry.measure import Bounds, region_bounds
from jobprep.geometry.outline import Region, moved_region
from jobprep.nesting.nest import Item, Nest, Placement, Sheet, Spacing

ROUNDS = 3
"""Times each part is slid; a part that was in the way may have moved."""

FINENESS = 1e-5
"""How far short of touching a slide may end, mm: far below any cut."""


class _Step(NamedTuple):
    """The direction of a slide: one of x and y is 0, the other -1."""

    x: float
    y: float


def settle(items: Sequence[Item], sheets: Sequence[Sheet], spacing: Spacing, nest: Nest) -> Nest:
    """Return the nest with its parts slid down and to the left."""
    placements = list(nest.placements)
    for number, kind in enumerate(nest.sheets):
        here = [index for index, place in enumerate(placements) if place.sheet == number]
        regions = {index: _placed(items, placements[index]) for index in here}
        for step in (_Step(0.0, -1.0), _Step(-1.0, 0.0)) * ROUNDS:
            order = sorted(here, key=lambda index: _reach(regions[index], step))
            for index in order:
                others = [regions[other] for other in here if other != index]
                length = _slide(regions[index], others, sheets[kind].region, spacing, step)
                place = placements[index]
                x, y = place.x + length * step.x, place.y + length * step.y
                placements[index] = place._replace(x=x, y=y)
                regions[index] = _placed(items, placements[index])
    return replace(nest, placements=tuple(placements))


def _placed(items: Sequence[Item], place: Placement) -> Region:
    return moved_region(items[place.item].region, place.angle, place.x, place.y)


def _reach(region: Region, step: _Step) -> float:
    box = region_bounds(region)
    return box.x_min if step.x else box.y_min


def _slide(
    region: Region, others: Sequence[Region], sheet: Region, spacing: Spacing, step: _Step
) -> float:
    """Return how far a region can be slid; halving the way finds where it touches."""
    box, whole = region_bounds(region), region_bounds(sheet)
    room = (box.x_min - whole.x_min if step.x else box.y_min - whole.y_min) - spacing.edge
    gap = max(spacing.gap, FINENESS)  # parts that overlap are 0 apart too
    near = [other for other in others if _in_the_way(box, region_bounds(other), gap, step)]

    def is_free(length: float) -> bool:
        moved = moved_region(region, 0.0, length * step.x, length * step.y)
        if clearance(moved, sheet) < spacing.edge:
            return False
        return all(distance(moved, other, 2.0 * gap + 1.0) >= gap for other in near)

    low, high = 0.0, max(room, 0.0)
    if is_free(high):
        return high
    while high - low > FINENESS:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if is_free(middle) else (low, middle)
    return low


def _in_the_way(box: Bounds, other: Bounds, gap: float, step: _Step) -> bool:
    """Whether another part's box can come within the gap of a box slid in one direction."""
    if step.x:
        beside = other.y_min < box.y_max + gap and other.y_max > box.y_min - gap
        return beside and other.x_min < box.x_max + gap
    beside = other.x_min < box.x_max + gap and other.x_max > box.x_min - gap
    return beside and other.y_min < box.y_max + gap
