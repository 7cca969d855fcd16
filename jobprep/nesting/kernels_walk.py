"""Compiled walk of one part to where several others stop it.

Among parts whose overlap is exact, the cost of a spot is a sum of depths, each of which falls
linearly towards the nearest edge of a sum. Its least value lies at a corner of these edges: where
a part touches two others, or one and the sheet. A walk steps from corner to corner.

Terminology
-----------
wall    an edge near a spot: the direction that leads out of the overlap, the way to go in it
        (negative: how far one may go back before overlapping) and what each mm of overlap costs
"""

from __future__ import annotations

import math

from jobprep.nesting.kernels_inner import depth_from_edges, inlined, inner
from jobprep.nesting.kernels_lanes import NONE, ONE, lanes_at, lowest, word_at, words_of
from jobprep.nesting.kernels_overlap import spot_cost
from jobprep.nesting.kernels_spot import (
    COS,
    HIGH,
    LEFT,
    LOW,
    RIGHT,
    SHEET,
    SIN,
    TURN,
    X,
    Y,
    copy_spot,
    keep_inside,
)
from jobprep.nesting.layout import DISCS, WORD

MOST_WALLS = 20
"""Walls looked at around a spot; more would be a part among very many small ones."""

MOST_STEPS = 12
"""Spots tried in a walk: most need half as many to where no step is better."""

LEAST_GAIN = 1e-3
"""A walk ends where a step would save less than this share of the cost."""

SHEET_WEIGHT = 1e6
"""What each mm beyond the sheet costs in a step: so much that no step goes there."""


@inlined()
def add_wall(walls, count, cos, sin, nx, ny, depth, weight):  # type: ignore[no-untyped-def]
    """Append a wall seen in another part's frame; return how many there are."""
    if count < MOST_WALLS:
        walls[count, 0] = cos * nx - sin * ny
        walls[count, 1] = sin * nx + cos * ny
        walls[count, 2] = depth
        walls[count, 3] = weight
        count += 1
    return count


@inner()
def add_slope(fields, field, corner, gx, gy, cos, sin, weight, walls, count):  # type: ignore[no-untyped-def]
    """Append the way out of a cell deep inside a field, along its steepest fall."""
    depths = fields.depth
    row = fields.size[field, 1] + 1
    near = depths[corner]
    rise_x = depths[corner + row] - near
    rise_y = depths[corner + 1] - near
    twist = depths[corner + row + 1] - depths[corner + row] - rise_y
    depth = near + gx * rise_x + gy * (rise_y + gx * twist)
    sx = rise_x + gy * twist
    sy = rise_y + gx * twist
    slope = math.sqrt(sx * sx + sy * sy)
    # On a ridge of the field no way is the nearest.
    if slope * fields.frame[field, 2] < 1e-3:
        return count
    return add_wall(walls, count, cos, sin, -sx / slope, -sy / slope, depth, weight)


@inner()
def add_edges(fields, field, cell, x, y, cos, sin, reach, weight, walls, count):  # type: ignore[no-untyped-def]
    """Append the edges near a point in a field's band.

    From inside only the nearest is the way out; from outside all that face the point are in the
    way, and the corner nearest to it.
    """
    edges = fields.edges
    near = fields.near
    first = fields.first[cell]
    last = fields.first[cell + 1]
    depth = depth_from_edges(edges, near, first, last, x, y, fields.frame[field, 3])
    if depth < -reach:
        return count
    is_inside = depth > 0.0
    nearest = depth * depth * (1.0 + 1e-9) + 1e-24
    farthest = nearest if is_inside else reach * reach
    for k in range(first, last):
        e = near[k]
        dx = x - edges[e, 0]
        dy = y - edges[e, 1]
        ux = edges[e, 2]
        uy = edges[e, 3]
        along = dx * ux + dy * uy
        left = ux * dy - uy * dx
        beyond = along - min(max(along, 0.0), edges[e, 4])
        square = left * left + beyond * beyond
        if square > farthest:
            continue
        if beyond == 0.0:
            if (left > 0.0) != is_inside:
                continue
            count = add_wall(walls, count, cos, sin, uy, -ux, left, weight)
        elif square <= nearest:
            away = -1.0 if is_inside else 1.0
            nx = away * (beyond * ux - left * uy) / math.sqrt(square)
            ny = away * (beyond * uy + left * ux) / math.sqrt(square)
            count = add_wall(walls, count, cos, sin, nx, ny, depth, weight)
        else:
            continue
        if is_inside:
            break
    return count


