"""Compiled handling of spots: where a part lies, how it is turned, on what sheet."""

from __future__ import annotations

import math

import numpy as np

from jobprep.nesting.columns import (
    ANGLE,
    BOX,
    COS,
    HIGH,
    LANES_X,
    LEFT,
    LOW,
    RIGHT,
    SETS,
    SHEET,
    SIN,
    SPOT,
    START_X,
    START_Y,
    TURN,
    X_MAX,
    X_MIN,
    Y_MAX,
    Y_MIN,
    X,
    Y,
)
from jobprep.nesting.kernels_inner import inlined, inner
from jobprep.nesting.kernels_lanes import mark, strike
from jobprep.nesting.layout import LANES, WORD, Pose

FULL_TURN = 2.0 * math.pi

ROUNDING = 1e-9
"""By how much, mm, a part may reach over a sheet it just fits on."""


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
    for k in range(SPOT):
        target[k] = source[k]


@inlined()
def pose_on_sheet(spot):  # type: ignore[no-untyped-def]
    """Return how a part lies on its sheet."""
    return Pose(spot[ANGLE], spot[COS], spot[SIN], spot[X], spot[Y])


@inlined()
def pose_seen(spot, other):  # type: ignore[no-untyped-def]
    """Return how a part lies in another's own frame."""
    dx = spot[X] - other[X]
    dy = spot[Y] - other[Y]
    return Pose(
        spot[ANGLE] - other[ANGLE],
        spot[COS] * other[COS] + spot[SIN] * other[SIN],
        spot[SIN] * other[COS] - spot[COS] * other[SIN],
        other[COS] * dx + other[SIN] * dy,
        other[COS] * dy - other[SIN] * dx,
    )


@inlined()
def seen_back(pose):  # type: ignore[no-untyped-def]
    """Return how the other part lies in the frame of the first."""
    return Pose(
        -pose.angle,
        pose.cos,
        -pose.sin,
        -pose.cos * pose.x - pose.sin * pose.y,
        pose.sin * pose.x - pose.cos * pose.y,
    )


@inlined()
def turned(pose, x, y):  # type: ignore[no-untyped-def]
    """Return a direction of a part as it lies."""
    return pose.cos * x - pose.sin * y, pose.sin * x + pose.cos * y


@inlined()
def placed(pose, x, y):  # type: ignore[no-untyped-def]
    """Return a point of a part as it lies."""
    return pose.cos * x - pose.sin * y + pose.x, pose.sin * x + pose.cos * y + pose.y


@inner()
def turn_spot(shapes, kind, turn, angle, spot):  # type: ignore[no-untyped-def]
    """Turn a spot to an allowed turn, or with turn -1 to any angle."""
    spot[TURN] = turn
    if turn >= 0:
        spot[ANGLE] = FULL_TURN * turn / len(shapes.turns)
        spot[COS] = shapes.turns[turn, 0]
        spot[SIN] = shapes.turns[turn, 1]
        for side in range(BOX):
            spot[LEFT + side] = shapes.extent[kind, turn, side]
        return
    cos, sin = math.cos(angle), math.sin(angle)
    spot[ANGLE] = angle
    spot[COS] = cos
    spot[SIN] = sin
    left = low = 1e300
    right = high = -1e300
    for k in range(shapes.edge_first[kind], shapes.edge_first[kind + 1]):
        x = cos * shapes.edges[k, START_X] - sin * shapes.edges[k, START_Y]
        y = sin * shapes.edges[k, START_X] + cos * shapes.edges[k, START_Y]
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
    x0 = bounds[sheet, X_MIN] - spot[LEFT]
    x1 = bounds[sheet, X_MAX] - spot[RIGHT]
    y0 = bounds[sheet, Y_MIN] - spot[LOW]
    y1 = bounds[sheet, Y_MAX] - spot[HIGH]
    if x0 > x1 + ROUNDING or y0 > y1 + ROUNDING:
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
        spot[X] + spot[LEFT] >= bounds[sheet, X_MIN]
        and spot[Y] + spot[LOW] >= bounds[sheet, Y_MIN]
        and spot[X] + spot[RIGHT] <= bounds[sheet, X_MAX]
        and spot[Y] + spot[HIGH] <= bounds[sheet, Y_MAX]
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
    layout.boxes[X_MIN, part] = spot[X] + spot[LEFT]
    layout.boxes[Y_MIN, part] = spot[Y] + spot[LOW]
    layout.boxes[X_MAX, part] = spot[X] + spot[RIGHT]
    layout.boxes[Y_MAX, part] = spot[Y] + spot[HIGH]


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
        for side in range(SETS):
            for lane in range(LANES):
                for word in range((layout.n_members[sheet] + WORD - 1) // WORD):
                    layout.lanes[sheet, side, lane, word] = 0
        layout.n_members[sheet] = 0
        for axis in range(2):
            length = layout.bounds[sheet, X_MAX + axis] - layout.bounds[sheet, X_MIN + axis]
            layout.scale[sheet, LANES_X + axis] = LANES / length if length > 0.0 else 0.0
    for part in range(len(layout.kind)):
        sheet = int(layout.spots[part, SHEET])
        enlist(layout, part, sheet)
        write_box(layout, part)
        mark(layout, part, sheet)
