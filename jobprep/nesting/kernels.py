"""Compiled search: move overlapping parts until nothing overlaps.

Terminology
-----------
spot       a part's place as numbers: x, y, angle, cos, sin, turn (or -1), sheet, then the bounds
           of the turned part about its origin: least x, least y, greatest x, greatest y
overlap    of two parts: how deep they lie in each other, mm; 0 when they do not overlap
weight     grows while a pair overlaps, so that stubborn pairs come to matter more
cost       weighted overlaps of one part at a spot

The method is guided local search over relaxed layouts: Egeblad, Nielsen & Odgaard, EJOR 183
(2007) 1249-1266; Umetani et al., Int. Trans. Oper. Res. 16 (2009) 661-683; Gardeyn, Vanden Berghe
& Wauters, arXiv:2509.13329 (2025).
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit, types

from jobprep.nesting.fields import Fields
from jobprep.nesting.kernels_field import depth_from_edges, inner
from jobprep.nesting.layout import DISCS, SAMPLED, Layout, Shapes, Weights

X, Y, ANGLE, COS, SIN, TURN, SHEET, LEFT, LOW, RIGHT, HIGH = range(11)
FULL_TURN = 2.0 * math.pi
FLUSH = 0.6
"""Share of free turns drawn so that a straight edge lies along a neighbour's or the sheet's."""

HIDDEN = 1e-3
"""Overlap, as a share of a part's size, of parts that cross where no sample point tells."""

_named: Any = types.NamedTuple

FIELDS = _named(
    (
        types.f8[:, ::1],
        types.i8[:, ::1],
        types.f4[::1],
        types.i4[::1],
        types.i4[::1],
        types.f8[:, ::1],
        types.i8[::1],
    ),
    Fields,
)
SHAPES = _named(
    (
        types.i4[:, ::1],
        types.f8[:, ::1],
        types.i8[::1],
        types.f8[:, :, ::1],
        types.i8[::1],
        types.f8[:, ::1],
        types.i8[::1],
        types.f8[:, ::1],
        types.i8[::1],
        types.f8[::1],
        types.f8[::1],
        types.i8[::1],
        types.i8[::1],
    ),
    Shapes,
)
LAYOUT = _named(
    (
        types.i8[::1],
        types.f8[:, ::1],
        types.f8[:, ::1],
        types.f8[:, ::1],
        types.i8[::1],
        types.f8[::1],
        types.i8[:, ::1],
        types.i8[::1],
        types.i8[::1],
    ),
    Layout,
)
WEIGHTS = _named((types.f4[:, ::1], types.f8[::1]), Weights)


@inner()
def random_unit(state):  # type: ignore[no-untyped-def]
    """Return the next random number, 0 <= number < 1 (xorshift64*, Vigna 2016)."""
    x = state[0]
    x ^= x >> np.uint64(12)
    x ^= x << np.uint64(25)
    x ^= x >> np.uint64(27)
    state[0] = x
    return float((x * np.uint64(2685821657736338717)) >> np.uint64(11)) * (1.0 / 9007199254740992.0)


@inner(inline="always")
def field_depth(fields, field, x, y):  # type: ignore[no-untyped-def]
    """Return how deep a point lies in a field; 0 outside."""
    frame = fields.frame
    inverse = frame[field, 2]
    gx = (x - frame[field, 0]) * inverse
    gy = (y - frame[field, 1]) * inverse
    size = fields.size
    n_y = size[field, 1]
    if not (gx > 0.0 and gy > 0.0 and gx < size[field, 0] and gy < n_y):
        return 0.0
    ix = int(gx)
    iy = int(gy)
    cell = size[field, 2] + ix * n_y + iy
    first = fields.first[cell]
    last = fields.first[cell + 1]
    if first == last:
        corner = size[field, 3] + ix * (n_y + 1) + iy
        corners = fields.depth
        near = corners[corner]
        if near <= 0.0:
            return 0.0
        gx -= ix
        gy -= iy
        low = near + gx * (corners[corner + n_y + 1] - near)
        high = corners[corner + 1] + gx * (corners[corner + n_y + 2] - corners[corner + 1])
        return low + gy * (high - low)
    slack = frame[field, 3]
    depth = depth_from_edges(fields.edges, fields.near, first, last, x, y, slack)
    return depth if depth > slack else 0.0


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
def _sampled(fields, shapes, field, kind, cos, sin, x, y):  # type: ignore[no-untyped-def]
    """Return the depth of a turned and shifted part's sample points in a field, summed."""
    total = 0.0
    samples = shapes.samples
    for k in range(shapes.sample_first[kind], shapes.sample_first[kind + 1]):
        px = samples[k, 0]
        py = samples[k, 1]
        d = field_depth(fields, field, cos * px - sin * py + x, sin * px + cos * py + y)
        if d > 0.0:
            total += d * samples[k, 2]
    return total


