"""Compiled search: move overlapping parts until nothing overlaps.

The method is guided local search over relaxed layouts: Egeblad, Nielsen & Odgaard, EJOR 183
(2007) 1249-1266; Umetani et al., Int. Trans. Oper. Res. 16 (2009) 661-683; Gardeyn, Vanden Berghe
& Wauters, arXiv:2509.13329 (2025). Overlap is the depth of an offset in the sum of two parts. A
colliding part tries spots that touch others besides spots drawn anywhere, and walks from the best
of them to where others stop it.
"""

from __future__ import annotations

import numpy as np
from numba import types

from jobprep.nesting.columns import (
    BEST_TOTAL,
    IDLE,
    IS_BEGUN,
    IS_STOPPED,
    RATED,
    SPOT,
    STRUCK,
    TOTAL_AT_PROGRESS,
    TRIED,
    WALL,
)
from jobprep.nesting.kernels_cost import HIDDEN, NO_LIMIT, find_overlaps
from jobprep.nesting.kernels_inner import inner, kernel
from jobprep.nesting.kernels_move import Scratch, move_part
from jobprep.nesting.kernels_spot import copy_spot, enter, put, random_unit
from jobprep.nesting.kernels_types import EFFORT, SCENE
from jobprep.nesting.kernels_walk import MOST_WALLS
from jobprep.nesting.kernels_weights import raise_weights, reset_weights
from jobprep.nesting.layout import GIVEN_UP, SEPARATED, SPENT

REAL_PROGRESS = 0.98
"""A total below this share of the last such one is real progress: idle passes and strikes are
counted from there again. Gardeyn, Vanden Berghe & Wauters 2025, from memory."""


@inner()
def total_overlap(pairs, depths, count, over, heft):  # type: ignore[no-untyped-def]
    """Return the sum of all overlaps, each by the parts' hefts."""
    total = 0.0
    for i in range(len(over)):
        total += over[i] * heft[i] * heft[i]
    for k in range(count):
        total += depths[k] * heft[pairs[k, 0]] * heft[pairs[k, 1]]
    return total


@inner()
def keep_best(spots, total, best, totals, tally):  # type: ignore[no-untyped-def]
    """Count a pass; keep its layout if it has the least overlap so far."""
    tally[IDLE] += 1
    if total < totals[BEST_TOTAL]:
        for i in range(len(spots)):
            copy_spot(spots[i], best[i])
        if total < REAL_PROGRESS * totals[TOTAL_AT_PROGRESS]:
            totals[TOTAL_AT_PROGRESS] = total
            tally[IDLE] = 0
        totals[BEST_TOTAL] = total


@inner()
def strike_out(layout, best, totals, tally):  # type: ignore[no-untyped-def]
    """Put the best layout back, and count a strike."""
    tally[IDLE] = 0
    tally[STRUCK] += 1
    if totals[TOTAL_AT_PROGRESS] > totals[BEST_TOTAL]:
        totals[TOTAL_AT_PROGRESS] = totals[BEST_TOTAL]
    for i in range(len(best)):
        put(layout, i, best[i])


@inner()
def queue_up(scene, pairs, depths, count, over, queue, is_hidden):  # type: ignore[no-untyped-def]
    """Write the parts that overlap anything, and which do so only by HIDDEN; return how many."""
    size = scene.shapes.size
    kind = scene.layout.kind
    n = len(over)
    is_in = queue[1]
    for i in range(n):
        is_in[i] = over[i] > 0.0
        is_hidden[i] = over[i] > 0.0 and over[i] == HIDDEN * size[kind[i]]
    for k in range(count):
        i, j = pairs[k, 0], pairs[k, 1]
        is_in[i] = is_in[j] = 1
        if depths[k] == HIDDEN * min(size[kind[i]], size[kind[j]]):
            is_hidden[i] = is_hidden[j] = True
    n_queue = 0
    for i in range(n):
        if is_in[i]:
            queue[0, n_queue] = i
            n_queue += 1
    return n_queue


@inner()
def shuffle(queue, count, random):  # type: ignore[no-untyped-def]
    """Bring the first of a queue into random order."""
    for k in range(count - 1, 0, -1):
        other = int(random_unit(random) * (k + 1))
        queue[k], queue[other] = queue[other], queue[k]


@kernel(
    types.i8(
        SCENE,
        types.f8[:, ::1],
        types.f8[::1],
        EFFORT,
        types.u8[::1],
        types.i8[::1],
    ),
)
def separate(scene, best, totals, effort, random, tally):  # type: ignore[no-untyped-def]
    """Move overlapping parts about until nothing overlaps; return how that ended.

    ``best`` (parts, SPOT) keeps the layout with least overlap so far, ``totals`` how much that is,
    ``tally`` how the search goes: both hold between calls, and a tally that has not begun starts
    again. ``random`` is the state of the random numbers.
    """
    layout = scene.layout
    n = len(layout.kind)
    room = 16 * n + 64
    pairs = np.empty((room, 2), np.int64)
    depths = np.empty(room)
    over = np.empty(n)
    queue = np.empty((2, n), np.int64)
    is_hidden = np.empty(n, np.bool_)
    scratch = Scratch(
        np.empty((effort.walks, RATED)),
        np.empty(SPOT),
        np.empty(SPOT),
        np.empty((MOST_WALLS + 1, WALL)),
    )
    stop = tally[TRIED] + effort.spots
    enter(layout)
    while True:
        count = find_overlaps(scene, pairs, depths, over)
        while count < 0:
            room *= 2
            pairs = np.empty((room, 2), np.int64)
            depths = np.empty(room)
            count = find_overlaps(scene, pairs, depths, over)
        total = total_overlap(pairs, depths, count, over, scene.weights.heft)
        if total <= 0.0:
            return SEPARATED
        if not tally[IS_BEGUN]:
            tally[IDLE] = tally[STRUCK] = 0
            tally[IS_BEGUN] = 1
            totals[:] = NO_LIMIT
            reset_weights(scene.weights)
        keep_best(layout.spots, total, best, totals, tally)
        if tally[IDLE] > effort.patience:
            strike_out(layout, best, totals, tally)
            if tally[STRUCK] >= effort.strikes:
                return GIVEN_UP
            continue
        if tally[TRIED] >= stop or tally[IS_STOPPED]:
            return SPENT
        raise_weights(scene.weights, pairs, depths, count, over)
        n_queue = queue_up(scene, pairs, depths, count, over, queue, is_hidden)
        shuffle(queue[0], n_queue, random)
        for k in range(n_queue):
            part = queue[0, k]
            tally[TRIED] += move_part(scene, part, effort, is_hidden[part], random, scratch)
