"""Improve a nest as long as the budget lasts: several chains, one best."""

from __future__ import annotations

import math
import os
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial

import numpy as np

from jobprep.nesting.chain import SMALLEST_CUT, SMALLEST_FINE_CUT, Best, Chain
from jobprep.nesting.columns import (
    ANGLE,
    RIGHT,
    SHEET,
    SPOT,
    X_MAX,
    X_MIN,
    X,
    Y,
)
from jobprep.nesting.layout import Floats
from jobprep.nesting.nest import Budget, Placement
from jobprep.nesting.prepare import Prepared, prepare
from jobprep.nesting.problem import Problem
from jobprep.nesting.side_by_side import searched
from jobprep.nesting.spots import set_spot

CHAINS = 2
"""Chains under an evaluation budget, however many workers there are."""

EXPLORING_ROUNDS, FINE_ROUNDS = 32, 8
"""Rounds that share the budget: those that explore, then those that compress the best nest."""

ROUNDS = EXPLORING_ROUNDS + FINE_ROUNDS

ENOUGH = 100_000
"""Spots per pair of parts without a better nest after which exploring ends: with more parts it
takes longer until all ways to lie beside each other were tried. Then the best nest is compressed,
for as many spots at most."""

IDLE_EFFORT = 1_000_000
"""Spots per part without a better nest after which exploring begins again from the start; the best
of all these campaigns is compressed."""

LAG = 1.01
"""A chain whose length is this much above the best one goes on from that."""


@dataclass(frozen=True, slots=True)
class FirstLayout:
    """A first layout: the item of each part, its placement, and the sheets, all in local frames."""

    kinds: Sequence[int]
    placements: Sequence[Placement]
    sheets: Sequence[int]
    is_valid: bool = True


def as_layout(start: FirstLayout, n_sheets: int, spots: Floats) -> FirstLayout:
    """Return a layout of the parts of another, without overlap, on the first of its sheets."""
    placements = [
        Placement(kind, 0, int(spot[SHEET]), float(spot[ANGLE]), float(spot[X]), float(spot[Y]))
        for kind, spot in zip(start.kinds, spots, strict=True)
    ]
    return FirstLayout(start.kinds, placements, start.sheets[:n_sheets])


def build_chains(
    problem: Problem, start: FirstLayout, budget: Budget, prepared: Prepared | None = None
) -> list[Chain]:
    """Prepare fields and shapes, unless they are given, and return one chain per worker."""
    if prepared is None:
        prepared = prepare(problem, start.kinds, start.sheets)
    sheets = prepared.bounds
    spots = np.zeros((len(start.kinds), SPOT))
    for spot, placed in zip(spots, start.placements, strict=True):
        set_spot(spot, problem, placed, len(prepared.shapes.turns))
    on_last = spots[:, SHEET] == len(sheets) - 1
    end = (
        float((spots[on_last, X] + spots[on_last, RIGHT]).max())
        if start.is_valid
        else sheets[-1, X_MAX]
    )
    best = Best(len(sheets), end - float(sheets[-1, X_MIN]), spots, start.is_valid)
    n_chains = CHAINS if budget.evaluations is not None else n_workers(budget)
    return [
        Chain(prepared, best, budget.seed * 1_000_003 + number, budget.is_over)
        for number in range(n_chains)
    ]


def improve(
    chains: list[Chain],
    budget: Budget,
    started: float,
    tell: Callable[[Best], None],
    executor: Executor | None = None,
    least: float = 0.0,
) -> Best:
    """Search round by round; return the best layout, also when interrupted.

    ``tell`` gets every better one. With an evaluation budget the answer depends on nothing but the
    chains: the search ends early by what was tried in vain, never by a share of the budget.
    No layout on one sheet can take less than ``least`` of it: the search ends where its smallest
    cut would pass that.
    """
    best = first = campaign = min(chains, key=_rank).best
    number = better_at = found_at = 0
    effort, enough = IDLE_EFFORT * len(first.spots), ENOUGH * len(first.spots) ** 2
    compressed_by = math.inf
    end = _end(budget, started)
    own = ThreadPoolExecutor(n_workers(budget)) if executor is None else None
    try:
        while number < ROUNDS and not budget.is_over():
            is_fine = number >= EXPLORING_ROUNDS
            if number == EXPLORING_ROUNDS:
                campaign = best
                for chain in chains:
                    chain.adopt(best, is_fine=True)
            elif not is_fine and spots_tried(chains) - found_at >= effort:
                campaign, found_at = first, spots_tried(chains)
                for chain in chains:
                    chain.restart(first)
            quota, deadline = _share(chains, budget, end, number)
            searches = [partial(chain.search, is_fine=is_fine) for chain in chains]
            chains[:] = searched(executor or own, searches, quota, deadline)
            leader = min(chains, key=_rank).best
            tried = spots_tried(chains)
            if leader.is_better_than(campaign):
                campaign, found_at = leader, tried
            if leader.is_better_than(best):
                best, better_at = leader, tried
                tell(best)
            number += 1
            now = time.monotonic()
            shortest = _one_sheet(best)
            if now >= end or tried >= compressed_by or (1.0 - SMALLEST_FINE_CUT) * shortest < least:
                break
            is_enough = tried - better_at >= enough or (1.0 - SMALLEST_CUT) * shortest < least
            if best.is_valid and is_enough and number < EXPLORING_ROUNDS:
                # The time of the rounds left out is saved.
                end = now + FINE_ROUNDS * (end - now) / (ROUNDS - number)
                number, compressed_by = EXPLORING_ROUNDS, tried + enough
            for chain in chains:
                if campaign.is_better_than(chain.best) and (is_fine or _lags(chain.best, campaign)):
                    chain.adopt(campaign, is_fine=is_fine)
    except KeyboardInterrupt:
        for chain in chains:
            chain.parts.stop()
        leader = min(chains, key=_rank).best
        best = leader if leader.is_better_than(best) else best
    finally:
        if own is not None:
            own.shutdown()
    return best


def spots_tried(chains: Sequence[Chain]) -> int:
    """Return how many spots were tried so far."""
    return sum(chain.parts.evaluations for chain in chains)


def _one_sheet(best: Best) -> float:
    """Return how long a valid layout on one sheet is, infinity for any other."""
    return best.length if best.is_valid and best.n_sheets == 1 else math.inf


def _rank(chain: Chain) -> tuple[bool, int, float]:
    return not chain.best.is_valid, chain.best.n_sheets, chain.best.length


def _lags(mine: Best, best: Best) -> bool:
    if not best.is_valid:
        return False
    return not mine.is_valid or mine.n_sheets > best.n_sheets or mine.length > LAG * best.length


def _share(chains: Sequence[Chain], budget: Budget, end: float, number: int) -> tuple[int, float]:
    """Return how many spots each chain may try in a round, and until when."""
    if budget.evaluations is not None:
        return max(1, budget.evaluations // (ROUNDS * len(chains))), math.inf
    now = time.monotonic()
    return 1 << 60, now + (end - now) / (ROUNDS - number)


def _end(budget: Budget, started: float) -> float:
    return math.inf if budget.evaluations is not None else started + budget.seconds


def n_workers(budget: Budget) -> int:
    """Return how many chains run side by side."""
    return budget.workers or min(CHAINS, os.cpu_count() or 1)