@inner()
def disc_overlap(reach, dx, dy):  # type: ignore[no-untyped-def]
    """Return the overlap of two discs; ``reach`` is the sum of their radii."""
    square = dx * dx + dy * dy
    inner = reach * (1.0 - 1e-12)
    return reach - math.sqrt(square) if square < inner * inner else 0.0


@inner()
def outlines_cross(shapes, kind, spot, other_kind, other):  # type: ignore[no-untyped-def]
    """Return whether an edge of one part crosses an edge of another."""
    cos = spot[COS] * other[COS] + spot[SIN] * other[SIN]
    sin = spot[SIN] * other[COS] - spot[COS] * other[SIN]
    dx = spot[X] - other[X]
    dy = spot[Y] - other[Y]
    vx = other[COS] * dx + other[SIN] * dy
    vy = other[COS] * dy - other[SIN] * dx
    return edges_cross(
        shapes.edges,
        shapes.edge_first[kind],
        shapes.edge_first[kind + 1],
        cos,
        sin,
        vx,
        vy,
        shapes.edges,
        shapes.edge_first[other_kind],
        shapes.edge_first[other_kind + 1],
    )


@inner()
def edges_cross(a, a_first, a_last, cos, sin, x, y, b, b_first, b_last):  # type: ignore[no-untyped-def]
    """Return whether any edge of ``a``, turned and shifted, crosses an edge of ``b``.

    Edges that only touch, or cross by less than 1e-9 of their length, do not count.
    """
    for i in range(a_first, a_last):
        ax = cos * a[i, 0] - sin * a[i, 1] + x
        ay = sin * a[i, 0] + cos * a[i, 1] + y
        ux = cos * a[i, 2] - sin * a[i, 3]
        uy = sin * a[i, 2] + cos * a[i, 3]
        length = a[i, 4]
        for j in range(b_first, b_last):
            bx = b[j, 0] - ax
            by = b[j, 1] - ay
            reach = b[j, 4]
            slack = 1e-9 * (length + reach)
            left = ux * by - uy * bx
            far = left + reach * (ux * b[j, 3] - uy * b[j, 2])
            if (left > slack) == (far > slack) or (left < -slack) == (far < -slack):
                continue
            near = b[j, 3] * bx - b[j, 2] * by
            end = near + length * (b[j, 2] * uy - b[j, 3] * ux)
            if (near > slack) != (end > slack) and (near < -slack) != (end < -slack):
                return True
    return False


@inner()
def is_exact(shapes, kind, spot, other_kind, other):  # type: ignore[no-untyped-def]
    """Return whether the overlap of two parts is exact, not sampled."""
    if spot[TURN] < 0.0 or other[TURN] < 0.0:
        return False
    relative = int(spot[TURN] - other[TURN])
    if relative < 0:
        relative += len(shapes.turns)
    return shapes.pair[kind * len(shapes.own) + other_kind, relative] != SAMPLED


@inner()
def pair_overlap(fields, shapes, kind, spot, other_kind, other):  # type: ignore[no-untyped-def]
    """Return the overlap of two parts whose bounds overlap."""
    dx = spot[X] - other[X]
    dy = spot[Y] - other[Y]
    # Seen from the other part's own frame.
    vx = other[COS] * dx + other[SIN] * dy
    vy = other[COS] * dy - other[SIN] * dx
    if spot[TURN] >= 0.0 and other[TURN] >= 0.0:
        n_turns = len(shapes.turns)
        relative = int(spot[TURN] - other[TURN])
        if relative < 0:
            relative += n_turns
        field = shapes.pair[kind * len(shapes.own) + other_kind, relative]
        if field == DISCS:
            return disc_overlap(shapes.radius[kind] + shapes.radius[other_kind], dx, dy)
        if field >= 0:
            return field_depth(fields, field, vx, vy)
    cos = spot[COS] * other[COS] + spot[SIN] * other[SIN]
    sin = spot[SIN] * other[COS] - spot[COS] * other[SIN]
    total = _sampled(fields, shapes, shapes.own[other_kind], kind, cos, sin, vx, vy)
    vx = -spot[COS] * dx - spot[SIN] * dy
    vy = spot[SIN] * dx - spot[COS] * dy
    total += _sampled(fields, shapes, shapes.own[kind], other_kind, cos, -sin, vx, vy)
    return total