@inlined()
def add_field_walls(fields, field, x, y, cos, sin, reach, weight, walls, count):  # type: ignore[no-untyped-def]
    """Append the walls of a field near a point; return how many there are."""
    frame = fields.frame
    size = fields.size
    gx = (x - frame[field, 0]) * frame[field, 2]
    gy = (y - frame[field, 1]) * frame[field, 2]
    n_y = size[field, 1]
    if gx <= 0.0 or gy <= 0.0 or gx >= size[field, 0] or gy >= n_y:
        return count
    ix = int(gx)
    iy = int(gy)
    cell = size[field, 2] + ix * n_y + iy
    if fields.first[cell] < fields.first[cell + 1]:
        return add_edges(fields, field, cell, x, y, cos, sin, reach, weight, walls, count)
    corner = size[field, 3] + ix * (n_y + 1) + iy
    if fields.depth[corner] <= 0.0:
        return count
    return add_slope(fields, field, corner, gx - ix, gy - iy, cos, sin, weight, walls, count)


@inlined()
def find_walls(fields, shapes, layout, weights, part, spot, reach, walls):  # type: ignore[no-untyped-def]
    """Write the walls around a spot; return how many, or -1 where an overlap is only sampled."""
    turn = int(spot[TURN])
    sheet = int(spot[SHEET])
    if turn < 0 or layout.fields[sheet] >= 0:
        return -1
    kind = layout.kind[part]
    spots = layout.spots
    boxes = layout.boxes
    bounds = layout.bounds
    kinds = len(shapes.own)
    n_turns = len(shapes.turns)
    x0 = spot[X] + spot[LEFT]
    y0 = spot[Y] + spot[LOW]
    x1 = spot[X] + spot[RIGHT]
    y1 = spot[Y] + spot[HIGH]
    # A spot lies on its sheet, but for rounding.
    left = min(0.0, bounds[sheet, 0] - x0)
    low = min(0.0, bounds[sheet, 1] - y0)
    right = min(0.0, x1 - bounds[sheet, 2])
    high = min(0.0, y1 - bounds[sheet, 3])
    count = add_wall(walls, 0, 1.0, 0.0, 1.0, 0.0, left, SHEET_WEIGHT)
    count = add_wall(walls, count, 1.0, 0.0, 0.0, 1.0, low, SHEET_WEIGHT)
    count = add_wall(walls, count, 1.0, 0.0, -1.0, 0.0, right, SHEET_WEIGHT)
    count = add_wall(walls, count, 1.0, 0.0, 0.0, -1.0, high, SHEET_WEIGHT)
    at = lanes_at(layout, sheet, x0 - reach, y0 - reach, x1 + reach, y1 + reach)
    n_words = words_of(layout, sheet)
    word = -1
    bits = NONE
    while True:
        while bits == NONE:
            word += 1
            if word == n_words:
                return count
            bits = word_at(layout.lanes, sheet, word, *at)
        other = layout.members[sheet, WORD * word + lowest(bits)]
        bits &= bits - ONE
        if (
            (boxes[0, other] >= x1 + reach)
            | (boxes[2, other] <= x0 - reach)
            | (boxes[1, other] >= y1 + reach)
            | (boxes[3, other] <= y0 - reach)
            | (other == part)
        ):
            continue
        if spots[other, TURN] < 0.0:
            return -1
        relative = turn - int(spots[other, TURN])
        if relative < 0:
            relative += n_turns
        field = shapes.pair[kind * kinds + layout.kind[other], relative]
        weight = weights.pair[part, other]
        dx = spot[X] - spots[other, X]
        dy = spot[Y] - spots[other, Y]
        if field == DISCS:
            distance = math.sqrt(dx * dx + dy * dy)
            depth = shapes.radius[kind] + shapes.radius[layout.kind[other]] - distance
            if distance > 0.0:
                nx = dx / distance
                ny = dy / distance
                count = add_wall(walls, count, 1.0, 0.0, nx, ny, depth, weight)
        elif field >= 0:
            cos = spots[other, COS]
            sin = spots[other, SIN]
            x = cos * dx + sin * dy
            y = cos * dy - sin * dx
            count = add_field_walls(fields, field, x, y, cos, sin, reach, weight, walls, count)
        else:
            return -1


