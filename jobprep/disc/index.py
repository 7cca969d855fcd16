"""The index hole, and which of its edges starts the clock of a turn."""

from __future__ import annotations

import math

from jobprep.model.design import Design, Hole
from jobprep.model.machine import LISTED
from jobprep.units import TURN


def index_hole(design: Design) -> Hole | None:
    """Return the hole that starts the clock, None when the design has none of that name."""
    found = next((hole for hole in design.holes if hole.name == design.index.hole), None)
    return None if found is None or found.radius <= 0.0 else found


def index_direction(design: Design) -> float:
    """Return where on the disc the clock starts, as a direction; without index hole its zero.

    The edge is taken on the circle through the hole's middle, where a sensor reads it: at half the
    hole's diameter from its middle, measured straight. The leading edge is the one that passes
    first as the disc turns.
    """
    hole = index_hole(design)
    if hole is None:
        return TURN / 4.0
    rotation = LISTED if design.machine is None else design.machine.rotation
    # Turning anticlockwise, what lies further anticlockwise passes first.
    ahead = 1.0 if rotation == "anticlockwise" else -1.0
    if design.index.edge == "trailing":
        ahead = -ahead
    return hole.direction + ahead * half_angle(hole)


def half_angle(hole: Hole) -> float:
    """Return the angle from a hole's middle to its edge on the circle through its middle."""
    return 2.0 * math.asin(min(1.0, hole.diameter / (4.0 * hole.radius)))
