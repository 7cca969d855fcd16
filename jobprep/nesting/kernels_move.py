"""Compiled move of one part to the cheapest spot found."""

from __future__ import annotations

from typing import NamedTuple

from jobprep.nesting.columns import ANGLE, COST, SPOT, X, Y
from jobprep.nesting.kernels_cost import HIDDEN, NO_LIMIT, spot_cost
from jobprep.nesting.kernels_draw import draw_spot, draw_touching, draw_turn
from jobprep.nesting.kernels_inner import inlined, inner
from jobprep.nesting.kernels_spot import copy_spot, keep_inside, put, random_unit, turn_spot
from jobprep.nesting.kernels_walk import walk
from jobprep.nesting.layout import Floats

FARTHEST_CORNER = 0.3
"""How far a walk looks for the next corner, as a share of the part's size."""

NEARBY, TURNED = 1.0, 0.5
"""Spots drawn nearby lie in a square of this share of the part's size; this share of them is turned
again."""

ROUGH_STEP, FINE_STEP, LEAST_STEP = 0.2, 0.02, 0.0005
"""Steps of a descent, as shares of the part's size: it starts with the first and ends with the
second; the best spot goes on from there to the last."""

DIAGONAL = 0.7
"""A diagonal step's share along each axis: about the root of a half, so that all are equally long.
"""

LONGER, SHORTER = 1.1, 0.5
"""A step that went well is followed by a longer one, any other by a shorter."""


class Scratch(NamedTuple):
    """Room to work in: rated spots, best first, two single spots, and the walls around one."""

    best: Floats
    spot: Floats
    trial: Floats
    walls: Floats


@inner()
def descend(scene, part, spot, cost, step, least, random, trial):  # type: ignore[no-untyped-def]
    """Walk a spot downhill along random axes, with steps that grow and shrink; return its cost.

    Also returns how many spots were tried.
    """
    kind = scene.layout.kind[part]
    shapes = scene.shapes
    free = shapes.n_turns[kind] == 0
    turn_step = step / shapes.size[kind]
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
            dx = dy = DIAGONAL * step
        elif axis == 3:
            dx = DIAGONAL * step
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
            if keep_inside(scene.layout, trial):
                tried += 1
                value = spot_cost(scene, part, trial, cost)
                if value < cost:
                    cost = value
                    copy_spot(trial, spot)
                    better = True
                    break
            sign = -sign
        change = LONGER if better else SHORTER
        step *= change
        turn_step *= change
    return cost, tried


@inlined()
def draw(scene, part, effort, number, random, spot):  # type: ignore[no-untyped-def]
    """Draw the spot of a number: touching others, anywhere, nearby; return whether it fits."""
    shapes = scene.shapes
    layout = scene.layout
    kind = layout.kind[part]
    if number < effort.anywhere:
        if number < effort.touching:
            return draw_touching(scene.fields, shapes, layout, part, random, spot)
        return draw_spot(shapes, layout, kind, random, spot)
    here = layout.spots[part]
    size = shapes.size[kind]
    copy_spot(here, spot)
    if random_unit(random) < TURNED:
        draw_turn(shapes, kind, random, spot)
    spot[X] = here[X] + (random_unit(random) - 0.5) * NEARBY * size
    spot[Y] = here[Y] + (random_unit(random) - 0.5) * NEARBY * size
    return keep_inside(layout, spot)


@inlined()
def enter_best(best, n_best, spot, cost):  # type: ignore[no-untyped-def]
    """Put a spot in its place among the best; the last of these is forgotten."""
    k = n_best - 1
    while k > 0 and best[k - 1, COST] > cost:
        copy_spot(best[k - 1], best[k])
        best[k, COST] = best[k - 1, COST]
        k -= 1
    copy_spot(spot, best[k])
    best[k, COST] = cost


@inner()
def draw_best(scene, part, effort, start, random, scratch):  # type: ignore[no-untyped-def]
    """Write the best of spots drawn and of where a part lies; return how many were tried."""
    best = scratch.best
    spot = scratch.spot
    n_best = effort.walks
    for k in range(n_best):
        best[k, COST] = NO_LIMIT
    copy_spot(scene.layout.spots[part], best[0])
    best[0, COST] = start
    tried = 1
    for number in range(effort.anywhere + effort.nearby):
        if not draw(scene, part, effort, number, random, spot):
            continue
        tried += 1
        cost = spot_cost(scene, part, spot, best[n_best - 1, COST])
        if cost < best[n_best - 1, COST]:
            enter_best(best, n_best, spot, cost)
            if cost <= 0.0:
                break
    return tried


@inner()
def walk_best(scene, part, n_best, random, scratch):  # type: ignore[no-untyped-def]
    """Walk the best spots downhill; return which is cheapest then, and how many were tried."""
    rated = scratch.best
    trial = scratch.trial
    walls = scratch.walls
    size = scene.shapes.size[scene.layout.kind[part]]
    tried = 0
    best = 0
    is_exact = True
    for k in range(n_best):
        if rated[k, COST] >= NO_LIMIT or rated[best, COST] <= 0.0:
            continue
        spot = rated[k, :SPOT]
        cost = rated[k, COST]
        more = -1
        if is_exact:
            cost, more = walk(scene, part, spot, cost, FARTHEST_CORNER * size, walls, trial)
        if more < 0:
            is_exact = False
            rough, fine = ROUGH_STEP * size, FINE_STEP * size
            cost, more = descend(scene, part, spot, cost, rough, fine, random, trial)
        rated[k, COST] = cost
        tried += more
        if cost < rated[best, COST]:
            best = k
    if not is_exact:
        spot = rated[best, :SPOT]
        fine, least = FINE_STEP * size, LEAST_STEP * size
        cost, more = descend(scene, part, spot, rated[best, COST], fine, least, random, trial)
        rated[best, COST] = cost
        tried += more
    return best, tried


@inner()
def move_part(scene, part, effort, is_hidden, random, scratch):  # type: ignore[no-untyped-def]
    """Move a part to the cheapest spot found; return how many spots were tried."""
    layout = scene.layout
    start = spot_cost(scene, part, layout.spots[part], NO_LIMIT)
    if start <= 0.0:
        if not is_hidden:
            return 1
        start = HIDDEN * scene.shapes.size[layout.kind[part]]
    tried = draw_best(scene, part, effort, start, random, scratch)
    best, more = walk_best(scene, part, effort.walks, random, scratch)
    rated = scratch.best
    if rated[best, COST] <= start:
        put(layout, part, rated[best, :SPOT])
    return tried + more
