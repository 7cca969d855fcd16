"""Compiled walk of one part to where several others stop it.

Among parts whose overlap is exact, the cost of a spot is a sum of depths, each of which falls
linearly towards the nearest edge of a sum. Its least value lies at a corner of these edges: where
a part touches two others, or one and the sheet. A walk steps from corner to corner.

Terminology
-----------
wall        an edge near a spot
neighbour   another part near a spot
"""

from __future__ import annotations

import math
from typing import NamedTuple

from jobprep.nesting.columns import (
    ALONG_X,
    ALONG_Y,
    CELLS_X,
    CELLS_Y,
    COS,
    FIRST_CELL,
    FIRST_CORNER,
    HIGH,
    LEFT,
    LENGTH,
    LOW,
    ORIGIN_X,
    ORIGIN_Y,
    OUT_X,
    OUT_Y,
    PER_MM,
    PRICE,
    RIGHT,
    SHEET,
    SIN,
    SLACK,
    START_X,
    START_Y,
    TURN,
    WAY,
    X_MAX,
    X_MIN,
    Y_MAX,
    Y_MIN,
    X,
    Y,
)
from jobprep.nesting.kernels_cost import NO_LIMIT, is_apart, spot_cost
from jobprep.nesting.kernels_inner import depth_from_edges, inlined, inner
from jobprep.nesting.kernels_lanes import NONE, ONE, lanes_at, lowest, word_at, words_of
from jobprep.nesting.kernels_spot import copy_spot, keep_inside
from jobprep.nesting.layout import DISCS, WORD

MOST_WALLS = 20
"""Walls looked at around a spot; more would be a part among very many small ones."""

MOST_STEPS = 12
"""Spots tried in a walk: most need half as many to where no step is better."""

PARALLEL = 1e-6
"""Walls whose directions differ by less, radians, do not meet."""

ROUNDED, ALIKE = 1e-12, 1e-9
"""Costs of steps that differ by no more than this share are rounding, or the same."""

NEARER = 0.5
"""Share of a step that went too far, the farthest the next may go."""

LEAST_GAIN = 1e-3
"""A walk ends where a step would save less than this share of the cost."""

LEAST_SLOPE = 1e-3
"""Where a field falls by less than this, it has a ridge, and no way out is the nearest."""

SHEET_PRICE = 1e6
"""What each mm beyond the sheet costs in a step: so much that no step goes there."""


class Neighbour(NamedTuple):
    """How another part is turned, where the spot lies in its frame, and what each mm costs."""

    cos: float
    sin: float
    x: float
    y: float
    price: float


@inlined()
def add_wall(walls, count, neighbour, nx, ny, way):  # type: ignore[no-untyped-def]
    """Append a wall seen in a neighbour's frame; return how many there are."""
    if count < MOST_WALLS:
        walls[count, OUT_X] = neighbour.cos * nx - neighbour.sin * ny
        walls[count, OUT_Y] = neighbour.sin * nx + neighbour.cos * ny
        walls[count, WAY] = way
        walls[count, PRICE] = neighbour.price
        count += 1
    return count


@inner()
def add_slope(fields, field, corner, gx, gy, neighbour, walls, count):  # type: ignore[no-untyped-def]
    """Append the way out of a cell deep inside a field, along its steepest fall.

    ``gx, gy`` are where the spot lies in the cell, as shares of it.
    """
    depths = fields.depth
    row = fields.size[field, CELLS_Y] + 1
    near = depths[corner]
    rise_x = depths[corner + row] - near
    rise_y = depths[corner + 1] - near
    twist = depths[corner + row + 1] - depths[corner + row] - rise_y
    depth = near + gx * rise_x + gy * (rise_y + gx * twist)
    sx = rise_x + gy * twist
    sy = rise_y + gx * twist
    slope = math.sqrt(sx * sx + sy * sy)
    if slope * fields.frame[field, PER_MM] < LEAST_SLOPE:
        return count
    return add_wall(walls, count, neighbour, -sx / slope, -sy / slope, depth)


