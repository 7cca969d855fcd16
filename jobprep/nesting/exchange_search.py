"""Fill several sheets by exchanging parts between them: several chains, one best."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from typing import NamedTuple

import numpy as np

from jobprep.nesting.columns import SPOT
from jobprep.nesting.exchange import ExchangeChain, FilledSheets
from jobprep.nesting.improve import CHAINS, FirstLayout, n_workers
from jobprep.nesting.nest import Budget
from jobprep.nesting.prepare import Prepared
from jobprep.nesting.problem import Problem
from jobprep.nesting.shapes import area
from jobprep.nesting.side_by_side import searched
from jobprep.nesting.spots import set_spot

ROUNDS, IDLE_ROUNDS = 24, 8
"""Rounds that share the budget; after the second number without fuller sheets the search ends."""

Tell = Callable[[FilledSheets, int], None]
"""Called with a layout and the number of spots tried for it."""


class Exchanged(NamedTuple):
    """The best layout found, the number of spots tried, and whether Ctrl-C ended the search."""

    best: FilledSheets
    tried: int
    is_interrupted: bool


def exchange(
    problem: Problem,
    prepared: Prepared,
    start: FirstLayout,
    budget: Budget,
    started: float,
    tell: Tell,
    executor: Executor | None = None,
) -> Exchanged:
    """Fill the sheets of a valid layout but for the last, which is emptied.

    ``tell`` gets every better layout. With an evaluation budget the answer depends on nothing but
    the start and the seed.
    """
    chains = _chains(problem, prepared, start, budget)
    best = chains[0].best
    idle = 0
    end = math.inf if budget.evaluations is not None else started + budget.seconds
    own = ThreadPoolExecutor(n_workers(budget)) if executor is None else None
    is_interrupted = False
    try:
        for number in range(ROUNDS):
            if idle >= IDLE_ROUNDS or best.is_full or budget.is_over():
                break
            words = _share(chains, budget, end, number)
            chains[:] = searched(executor or own, [chain.search for chain in chains], *words)
            leader = _leader(chains)
            idle += 1
            if leader.is_better_than(best):
                best, idle = leader, 0
                tell(best, _tried(chains))
            for chain in chains:
                if best.is_better_than(chain.best):
                    chain.adopt(best)
            if any(chain.is_stopped for chain in chains) or time.monotonic() >= end:
                break
    except KeyboardInterrupt:
        for chain in chains:
            chain.stop()
        is_interrupted = True
        leader = _leader(chains)
        best = leader if leader.is_better_than(best) else best
    finally:
        if own is not None:
            own.shutdown()
    is_interrupted = is_interrupted or budget.is_over()
    return Exchanged(best, _tried(chains), is_interrupted)


def _chains(
    problem: Problem, prepared: Prepared, start: FirstLayout, budget: Budget
) -> list[ExchangeChain]:
    spots = np.zeros((len(start.kinds), SPOT))
    for spot, placed in zip(spots, start.placements, strict=True):
        set_spot(spot, problem, placed, len(prepared.shapes.turns))
    rooms = [area(problem.sheets[n]) for n in start.sheets]
    n_chains = CHAINS if budget.evaluations is not None else n_workers(budget)
    return [
        ExchangeChain(
            prepared, start.sheets, rooms, spots, budget.seed * 1_000_003 + number, budget.is_over
        )
        for number in range(n_chains)
    ]


def _leader(chains: Sequence[ExchangeChain]) -> FilledSheets:
    leader = chains[0].best
    for chain in chains[1:]:
        if chain.best.is_better_than(leader):
            leader = chain.best
    return leader


def _tried(chains: Sequence[ExchangeChain]) -> int:
    return sum(chain.evaluations for chain in chains)


def _share(
    chains: Sequence[ExchangeChain], budget: Budget, end: float, number: int
) -> tuple[int, float]:
    """Return how many spots each chain may try in a round, and until when."""
    if budget.evaluations is not None:
        left = budget.evaluations - _tried(chains)
        return max(1, left // ((ROUNDS - number) * len(chains))), math.inf
    now = time.monotonic()
    return 1 << 60, now + (end - now) / (ROUNDS - number)
