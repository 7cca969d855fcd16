"""Compiled weights: the cost of an overlap, which rises as long as it stays.

Terminology
-----------
weight     grows while a pair overlaps, so that stubborn pairs come to matter more; never less than
           the product of both parts' hefts
heft       root of the area of a part's hull over the mean of all: what is large finds room less
           easily, so small parts have to make way
"""

from __future__ import annotations

import numpy as np

from jobprep.nesting.kernels_inner import inner

LEAST_RISE, MORE_RISE, FADE = 1.2, 0.8, 0.95
"""In each pass the weight of an overlap grows by the first factor at least, by both together where
it is the worst, and every other fades. Those of Gardeyn, Vanden Berghe & Wauters 2025, from memory.
"""

NO_OVERLAP = 1e-300
"""Less than any overlap."""


@inner()
def reset_weights(weights):  # type: ignore[no-untyped-def]
    """Set all weights to their least."""
    heft = weights.heft
    n = len(heft)
    for i in range(n):
        weights.edge[i] = heft[i] * heft[i]
        for j in range(n):
            weights.pair[i, j] = heft[i] * heft[j]


@inner()
def raise_weights(weights, pairs, depths, count, over):  # type: ignore[no-untyped-def]
    """Let all weights fade towards their least, and raise those of overlapping pairs."""
    n = len(over)
    heft = weights.heft
    worst = NO_OVERLAP
    for k in range(count):
        worst = max(worst, depths[k])
    for i in range(n):
        worst = max(worst, over[i])
    for i in range(n):
        for j in range(n):
            weights.pair[i, j] = max(
                np.float32(heft[i] * heft[j]), weights.pair[i, j] * np.float32(FADE)
            )
        if over[i] > 0.0:
            weights.edge[i] *= LEAST_RISE + MORE_RISE * over[i] / worst
        else:
            weights.edge[i] = max(heft[i] * heft[i], weights.edge[i] * FADE)
    for k in range(count):
        i, j = pairs[k, 0], pairs[k, 1]
        rise = np.float32((LEAST_RISE + MORE_RISE * depths[k] / worst) / FADE)
        grown = weights.pair[i, j] * rise
        weights.pair[i, j] = grown
        weights.pair[j, i] = grown
