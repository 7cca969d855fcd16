"""Nest again from an old nest whose parts now lie a little too near each other.

A wider kerf makes all neighbours overlap by a hair. They are moved apart where they lie: on the
length that the old nest took, then on a little more, at last on all of the last sheet. The result
is compressed, but nothing else is explored, so that parts stay near their old places.
"""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from typing import NamedTuple

from jobprep.nesting.chain import Best, Chain
from jobprep.nesting.improve import FirstLayout, build_chains
from jobprep.nesting.nest import Budget, Nest
from jobprep.nesting.problem import Problem
from jobprep.nesting.shapes import bounds

GROWTHS = (0.0, 0.005, 0.01, 0.02, 0.04, 0.08, math.inf)
"""How much more of the last sheet than the old nest took is tried, one after the other."""

ROUNDS, IDLE_ROUNDS = 10, 3
"""Rounds that share the rest of the budget and compress the nest; after the second number without
success the search ends."""


class Renested(NamedTuple):
    """How many spots were tried, and whether an interrupt ended that."""

    tried: int
    is_interrupted: bool


def old_start(problem: Problem, nest: Nest) -> FirstLayout | None:
    """Return an old nest as a start; None where it does not hold all parts on these sheets."""
    placed = Counter(place.item for place in nest.placements)
    wanted = dict(enumerate(problem.quantities))
    opened = Counter(nest.sheets)
    queue = problem.queue
    if (
        placed != Counter(wanted)
        or not opened
        or any(not queue.is_used(n) or queue.count(n) < opened[n] for n in opened)
    ):
        return None
    # The last of these is the one that is emptied: as in a first fill, the last to be used.
    rank = {kind: number for number, kind in enumerate(queue.ordered(opened))}
    order = sorted(range(len(nest.sheets)), key=lambda n: (rank[nest.sheets[n]], n))
    number = {old: new for new, old in enumerate(order)}
    places = [
        problem.centred(place)._replace(sheet=number[place.sheet])
        for place in sorted(nest.placements)  # a nest numbers its copies in this order
    ]
    return FirstLayout([place.item for place in places], places, [nest.sheets[n] for n in order])


def renest(
    problem: Problem,
    start: FirstLayout,
    budget: Budget,
    started: float,
    tell: Callable[[Best, int], None],
) -> Renested:
    """Move the parts of a start apart and compress the result.

    ``start`` need not be valid. ``tell`` gets every better layout that is, and the number of spots
    tried for it. With an evaluation budget the answer depends on nothing but the start and the
    seed.
    """
    (chain,) = build_chains(problem, start, replace(budget, evaluations=None, workers=1))
    clock = _Clock(chain, budget, started)
    x0, _, x1, _ = bounds(problem.sheets[start.sheets[-1]])
    try:
        if _separate(chain, x1 - x0, clock):
            tell(chain.best, chain.parts.evaluations)
            _compress(chain, clock, tell)
    except KeyboardInterrupt:
        if chain.best.is_valid:
            tell(chain.best, chain.parts.evaluations)
        return Renested(chain.parts.evaluations, is_interrupted=True)
    return Renested(chain.parts.evaluations, is_interrupted=chain.parts.is_stopped)


def _separate(chain: Chain, room: float, clock: _Clock) -> bool:
    """Move parts apart; return whether none overlaps any more."""
    old = chain.best
    for number, growth in enumerate(GROWTHS):
        length = min(room, (1.0 + growth) * old.length)
        chain.adopt(replace(old, length=length, is_valid=False), is_fine=True)
        chain.search(*clock.share(len(GROWTHS) + 1 - number), is_fine=True)
        if chain.best.is_valid or length == room:
            break
    return chain.best.is_valid


def _compress(chain: Chain, clock: _Clock, tell: Callable[[Best, int], None]) -> None:
    idle = 0
    for number in range(ROUNDS):
        before = chain.best
        chain.search(*clock.share(ROUNDS - number), is_fine=True)
        idle += 1
        if chain.best.is_better_than(before):
            idle = 0
            tell(chain.best, chain.parts.evaluations)
        if idle == IDLE_ROUNDS:
            return


class _Clock:
    """Deals out a budget: spots to try, and until when."""

    def __init__(self, chain: Chain, budget: Budget, started: float) -> None:
        self._chain, self._spots = chain, budget.evaluations
        self._started, self._seconds = started, budget.seconds

    def share(self, count: int) -> tuple[int, float]:
        """Return one of a number of shares of what is left."""
        if self._spots is not None:
            return max(1, (self._spots - self._chain.parts.evaluations) // count), math.inf
        now = time.monotonic()
        return 1 << 60, now + (self._started + self._seconds - now) / count