@inner()
def add_edges(fields, field, cell, neighbour, reach, walls, count):  # type: ignore[no-untyped-def]
    """Append the edges near a point in a field's band.

    From inside only the nearest is the way out; from outside all that face the point are in the
    way, and the corner nearest to it.
    """
    edges = fields.edges
    near = fields.near
    first = fields.first[cell]
    last = fields.first[cell + 1]
    x = neighbour.x
    y = neighbour.y
    depth = depth_from_edges(edges, near, first, last, x, y, fields.frame[field, SLACK])
    if depth < -reach:
        return count
    is_inside = depth > 0.0
    nearest = depth * depth * (1.0 + 1e-9) + 1e-24  # rounding
    farthest = nearest if is_inside else reach * reach
    for k in range(first, last):
        e = near[k]
        dx = x - edges[e, START_X]
        dy = y - edges[e, START_Y]
        ux = edges[e, ALONG_X]
        uy = edges[e, ALONG_Y]
        along = dx * ux + dy * uy
        left = ux * dy - uy * dx
        beyond = along - min(max(along, 0.0), edges[e, LENGTH])
        square = left * left + beyond * beyond
        if square > farthest:
            continue
        if beyond == 0.0:
            if (left > 0.0) != is_inside:
                continue
            count = add_wall(walls, count, neighbour, uy, -ux, left)
        elif square <= nearest:
            away = -1.0 if is_inside else 1.0
            nx = away * (beyond * ux - left * uy) / math.sqrt(square)
            ny = away * (beyond * uy + left * ux) / math.sqrt(square)
            count = add_wall(walls, count, neighbour, nx, ny, depth)
        else:
            continue
        if is_inside:
            break
    return count


@inlined()
def add_field_walls(fields, field, neighbour, reach, walls, count):  # type: ignore[no-untyped-def]
    """Append the walls of a field near a spot; return how many there are."""
    frame = fields.frame
    size = fields.size
    gx = (neighbour.x - frame[field, ORIGIN_X]) * frame[field, PER_MM]
    gy = (neighbour.y - frame[field, ORIGIN_Y]) * frame[field, PER_MM]
    n_y = size[field, CELLS_Y]
    if gx <= 0.0 or gy <= 0.0 or gx >= size[field, CELLS_X] or gy >= n_y:
        return count
    ix = int(gx)
    iy = int(gy)
    cell = size[field, FIRST_CELL] + ix * n_y + iy
    if fields.first[cell] < fields.first[cell + 1]:
        return add_edges(fields, field, cell, neighbour, reach, walls, count)
    corner = size[field, FIRST_CORNER] + ix * (n_y + 1) + iy
    if fields.depth[corner] <= 0.0:
        return count
    return add_slope(fields, field, corner, gx - ix, gy - iy, neighbour, walls, count)


@inlined()
def add_sheet_walls(layout, spot, walls):  # type: ignore[no-untyped-def]
    """Write the four sides of a spot's sheet as the first walls; return how many there are."""
    sheet = int(spot[SHEET])
    bounds = layout.bounds
    on_sheet = Neighbour(1.0, 0.0, 0.0, 0.0, SHEET_PRICE)
    # A spot lies on its sheet, but for rounding.
    left = min(0.0, bounds[sheet, X_MIN] - (spot[X] + spot[LEFT]))
    low = min(0.0, bounds[sheet, Y_MIN] - (spot[Y] + spot[LOW]))
    right = min(0.0, spot[X] + spot[RIGHT] - bounds[sheet, X_MAX])
    high = min(0.0, spot[Y] + spot[HIGH] - bounds[sheet, Y_MAX])
    count = add_wall(walls, 0, on_sheet, 1.0, 0.0, left)
    count = add_wall(walls, count, on_sheet, 0.0, 1.0, low)
    count = add_wall(walls, count, on_sheet, -1.0, 0.0, right)
    return add_wall(walls, count, on_sheet, 0.0, -1.0, high)


