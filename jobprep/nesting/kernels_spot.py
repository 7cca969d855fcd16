"""Compiled handling of spots: where a part lies, how it is turned, on what sheet.

Terminology
-----------
spot       a part's place as numbers: x, y, angle, cos, sin, turn (or -1), sheet, then the bounds
           of the turned part about its origin: least x, least y, greatest x, greatest y
"""

from __future__ import annotations

import math

import numpy as np

from jobprep.nesting.kernels_inner import inner
from jobprep.nesting.kernels_lanes import mark, strike
from jobprep.nesting.layout import LANES, WORD

X, Y, ANGLE, COS, SIN, TURN, SHEET, LEFT, LOW, RIGHT, HIGH = range(11)
FULL_TURN = 2.0 * math.pi


@inner()
def random_unit(state):  # type: ignore[no-untyped-def]
    """Return the next random number, 0 <= number < 1 (xorshift64*, Vigna 2016)."""
    x = state[0]
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    state[0] = x
    return float((x * np.uint64(2685821657736338717)) >> np.uint64(11)) * (1.0 / 9007199254740992.0)


@inner()
def copy_spot(source, target):  # type: ignore[no-untyped-def]
    """Copy a spot."""
    for k in range(11):
        target[k] = source[k]


@inner()
def turn_spot(shapes, kind, turn, angle, spot):  # type: ignore[no-untyped-def]
    """Turn a spot to an allowed turn, or with turn -1 to any angle."""
    spot[TURN] = turn
    if turn >= 0:
        spot[ANGLE] = FULL_TURN * turn / len(shapes.turns)
        spot[COS] = shapes.turns[turn, 0]
        spot[SIN] = shapes.turns[turn, 1]
        for k in range(4):
            spot[LEFT + k] = shapes.extent[kind, turn, k]
        return
    cos, sin = math.cos(angle), math.sin(angle)
    spot[ANGLE] = angle
    spot[COS] = cos
    spot[SIN] = sin
    left = low = 1e300
    right = high = -1e300
    for k in range(shapes.edge_first[kind], shapes.edge_first[kind + 1]):
        x = cos * shapes.edges[k, 0] - sin * shapes.edges[k, 1]
        y = sin * shapes.edges[k, 0] + cos * shapes.edges[k, 1]
        left = min(left, x)
        right = max(right, x)
        low = min(low, y)
        high = max(high, y)
    spot[LEFT] = left
    spot[LOW] = low
    spot[RIGHT] = right
    spot[HIGH] = high


@inner()
def keep_inside(layout, spot):  # type: ignore[no-untyped-def]
    """Shift a spot into the bounds of its sheet; return False when it cannot fit."""
    sheet = int(spot[SHEET])
    bounds = layout.bounds
    x0 = bounds[sheet, 0] - spot[LEFT]
    x1 = bounds[sheet, 2] - spot[RIGHT]
    y0 = bounds[sheet, 1] - spot[LOW]
    y1 = bounds[sheet, 3] - spot[HIGH]
    if x0 > x1 + 1e-9 or y0 > y1 + 1e-9:
        return False
    spot[X] = min(max(spot[X], x0), max(x0, x1))
    spot[Y] = min(max(spot[Y], y0), max(y0, y1))
    return True


@inner()
def is_inside(layout, spot):  # type: ignore[no-untyped-def]
    """Return whether a spot lies in the bounds of its sheet."""
    sheet = int(spot[SHEET])
    bounds = layout.bounds
    return (
        spot[X] + spot[LEFT] >= bounds[sheet, 0]
        and spot[Y] + spot[LOW] >= bounds[sheet, 1]
        and spot[X] + spot[RIGHT] <= bounds[sheet, 2]
        and spot[Y] + spot[HIGH] <= bounds[sheet, 3]
    )


@inner()
def enlist(layout, part, sheet):  # type: ignore[no-untyped-def]
    """Add a part to the members of a sheet."""
    count = layout.n_members[sheet]
    layout.members[sheet, count] = part
    layout.place[part] = count
    layout.n_members[sheet] = count + 1


@inner()
def write_box(layout, part):  # type: ignore[no-untyped-def]
    """Write the bounds of a part where it lies."""
    spot = layout.spots[part]
    layout.boxes[0, part] = spot[X] + spot[LEFT]
    layout.boxes[1, part] = spot[Y] + spot[LOW]
    layout.boxes[2, part] = spot[X] + spot[RIGHT]
    layout.boxes[3, part] = spot[Y] + spot[HIGH]


@inner()
def put(layout, part, spot):  # type: ignore[no-untyped-def]
    """Move a part to a spot."""
    old = int(layout.spots[part, SHEET])
    new = int(spot[SHEET])
    place = layout.place[part]
    strike(layout.lanes, old, place)
    if old != new:
        layout.n_members[old] -= 1
        end = layout.n_members[old]
        if end != place:
            last = layout.members[old, end]
            strike(layout.lanes, old, end)
            layout.members[old, place] = last
            layout.place[last] = place
            mark(layout, last, old)
        enlist(layout, part, new)
    copy_spot(spot, layout.spots[part])
    write_box(layout, part)
    mark(layout, part, new)


@inner()
def enter(layout):  # type: ignore[no-untyped-def]
    """Make boxes, members and lanes fit the spots and the bounds."""
    for sheet in range(len(layout.n_members)):
        # Beyond the members all bits are clear.
        for side in range(4):
            for lane in range(LANES):
                for word in range((layout.n_members[sheet] + WORD - 1) // WORD):
                    layout.lanes[sheet, side, lane, word] = 0
        layout.n_members[sheet] = 0
        for side in range(2):
            length = layout.bounds[sheet, side + 2] - layout.bounds[sheet, side]
            layout.scale[sheet, side] = LANES / length if length > 0.0 else 0.0
    for part in range(len(layout.kind)):
        sheet = int(layout.spots[part, SHEET])
        enlist(layout, part, sheet)
        write_box(layout, part)
        mark(layout, part, sheet)
