"""The outlines of what is cut out of layers: bores, holes, hub slots and openings.

All regions have the disc's centre as their origin and an anticlockwise outer contour.
"""

from __future__ import annotations

import contextlib
import math
from dataclasses import replace

from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Point,
    Region,
    circle,
    moved_contour,
    moved_region,
)
from jobprep.geometry.shapes import annular_sector, polar, rounded, slot_arc
from jobprep.model.design import (
    Bore,
    Dot,
    FlatBore,
    Hole,
    HubSlots,
    KeyedBore,
    Opening,
    RoundBore,
    SquareBore,
)
from jobprep.units import TURN

RIM_OVERCUT = 1.0
"""How far an opening to the rim reaches beyond it, mm: any positive length cuts the same."""


def bore_region(bore: Bore) -> Region:
    """Return the outline of a bore."""
    match bore:
        case RoundBore():
            return Region(circle(Point(0.0, 0.0), bore.diameter / 2.0))
        case SquareBore():
            return Region(_square(bore.side, bore.direction))
        case FlatBore():
            return Region(_flat(bore))
        case KeyedBore():
            return Region(_keyed(bore))


def bore_reach(bore: Bore) -> float:
    """Return the radius of the smallest circle about the centre that holds the bore, mm."""
    match bore:
        case RoundBore() | FlatBore():
            return bore.diameter / 2.0
        case SquareBore():
            return bore.side / math.sqrt(2.0)
        case KeyedBore():
            return math.hypot(bore.diameter / 2.0 + bore.key_depth, bore.key_width / 2.0)


def bore_core(bore: Bore) -> float:
    """Return the radius of the largest circle about the centre that the bore holds, mm.

    Zero when the centre is not inside the bore (a flat beyond the middle).
    """
    match bore:
        case RoundBore() | KeyedBore():
            return bore.diameter / 2.0
        case SquareBore():
            return bore.side / 2.0
        case FlatBore():
            return max(0.0, min(bore.diameter / 2.0, bore.across - bore.diameter / 2.0))


def widened_bore(bore: Bore, by: float) -> Bore:
    """Return a bore whose sides all lie ``by`` mm further out."""
    match bore:
        case RoundBore():
            return replace(bore, diameter=bore.diameter + 2.0 * by)
        case SquareBore():
            return replace(bore, side=bore.side + 2.0 * by)
        case FlatBore():
            return replace(bore, diameter=bore.diameter + 2.0 * by, across=bore.across + 2.0 * by)
        case KeyedBore():  # the depth counts from the round, which moves along
            wide = bore.key_width + 2.0 * by
            return replace(bore, diameter=bore.diameter + 2.0 * by, key_width=wide)


def widened_slots(slots: HubSlots, by: float) -> HubSlots:
    """Return slots whose sides all lie ``by`` mm further out, or in where it is negative."""
    return replace(slots, length=slots.length + 2.0 * by, width=slots.width + 2.0 * by)


def hole_region(hole: Hole | Dot) -> Region:
    """Return the outline of a round hole, or of a round patch."""
    return Region(circle(polar(hole.radius, hole.direction), hole.diameter / 2.0))


def slot_regions(slots: HubSlots) -> tuple[Region, ...]:
    """Return the outlines of hub slots, clockwise from the first.

    None where the sizes make no slot; ``check_features`` says so.
    """
    try:
        first = slot_arc(slots.circle_diameter / 2.0, slots.direction, slots.length, slots.width)
    except ValueError:
        return ()
    return _around(first, slots.count)


def opening_regions(opening: Opening, rim: float) -> tuple[Region, ...]:
    """Return the outlines of openings in a layer of radius ``rim``, clockwise from the first.

    One open to the rim reaches beyond it, by more than its corner radius so that the corners at
    the rim stay sharp. A corner radius that does not fit is left out; ``check_features`` says so.
    """
    outer = (
        rim + RIM_OVERCUT + 2.0 * opening.corner_radius
        if opening.outer_diameter is None
        else opening.outer_diameter / 2.0
    )
    inner = opening.inner_diameter / 2.0
    first = annular_sector(inner, outer, opening.direction - opening.angle, opening.angle)
    if opening.corner_radius > 0.0:
        with contextlib.suppress(ValueError):
            first = rounded(first, opening.corner_radius)
    return _around(first, opening.count)


def _around(first: Region, count: int) -> tuple[Region, ...]:
    """Return equal regions evenly round the centre, clockwise from the first."""
    return tuple(moved_region(first, -index * TURN / count, 0.0, 0.0) for index in range(count))


def _square(side: float, direction: float) -> Contour:
    half = side / 2.0
    corners = [Point(half, -half), Point(half, half), Point(-half, half), Point(-half, -half)]
    sides = tuple(Line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    return moved_contour(Contour(sides), direction, 0.0, 0.0)


def _flat(bore: FlatBore) -> Contour:
    radius = bore.diameter / 2.0
    half = math.acos((bore.across - radius) / radius)
    arc = Arc(Point(0.0, 0.0), radius, bore.direction + half, TURN - 2.0 * half)
    return Contour((arc, Line(arc.end, arc.start)))


def _keyed(bore: KeyedBore) -> Contour:
    radius = bore.diameter / 2.0
    half = math.asin(bore.key_width / bore.diameter)
    bottom = radius + bore.key_depth
    arc = Arc(Point(0.0, 0.0), radius, half, TURN - 2.0 * half)
    right = Point(bottom, -bore.key_width / 2.0)
    left = Point(bottom, bore.key_width / 2.0)
    contour = Contour((arc, Line(arc.end, right), Line(right, left), Line(left, arc.start)))
    return moved_contour(contour, bore.direction, 0.0, 0.0)
