"""Compiled drawing of spots at random: anywhere, touching another part, flush with its edge."""

from __future__ import annotations

import math

from jobprep.nesting.kernels_hull import SECTORS_PER_RADIAN, corner_at
from jobprep.nesting.kernels_inner import inlined, inner
from jobprep.nesting.kernels_overlap import is_exact
from jobprep.nesting.kernels_spot import (
    ANGLE,
    COS,
    FULL_TURN,
    HIGH,
    LEFT,
    LOW,
    RIGHT,
    SHEET,
    SIN,
    TURN,
    X,
    Y,
    is_inside,
    random_unit,
    turn_spot,
)
from jobprep.nesting.layout import BEARINGS, DISCS

FLUSH = 0.6
"""Share of free turns drawn so that a straight edge lies along the sheet's."""


@inlined()
def draw_turn(shapes, layout, kind, random, spot):  # type: ignore[no-untyped-def]
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
        own = math.atan2(shapes.edges[edge, 3], shapes.edges[edge, 2])
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
    draw_turn(shapes, layout, kind, random, spot)
    bounds = layout.bounds
    x0 = bounds[sheet, 0] - spot[LEFT]
    x1 = bounds[sheet, 2] - spot[RIGHT]
    y0 = bounds[sheet, 1] - spot[LOW]
    y1 = bounds[sheet, 3] - spot[HIGH]
    if x0 > x1 + 1e-9 or y0 > y1 + 1e-9:
        return False
    spot[X] = x0 + random_unit(random) * max(0.0, x1 - x0)
    spot[Y] = y0 + random_unit(random) * max(0.0, y1 - y0)
    return True


@inner()
def lay_against(shapes, layout, kind, other_kind, there, random, spot):  # type: ignore[no-untyped-def]
    """Turn a part at random and lay a corner of its hull at one of another's."""
    draw_turn(shapes, layout, kind, random, spot)
    hull = shapes.hull
    bearing = BEARINGS * random_unit(random)
    turn = there[ANGLE] - spot[ANGLE]
    b = corner_at(hull, shapes.table, other_kind, bearing)
    a = corner_at(hull, shapes.table, kind, bearing + 0.5 * BEARINGS + turn * SECTORS_PER_RADIAN)
    ax, ay, bx, by = hull[a, 0], hull[a, 1], hull[b, 0], hull[b, 1]
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
    own = math.atan2(edges[mine, 3], edges[mine, 2])
    target = math.atan2(edges[theirs, 3], edges[theirs, 2])
    turn_spot(shapes, kind, -1, there[ANGLE] + target + math.pi - own, spot)
    # My start meets their end, or my end their start.
    at_end = random_unit(random) < 0.5
    ax = edges[mine, 0]
    ay = edges[mine, 1]
    bx = edges[theirs, 0]
    by = edges[theirs, 1]
    if at_end:
        bx += edges[theirs, 4] * edges[theirs, 2]
        by += edges[theirs, 4] * edges[theirs, 3]
    else:
        ax += edges[mine, 4] * edges[mine, 2]
        ay += edges[mine, 4] * edges[mine, 3]
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
    draw_turn(shapes, layout, kind, random, spot)
    if not is_exact(shapes, kind, spot, other_kind, there):
        return lay_against(shapes, layout, kind, other_kind, there, random, spot)
    relative = int(spot[TURN] - there[TURN])
    if relative < 0:
        relative += len(shapes.turns)
    field = shapes.pair[kind * len(shapes.own) + other_kind, relative]
    if field == DISCS:
        reach = shapes.radius[kind] + shapes.radius[other_kind]
        angle = FULL_TURN * random_unit(random)
        vx = reach * math.cos(angle)
        vy = reach * math.sin(angle)
    else:
        first = fields.edge_first[field]
        edge = first + int(random_unit(random) * (fields.edge_first[field + 1] - first))
        along = max(0.0, 2.0 * random_unit(random) - 1.0) * fields.edges[edge, 4]
        vx = fields.edges[edge, 0] + along * fields.edges[edge, 2]
        vy = fields.edges[edge, 1] + along * fields.edges[edge, 3]
    spot[X] = there[X] + there[COS] * vx - there[SIN] * vy
    spot[Y] = there[Y] + there[SIN] * vx + there[COS] * vy
    return is_inside(layout, spot)