@inlined()
def find_walls(scene, part, spot, reach, walls):  # type: ignore[no-untyped-def]
    """Write the walls around a spot; return how many, or -1 where an overlap is only sampled."""
    fields, shapes, layout, weights = scene
    turn = int(spot[TURN])
    sheet = int(spot[SHEET])
    if turn < 0 or layout.fields[sheet] >= 0:
        return -1
    kind = layout.kind[part]
    spots = layout.spots
    kinds = len(shapes.own)
    n_turns = len(shapes.turns)
    x0 = spot[X] + spot[LEFT] - reach
    y0 = spot[Y] + spot[LOW] - reach
    x1 = spot[X] + spot[RIGHT] + reach
    y1 = spot[Y] + spot[HIGH] + reach
    count = add_sheet_walls(layout, spot, walls)
    at = lanes_at(layout, sheet, x0, y0, x1, y1)
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
        if is_apart(layout.boxes, other, x0, y0, x1, y1) | (other == part):
            continue
        if spots[other, TURN] < 0.0:
            return -1
        relative = turn - int(spots[other, TURN])
        if relative < 0:
            relative += n_turns
        field = shapes.pair[kind * kinds + layout.kind[other], relative]
        price = weights.pair[part, other]
        dx = spot[X] - spots[other, X]
        dy = spot[Y] - spots[other, Y]
        if field == DISCS:
            distance = math.sqrt(dx * dx + dy * dy)
            depth = shapes.radius[kind] + shapes.radius[layout.kind[other]] - distance
            if distance > 0.0:
                neighbour = Neighbour(1.0, 0.0, dx, dy, price)
                count = add_wall(walls, count, neighbour, dx / distance, dy / distance, depth)
        elif field >= 0:
            cos = spots[other, COS]
            sin = spots[other, SIN]
            neighbour = Neighbour(cos, sin, cos * dx + sin * dy, cos * dy - sin * dx, price)
            count = add_field_walls(fields, field, neighbour, reach, walls, count)
        else:
            return -1


@inlined()
def cost_among(walls, count, x, y, enough):  # type: ignore[no-untyped-def]
    """Return what a step would cost if all walls were straight, or more than ``enough``."""
    cost = 0.0
    for k in range(count):
        left = walls[k, WAY] - walls[k, OUT_X] * x - walls[k, OUT_Y] * y
        if left > 0.0:
            cost += walls[k, PRICE] * left
            if cost > enough:
                return cost
    return cost


@inlined()
def best_step(walls, count, reach, step):  # type: ignore[no-untyped-def]
    """Write the step of least cost among straight walls, at most ``reach``; return that cost.

    It ends on one wall or where two meet.
    """
    best = cost_among(walls, count, 0.0, 0.0, NO_LIMIT)
    here = best
    step[0] = step[1] = 0.0
    limit = reach * reach
    # Of steps that cost the same, the shortest.
    length = 0.0
    for i in range(count):
        ax = walls[i, OUT_X]
        ay = walls[i, OUT_Y]
        a = walls[i, WAY]
        if abs(a) > reach:
            continue
        for j in range(i, count):
            if j == i:
                x = a * ax
                y = a * ay
            else:
                bx = walls[j, OUT_X]
                by = walls[j, OUT_Y]
                b = walls[j, WAY]
                cross = ax * by - ay * bx
                if abs(b) > reach or abs(cross) < PARALLEL:
                    continue
                x = (a * by - b * ay) / cross
                y = (b * ax - a * bx) / cross
            square = x * x + y * y
            if square > limit:
                continue
            cost = cost_among(walls, count, x, y, best + ROUNDED * here)
            if cost < best - ALIKE * here or (cost <= best + ALIKE * here and square < length):
                best = cost
                length = square
                step[0] = x
                step[1] = y
    return best


@inner()
def walk(scene, part, spot, cost, reach, walls, trial):  # type: ignore[no-untyped-def]
    """Walk a spot downhill from corner to corner; return its cost and how many spots were tried.

    The count is -1, and nothing done, where a neighbour's overlap is only sampled. Looking for
    walls and the step among them takes as long as two spots, and counts as such. ``walls`` is
    scratch, (MOST_WALLS + 1, 4).
    """
    tried = 0
    step = walls[MOST_WALLS]
    is_better = True
    while is_better and tried < MOST_STEPS and cost > 0.0:
        count = find_walls(scene, part, spot, reach, walls)
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
            keep_inside(scene.layout, trial)
            tried += 1
            value = spot_cost(scene, part, trial, cost)
            if value < cost:
                is_better = value < cost * (1.0 - LEAST_GAIN)
                cost = value
                copy_spot(trial, spot)
                break
            # So far off the walls are not straight.
            reach = NEARER * math.sqrt(step[0] * step[0] + step[1] * step[1])
    return cost, tried