@inner()
def sheet_overlap(fields, shapes, layout, kind, spot):  # type: ignore[no-untyped-def]
    """Return how far a part reaches over the edge of its sheet."""
    sheet = int(spot[SHEET])
    bounds = layout.bounds
    over = max(0.0, spot[X] + spot[RIGHT] - bounds[sheet, 2] - 1e-9)
    over += max(0.0, spot[Y] + spot[HIGH] - bounds[sheet, 3] - 1e-9)
    field = layout.fields[sheet]
    if field >= 0:
        over += _sampled(fields, shapes, field, kind, spot[COS], spot[SIN], spot[X], spot[Y])
        # The other way round: a defect smaller than the part may lie between all its points.
        own = shapes.own[kind]
        edges = fields.edges
        for k in range(fields.edge_first[field], fields.edge_first[field + 1]):
            x = edges[k, 0] - spot[X]
            y = edges[k, 1] - spot[Y]
            if spot[LEFT] < x < spot[RIGHT] and spot[LOW] < y < spot[HIGH]:
                x, y = spot[COS] * x + spot[SIN] * y, spot[COS] * y - spot[SIN] * x
                over += 0.5 * field_depth(fields, own, x, y)
    return over


@inner()
def sheet_crossed(fields, shapes, kind, spot, field):  # type: ignore[no-untyped-def]
    """Return whether an edge of a part crosses the edge of its sheet."""
    first = fields.edge_first[field]
    last = fields.edge_first[field + 1]
    return edges_cross(
        shapes.edges,
        shapes.edge_first[kind],
        shapes.edge_first[kind + 1],
        spot[COS],
        spot[SIN],
        spot[X],
        spot[Y],
        fields.edges,
        first,
        last,
    )


@inner()
def spot_cost(fields, shapes, layout, weights, part, spot, enough):  # type: ignore[no-untyped-def]
    """Return a part's cost at a spot, or any number above ``enough`` once it exceeds that."""
    kind = layout.kind[part]
    spots = layout.spots
    cost = weights.edge[part] * sheet_overlap(fields, shapes, layout, kind, spot)
    if cost > enough:
        return cost
    sheet = spot[SHEET]
    turn = int(spot[TURN])
    x0 = spot[X] + spot[LEFT]
    y0 = spot[Y] + spot[LOW]
    x1 = spot[X] + spot[RIGHT]
    y1 = spot[Y] + spot[HIGH]
    boxes = layout.boxes
    kinds = len(shapes.own)
    n_turns = len(shapes.turns)
    on_sheet = int(sheet)
    members = layout.members
    for number in range(layout.n_members[on_sheet]):
        other = members[on_sheet, number]
        if (
            (boxes[0, other] >= x1)
            | (boxes[2, other] <= x0)
            | (boxes[1, other] >= y1)
            | (boxes[3, other] <= y0)
        ):
            continue
        if other == part:
            continue
        field = -1
        relative = turn - int(spots[other, TURN])
        if turn >= 0 and relative <= turn:
            if relative < 0:
                relative += n_turns
            field = shapes.pair[kind * kinds + layout.kind[other], relative]
        dx = spot[X] - spots[other, X]
        dy = spot[Y] - spots[other, Y]
        if field == DISCS:
            overlap = disc_overlap(shapes.radius[kind] + shapes.radius[layout.kind[other]], dx, dy)
        elif field >= 0:
            cos = spots[other, COS]
            sin = spots[other, SIN]
            overlap = field_depth(fields, field, cos * dx + sin * dy, cos * dy - sin * dx)
        else:
            overlap = pair_overlap(fields, shapes, kind, spot, layout.kind[other], spots[other])
        if overlap > 0.0:
            cost += weights.pair[part, other] * overlap
            if cost > enough:
                return cost
    return cost