@inlined()
def cost_among(walls, count, x, y, enough):  # type: ignore[no-untyped-def]
    """Return what a step would cost if all walls were straight, or more than ``enough``."""
    cost = 0.0
    for k in range(count):
        left = walls[k, 2] - walls[k, 0] * x - walls[k, 1] * y
        if left > 0.0:
            cost += walls[k, 3] * left
            if cost > enough:
                return cost
    return cost


@inlined()
def best_step(walls, count, reach, step):  # type: ignore[no-untyped-def]
    """Write the step of least cost among straight walls, at most ``reach``; return that cost.

    It ends on one wall or where two meet.
    """
    best = cost_among(walls, count, 0.0, 0.0, 1e300)
    here = best
    step[0] = step[1] = 0.0
    limit = reach * reach
    # Of steps that cost the same, the shortest.
    length = 0.0
    for i in range(count):
        ax = walls[i, 0]
        ay = walls[i, 1]
        a = walls[i, 2]
        if abs(a) > reach:
            continue
        for j in range(i, count):
            if j == i:
                x = a * ax
                y = a * ay
            else:
                bx = walls[j, 0]
                by = walls[j, 1]
                b = walls[j, 2]
                cross = ax * by - ay * bx
                if abs(b) > reach or abs(cross) < 1e-6:
                    continue
                x = (a * by - b * ay) / cross
                y = (b * ax - a * bx) / cross
            square = x * x + y * y
            if square > limit:
                continue
            cost = cost_among(walls, count, x, y, best + 1e-12 * here)
            if cost < best - 1e-9 * here or (cost <= best + 1e-9 * here and square < length):
                best = cost
                length = square
                step[0] = x
                step[1] = y
    return best


@inner()
def walk(fields, shapes, layout, weights, part, spot, cost, reach, walls, trial):  # type: ignore[no-untyped-def]
    """Walk a spot downhill from corner to corner; return its cost and how many spots were tried.

    The count is -1, and nothing done, where a neighbour's overlap is only sampled. Looking for
    walls and the step among them takes as long as two spots, and counts as such. ``walls`` is
    scratch, (MOST_WALLS + 1, 4).
    """
    tried = 0
    step = walls[MOST_WALLS]
    is_better = True
    while is_better and tried < MOST_STEPS and cost > 0.0:
        count = find_walls(fields, shapes, layout, weights, part, spot, reach, walls)
        if count < 0:
            return cost, -1 if tried == 0 else tried
        tried += 2
        is_better = False
        while tried < MOST_STEPS:
            hoped = best_step(walls, count, reach, step)
            if hoped >= cost * (1.0 - LEAST_GAIN):
                break
            copy_spot(spot, trial)
            trial[X] += step[0]
            trial[Y] += step[1]
            keep_inside(layout, trial)
            tried += 1
            value = spot_cost(fields, shapes, layout, weights, part, trial, cost)
            if value < cost:
                is_better = value < cost * (1.0 - LEAST_GAIN)
                cost = value
                copy_spot(trial, spot)
                break
            # So far off the walls are not straight.
            reach = 0.5 * math.sqrt(step[0] * step[0] + step[1] * step[1])
    return cost, tried
