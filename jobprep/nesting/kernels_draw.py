"""Compiled drawing of spots at random: anywhere, touching another part, flush with its edge."""

from __future__ import annotations

import math

from jobprep.nesting.columns import (
    ALONG_X,
    ALONG_Y,
    ANGLE,
    BEARINGS,
    CORNER_X,
    CORNER_Y,
    COS,
    HIGH,
    LEFT,
    LENGTH,
    LOW,
    RIGHT,
    SHEET,
    SIN,
    START_X,
    START_Y,
    X_MAX,
    X_MIN,
    Y_MAX,
    Y_MIN,
    X,
    Y,
)
from jobprep.nesting.kernels_hull import SECTORS_PER_RADIAN, corner_at
from jobprep.nesting.kernels_inner import inlined, inner
from jobprep.nesting.kernels_overlap import field_of
from jobprep.nesting.kernels_spot import FULL_TURN, ROUNDING, is_inside, random_unit, turn_spot
from jobprep.nesting.layout import DISCS, SAMPLED

FLUSH = 0.6
"""Share of free turns drawn so that a straight edge lies along the sheet's."""


@inlined()
def draw_turn(shapes, kind, random, spot):  # type: ignore[no-untyped-def]
    """Turn a spot at random within what is allowed."""
    n = shapes.n_turns[kind]
    if n > 0:
        step = len(shapes.turns) // n
        turn_spot(shapes, kind, step * int(random_unit(random) * n), 0.0, spot)
        return
    angle = random_unit(random) * FULL_TURN
    first = shapes.straight_first[kind]
    count = shapes.straight_first[kind + 1] - first
    if count > 0 and random_unit(random) < FLUSH:
        edge = shapes.straight[first + int(random_unit(random) * count)]
        own = math.atan2(shapes.edges[edge, ALONG_Y], shapes.edges[edge, ALONG_X])
        angle = 0.5 * math.pi * int(random_unit(random) * 4.0) - own
    turn_spot(shapes, kind, -1, angle, spot)


@inlined()
def draw_spot(shapes, layout, kind, random, spot):  # type: ignore[no-untyped-def]
    """Draw a spot anywhere on the sheets; return False when the part does not fit there."""
    sheet = 0
    share = random_unit(random)
    while sheet < len(layout.share) - 1 and share >= layout.share[sheet]:
        sheet += 1
    spot[SHEET] = sheet
    draw_turn(shapes, kind, random, spot)
    bounds = layout.bounds
    x0 = bounds[sheet, X_MIN] - spot[LEFT]
    x1 = bounds[sheet, X_MAX] - spot[RIGHT]
    y0 = bounds[sheet, Y_MIN] - spot[LOW]
    y1 = bounds[sheet, Y_MAX] - spot[HIGH]
    if x0 > x1 + ROUNDING or y0 > y1 + ROUNDING:
        return False
    spot[X] = x0 + random_unit(random) * max(0.0, x1 - x0)
    spot[Y] = y0 + random_unit(random) * max(0.0, y1 - y0)
    return True


@inner()
def lay_against(shapes, layout, kind, other_kind, there, random, spot):  # type: ignore[no-untyped-def]
    """Turn a part at random and lay a corner of its hull at one of another's."""
    draw_turn(shapes, kind, random, spot)
    corners = shapes.hulls.corners
    bearing = BEARINGS * random_unit(random)
    turn = there[ANGLE] - spot[ANGLE]
    b = corner_at(shapes.hulls, other_kind, bearing)
    a = corner_at(shapes.hulls, kind, bearing + 0.5 * BEARINGS + turn * SECTORS_PER_RADIAN)
    ax, ay, bx, by = (
        corners[a, CORNER_X],
        corners[a, CORNER_Y],
        corners[b, CORNER_X],
        corners[b, CORNER_Y],
    )
    spot[X] = there[X] + there[COS] * bx - there[SIN] * by - spot[COS] * ax + spot[SIN] * ay
    spot[Y] = there[Y] + there[SIN] * bx + there[COS] * by - spot[SIN] * ax - spot[COS] * ay
    return is_inside(layout, spot)


@inner()
def lay_flush(shapes, layout, kind, other_kind, there, random, spot):  # type: ignore[no-untyped-def]
    """Lay a straight edge of a part along one of another, corner to corner.

    Where either has none, just let their hulls touch.
    """
    first = shapes.straight_first[kind]
    count = shapes.straight_first[kind + 1] - first
    other_first = shapes.straight_first[other_kind]
    other_count = shapes.straight_first[other_kind + 1] - other_first
    if count == 0 or other_count == 0:
        return lay_against(shapes, layout, kind, other_kind, there, random, spot)
    edges = shapes.edges
    mine = shapes.straight[first + int(random_unit(random) * count)]
    theirs = shapes.straight[other_first + int(random_unit(random) * other_count)]
    own = math.atan2(edges[mine, ALONG_Y], edges[mine, ALONG_X])
    target = math.atan2(edges[theirs, ALONG_Y], edges[theirs, ALONG_X])
    turn_spot(shapes, kind, -1, there[ANGLE] + target + math.pi - own, spot)
    # My start meets their end, or my end their start.
    at_end = random_unit(random) < 0.5
    ax = edges[mine, START_X]
    ay = edges[mine, START_Y]
    bx = edges[theirs, START_X]
    by = edges[theirs, START_Y]
    if at_end:
        bx += edges[theirs, LENGTH] * edges[theirs, ALONG_X]
        by += edges[theirs, LENGTH] * edges[theirs, ALONG_Y]
    else:
        ax += edges[mine, LENGTH] * edges[mine, ALONG_X]
        ay += edges[mine, LENGTH] * edges[mine, ALONG_Y]
    spot[X] = there[X] + there[COS] * bx - there[SIN] * by - spot[COS] * ax + spot[SIN] * ay
    spot[Y] = there[Y] + there[SIN] * bx + there[COS] * by - spot[SIN] * ax - spot[COS] * ay
    return is_inside(layout, spot)


@inlined()
def draw_touching(fields, shapes, layout, part, random, spot):  # type: ignore[no-untyped-def]
    """Draw a spot where a part touches another; return False when it does not fit there."""
    kind = layout.kind[part]
    other = int(random_unit(random) * len(layout.kind))
    if other == part:
        return False
    there = layout.spots[other]
    other_kind = layout.kind[other]
    spot[SHEET] = there[SHEET]
    if shapes.n_turns[kind] == 0:
        return lay_flush(shapes, layout, kind, other_kind, there, random, spot)
    draw_turn(shapes, kind, random, spot)
    field = field_of(shapes, kind, spot, other_kind, there)
    if field == SAMPLED:
        return lay_against(shapes, layout, kind, other_kind, there, random, spot)
    if field == DISCS:
        reach = shapes.radius[kind] + shapes.radius[other_kind]
        angle = FULL_TURN * random_unit(random)
        vx = reach * math.cos(angle)
        vy = reach * math.sin(angle)
    else:
        first = fields.edge_first[field]
        edge = first + int(random_unit(random) * (fields.edge_first[field + 1] - first))
        along = max(0.0, 2.0 * random_unit(random) - 1.0) * fields.edges[edge, LENGTH]
        vx = fields.edges[edge, START_X] + along * fields.edges[edge, ALONG_X]
        vy = fields.edges[edge, START_Y] + along * fields.edges[edge, ALONG_Y]
    spot[X] = there[X] + there[COS] * vx - there[SIN] * vy
    spot[Y] = there[Y] + there[SIN] * vx + there[COS] * vy
    return is_inside(layout, spot)