@inner()
def put(layout, part, spot):  # type: ignore[no-untyped-def]
    """Move a part to a spot."""
    old = int(layout.spots[part, SHEET])
    new = int(spot[SHEET])
    if old != new:
        place = layout.place[part]
        layout.n_members[old] -= 1
        last = layout.members[old, layout.n_members[old]]
        layout.members[old, place] = last
        layout.place[last] = place
        enlist(layout, part, new)
    copy_spot(spot, layout.spots[part])
    write_box(layout, part)


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
def enter(layout):  # type: ignore[no-untyped-def]
    """Make boxes and members fit the spots."""
    for sheet in range(len(layout.n_members)):
        layout.n_members[sheet] = 0
    for part in range(len(layout.kind)):
        enlist(layout, part, int(layout.spots[part, SHEET]))
        write_box(layout, part)


@inner()
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


@inner()
def draw_touching(fields, shapes, layout, part, random, spot):  # type: ignore[no-untyped-def]
    """Draw a spot where a part touches another; return False when it does not fit there."""
    kind = layout.kind[part]
    other = int(random_unit(random) * len(layout.kind))
    if other == part:
        return False
    there = layout.spots[other]
    other_kind = layout.kind[other]
    spot[SHEET] = there[SHEET]
    draw_turn(shapes, layout, kind, random, spot)
    if not is_exact(shapes, kind, spot, other_kind, there):
        return lay_flush(shapes, layout, kind, other_kind, there, random, spot)
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


@inner()
def lay_flush(shapes, layout, kind, other_kind, there, random, spot):  # type: ignore[no-untyped-def]
    """Lay a straight edge of a part along one of another, corner to corner."""
    first = shapes.straight_first[kind]
    count = shapes.straight_first[kind + 1] - first
    other_first = shapes.straight_first[other_kind]
    other_count = shapes.straight_first[other_kind + 1] - other_first
    if count == 0 or other_count == 0 or shapes.n_turns[kind] > 0:
        return False
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
def descend(fields, shapes, layout, weights, part, spot, cost, step, least, random, trial):  # type: ignore[no-untyped-def]
    """Walk a spot downhill along random axes, with steps that grow and shrink; return its cost.

    Also returns how many spots were tried.
    """
    kind = layout.kind[part]
    size = shapes.size[kind]
    free = shapes.n_turns[kind] == 0
    turn_step = step / size
    tried = 0
    better = False
    axis = 0
    sign = 1.0
    while step > least and cost > 0.0:
        if not better:
            axis = int(random_unit(random) * (5 if free else 4))
            sign = 1.0 if random_unit(random) < 0.5 else -1.0
        dx = dy = turn = 0.0
        if axis == 0:
            dx = step
        elif axis == 1:
            dy = step
        elif axis == 2:
            dx = dy = 0.7 * step
        elif axis == 3:
            dx = 0.7 * step
            dy = -dx
        else:
            turn = turn_step
        # What went well is tried again; after a failure the other way, then another axis.
        better = False
        for _ in range(2):
            copy_spot(spot, trial)
            trial[X] += sign * dx
            trial[Y] += sign * dy
            if turn != 0.0:
                turn_spot(shapes, kind, -1, spot[ANGLE] + sign * turn, trial)
            if keep_inside(layout, trial):
                tried += 1
                value = spot_cost(fields, shapes, layout, weights, part, trial, cost)
                if value < cost:
                    cost = value
                    copy_spot(trial, spot)
                    better = True
                    break
            sign = -sign
        if better:
            step *= 1.1
            turn_step *= 1.1
        else:
            step *= 0.5
            turn_step *= 0.5
    return cost, tried


