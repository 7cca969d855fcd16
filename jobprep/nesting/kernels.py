"""Compiled search: move overlapping parts until nothing overlaps.

The method is guided local search over relaxed layouts: Egeblad, Nielsen & Odgaard, EJOR 183
(2007) 1249-1266; Umetani et al., Int. Trans. Oper. Res. 16 (2009) 661-683; Gardeyn, Vanden Berghe
& Wauters, arXiv:2509.13329 (2025). Overlap is the depth of an offset in the sum of two parts. A
colliding part tries spots that touch others besides spots drawn anywhere, and walks from the best
of them to where others stop it.

Terminology
-----------
weight     grows while a pair overlaps, so that stubborn pairs come to matter more; never less than
           the product of both parts' hefts
heft       root of the area of a part's hull over the mean of all: what is large finds room less
           easily, so small parts have to make way
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import types

from jobprep.nesting.fields import Fields
from jobprep.nesting.kernels_draw import draw_spot, draw_touching, draw_turn
from jobprep.nesting.kernels_inner import inner, kernel
from jobprep.nesting.kernels_overlap import HIDDEN, find_overlaps, spot_cost
from jobprep.nesting.kernels_spot import (
    ANGLE,
    X,
    Y,
    copy_spot,
    enter,
    keep_inside,
    put,
    random_unit,
    turn_spot,
)
from jobprep.nesting.kernels_walk import MOST_WALLS, walk
from jobprep.nesting.layout import Layout, Shapes, Weights

FARTHEST_CORNER = 0.3
"""How far a walk looks for the next corner, as a share of the part's size."""

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
        types.f8[:, ::1],
        types.i4[:, ::1],
        types.f8[:, ::1],
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
        types.u8[:, :, :, ::1],
        types.f8[:, ::1],
    ),
    Layout,
)
WEIGHTS = _named((types.f4[:, ::1], types.f8[::1], types.f8[::1]), Weights)


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
def move_part(fields, shapes, layout, weights, part, tries, random, work, walls, hidden):  # type: ignore[no-untyped-def]
    """Move a part to the cheapest spot found; return how many spots were tried.

    ``tries``: spots drawn anywhere, spots drawn nearby, spots walked downhill. ``work``,
    (tries[2] + 3, 12) with costs in its last column, and ``walls`` are scratch.
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
    is_exact = True
    for k in range(n_best):
        if work[k, 11] >= 1e300 or work[best, 11] <= 0.0:
            continue
        walked = work[k, :11]
        more = -1
        if is_exact:
            work[k, 11], more = walk(
                fields,
                shapes,
                layout,
                weights,
                part,
                walked,
                work[k, 11],
                FARTHEST_CORNER * size,
                walls,
                trial,
            )
        if more < 0:
            is_exact = False
            work[k, 11], more = descend(
                fields,
                shapes,
                layout,
                weights,
                part,
                walked,
                work[k, 11],
                0.2 * size,
                0.02 * size,
                random,
                trial,
            )
        tried += more
        if work[k, 11] < work[best, 11]:
            best = k
    if not is_exact:
        work[best, 11], more = descend(
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
        tried += more
    if work[best, 11] <= start:
        put(layout, part, work[best, :11])
    return tried


@inner()
def reset_weights(weights):  # type: ignore[no-untyped-def]
    """Let all weights be as small as they get."""
    heft = weights.heft
    n = len(heft)
    for i in range(n):
        weights.edge[i] = heft[i] * heft[i]
        for j in range(n):
            weights.pair[i, j] = heft[i] * heft[j]


@inner()
def raise_weights(weights, pairs, depths, count, over):  # type: ignore[no-untyped-def]
    """Let all weights sink to their least, and those of overlapping pairs grow with the overlap."""
    n = len(over)
    heft = weights.heft
    worst = 1e-300
    for k in range(count):
        worst = max(worst, depths[k])
    for i in range(n):
        worst = max(worst, over[i])
    for i in range(n):
        for j in range(n):
            weights.pair[i, j] = max(
                np.float32(heft[i] * heft[j]), weights.pair[i, j] * np.float32(0.95)
            )
        if over[i] > 0.0:
            weights.edge[i] *= 1.2 + 0.8 * over[i] / worst
        else:
            weights.edge[i] = max(heft[i] * heft[i], weights.edge[i] * 0.95)
    for k in range(count):
        i, j = pairs[k, 0], pairs[k, 1]
        grown = weights.pair[i, j] * np.float32((1.2 + 0.8 * depths[k] / worst) / 0.95)
        weights.pair[i, j] = grown
        weights.pair[j, i] = grown


@kernel(
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
    walls = np.empty((MOST_WALLS + 1, 4))
    queue = np.empty(n, np.int64)
    is_in = np.empty(n, np.bool_)
    is_hidden = np.empty(n, np.bool_)
    heft = weights.heft
    stop = count[0] + limits[5]
    enter(layout)
    while True:
        n_pairs = find_overlaps(fields, shapes, layout, pairs, depths, over)
        while n_pairs < 0:
            room *= 2
            pairs = np.empty((room, 2), np.int64)
            depths = np.empty(room)
            n_pairs = find_overlaps(fields, shapes, layout, pairs, depths, over)
        total = 0.0
        for i in range(n):
            total += over[i] * heft[i] * heft[i]
        for k in range(n_pairs):
            total += depths[k] * heft[pairs[k, 0]] * heft[pairs[k, 1]]
        if total <= 0.0:
            return 0
        if count[3] == 0:
            count[1] = count[2] = 0
            count[3] = 1
            best[0, 11] = 1e300
            best[1, 11] = 1e300
            reset_weights(weights)
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
                fields,
                shapes,
                layout,
                weights,
                queue[k],
                limits,
                random,
                work,
                walls,
                is_hidden[queue[k]],
            )