@inner()
def move_part(fields, shapes, layout, weights, part, tries, random, work, hidden):  # type: ignore[no-untyped-def]
    """Move a part to the cheapest spot found; return how many spots were tried.

    ``tries``: spots drawn anywhere, spots drawn nearby, spots walked downhill. ``work`` is
    scratch, (tries[2] + 3, 12); its last column holds costs.
    """
    kind = layout.kind[part]
    size = shapes.size[kind]
    here = layout.spots[part]
    n_best = tries[2]
    spot = work[n_best, :11]
    trial = work[n_best + 1, :11]
    start = spot_cost(fields, shapes, layout, weights, part, here, 1e300)
    if start <= 0.0:
        if not hidden:
            return 1
        start = HIDDEN * size
    for k in range(n_best):
        work[k, 11] = 1e300
    copy_spot(here, work[0])
    work[0, 11] = start
    tried = 1
    for draw in range(tries[0] + tries[1]):
        if draw < tries[0]:
            if draw < tries[6]:
                if not draw_touching(fields, shapes, layout, part, random, spot):
                    continue
            elif not draw_spot(shapes, layout, kind, random, spot):
                continue
        else:
            copy_spot(here, spot)
            if random_unit(random) < 0.5:
                draw_turn(shapes, layout, kind, random, spot)
            spot[X] = here[X] + (random_unit(random) - 0.5) * 1.0 * size
            spot[Y] = here[Y] + (random_unit(random) - 0.5) * 1.0 * size
            if not keep_inside(layout, spot):
                continue
        tried += 1
        cost = spot_cost(fields, shapes, layout, weights, part, spot, work[n_best - 1, 11])
        if cost < work[n_best - 1, 11]:
            k = n_best - 1
            while k > 0 and work[k - 1, 11] > cost:
                copy_spot(work[k - 1], work[k])
                work[k, 11] = work[k - 1, 11]
                k -= 1
            copy_spot(spot, work[k])
            work[k, 11] = cost
            if cost <= 0.0:
                break
    best = 0
    for k in range(n_best):
        if work[k, 11] < 1e300 and work[best, 11] > 0.0:
            work[k, 11], more = descend(
                fields,
                shapes,
                layout,
                weights,
                part,
                work[k, :11],
                work[k, 11],
                0.2 * size,
                0.02 * size,
                random,
                trial,
            )
            tried += more
            if work[k, 11] < work[best, 11]:
                best = k
    cost, more = descend(
        fields,
        shapes,
        layout,
        weights,
        part,
        work[best, :11],
        work[best, 11],
        0.02 * size,
        0.0005 * size,
        random,
        trial,
    )
    if cost <= start:
        put(layout, part, work[best, :11])
    return tried + more


@inner()
def find_overlaps(fields, shapes, layout, pairs, depths, over):  # type: ignore[no-untyped-def]
    """Write all overlapping pairs, their overlaps, and each part's overlap of the sheet's edge.

    Returns how many pairs, or -1 when there are more than ``pairs`` holds.
    """
    n = len(layout.kind)
    spots = layout.spots
    boxes = layout.boxes
    count = 0
    for i in range(n):
        here = spots[i]
        over[i] = sheet_overlap(fields, shapes, layout, layout.kind[i], here)
        field = layout.fields[int(here[SHEET])]
        if (
            over[i] <= 0.0
            and field >= 0
            and sheet_crossed(fields, shapes, layout.kind[i], here, field)
        ):
            over[i] = HIDDEN * shapes.size[layout.kind[i]]
        sheet = int(here[SHEET])
        for number in range(layout.n_members[sheet]):
            j = layout.members[sheet, number]
            if (
                (j >= i)
                | (boxes[0, j] >= boxes[2, i])
                | (boxes[2, j] <= boxes[0, i])
                | (boxes[1, j] >= boxes[3, i])
                | (boxes[3, j] <= boxes[1, i])
            ):
                continue
            there = spots[j]
            kind, other = layout.kind[i], layout.kind[j]
            overlap = pair_overlap(fields, shapes, kind, here, other, there)
            if (
                overlap <= 0.0
                and not is_exact(shapes, kind, here, other, there)
                and outlines_cross(shapes, kind, here, other, there)
            ):
                overlap = HIDDEN * min(shapes.size[kind], shapes.size[other])
            if overlap > 0.0:
                if count == len(depths):
                    return -1
                pairs[count, 0] = i
                pairs[count, 1] = j
                depths[count] = overlap
                count += 1
    return count


@inner()
def raise_weights(weights, pairs, depths, count, over):  # type: ignore[no-untyped-def]
    """Let all weights sink towards 1, and those of overlapping pairs grow with their overlap."""
    n = len(over)
    worst = 1e-300
    for k in range(count):
        worst = max(worst, depths[k])
    for i in range(n):
        worst = max(worst, over[i])
    for i in range(n):
        for j in range(n):
            weights.pair[i, j] = max(np.float32(1.0), weights.pair[i, j] * np.float32(0.95))
        if over[i] > 0.0:
            weights.edge[i] *= 1.2 + 0.8 * over[i] / worst
        else:
            weights.edge[i] = max(1.0, weights.edge[i] * 0.95)
    for k in range(count):
        i, j = pairs[k, 0], pairs[k, 1]
        grown = weights.pair[i, j] * np.float32((1.2 + 0.8 * depths[k] / worst) / 0.95)
        weights.pair[i, j] = grown
        weights.pair[j, i] = grown


@njit(
    types.i8(
        FIELDS,
        SHAPES,
        LAYOUT,
        WEIGHTS,
        types.f8[:, ::1],
        types.i8[::1],
        types.u8[::1],
        types.i8[::1],
    ),
    cache=True,
    nogil=True,
)
def separate(fields, shapes, layout, weights, best, limits, random, count):  # type: ignore[no-untyped-def]
    """Move overlapping parts about until nothing overlaps.

    ``limits``: tries anywhere, tries nearby, walks, passes without progress before a strike,
    strikes, most spots to try, and how many of the tries anywhere touch another part.
    ``count[0]`` grows by the spots tried; ``count[1:4]`` keep passes, strikes, and whether the
    search has begun, between calls; a nonzero ``count[4]`` stops it. ``best`` (parts + 1, 12)
    keeps the layout with least overlap so far; ``best[0, 11]`` its total overlap, ``best[1, 11]``
    that at the last real progress.

    Returns 0: nothing overlaps; 1: given up, the best layout put back; 2: out of spots, call
    again.
    """
    n = len(layout.kind)
    room = 16 * n + 64
    pairs = np.empty((room, 2), np.int64)
    depths = np.empty(room)
    over = np.empty(n)
    work = np.empty((limits[2] + 3, 12))
    queue = np.empty(n, np.int64)
    is_in = np.empty(n, np.bool_)
    is_hidden = np.empty(n, np.bool_)
    stop = count[0] + limits[5]
    enter(layout)
    while True:
        n_pairs = find_overlaps(fields, shapes, layout, pairs, depths, over)
        while n_pairs < 0:
            room *= 2
            pairs = np.empty((room, 2), np.int64)
            depths = np.empty(room)
            n_pairs = find_overlaps(fields, shapes, layout, pairs, depths, over)
        total = over.sum() + depths[:n_pairs].sum()
        if total <= 0.0:
            return 0
        if count[3] == 0:
            count[1] = count[2] = 0
            count[3] = 1
            best[0, 11] = 1e300
            best[1, 11] = 1e300
        count[1] += 1
        if total < best[0, 11]:
            for i in range(n):
                copy_spot(layout.spots[i], best[i])
            if total < 0.98 * best[1, 11]:
                # Real progress: the count of idle passes and strikes starts anew.
                best[1, 11] = total
                count[1] = 0
            best[0, 11] = total
        if count[1] > limits[3]:
            count[1] = 0
            count[2] += 1
            if best[1, 11] > best[0, 11]:
                best[1, 11] = best[0, 11]
            for i in range(n):
                put(layout, i, best[i, :11])
            if count[2] >= limits[4]:
                return 1
            continue
        if count[0] >= stop or count[4] != 0:
            return 2
        raise_weights(weights, pairs, depths, n_pairs, over)
        n_queue = 0
        is_in[:] = False
        is_hidden[:] = False
        for i in range(n):
            if over[i] > 0.0:
                is_in[i] = True
                is_hidden[i] = over[i] == HIDDEN * shapes.size[layout.kind[i]]
        for k in range(n_pairs):
            i, j = pairs[k, 0], pairs[k, 1]
            is_in[i] = is_in[j] = True
            if depths[k] == HIDDEN * min(shapes.size[layout.kind[i]], shapes.size[layout.kind[j]]):
                is_hidden[i] = is_hidden[j] = True
        for i in range(n):
            if is_in[i]:
                queue[n_queue] = i
                n_queue += 1
        for k in range(n_queue - 1, 0, -1):
            other = int(random_unit(random) * (k + 1))
            queue[k], queue[other] = queue[other], queue[k]
        for k in range(n_queue):
            count[0] += move_part(
                fields, shapes, layout, weights, queue[k], limits, random, work, is_hidden[queue[k]]
            )
