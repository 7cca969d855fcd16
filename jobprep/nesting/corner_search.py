"""Pack what lies on the last sheet of a nest into its corner, campaign by campaign.

A small job leaves most of its sheet, and the last of several sheets is mostly left, too. The film
used up then depends on the box round the parts, not on how far they reach along one side.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import replace

import numpy as np

from jobprep.nesting.columns import ANGLE, SPOT, X, Y
from jobprep.nesting.corner import CornerChain, PackedBox
from jobprep.nesting.improve import CHAINS, n_workers
from jobprep.nesting.layout import Floats
from jobprep.nesting.nest import Budget, Nest, Placement
from jobprep.nesting.prepare import prepare
from jobprep.nesting.problem import Problem
from jobprep.nesting.shapes import area
from jobprep.nesting.side_by_side import searched
from jobprep.nesting.spots import ends, quarter_turned, set_spot
from jobprep.nesting.used_film import CornerSheet

FEW = 0.5
"""Share of a sheet's area up to which parts are packed into its corner; more parts leave one strip,
and the search for the least length finds it."""

CAMPAIGN = 60_000
"""Spots of a campaign for each part."""

IDLE_CAMPAIGNS = 3
"""Campaigns in a row without a better box after which the search ends."""

USUAL = 200_000.0
"""Spots a second that are assumed before the first campaign."""

BETTER = 1e-4
"""Relative; a box must cost less by more than this to be better."""

Tell = Callable[[Nest, int], None]
"""Called with a nest and the number of spots tried for it."""


def corner_sheet(problem: Problem, nest: Nest) -> CornerSheet | None:
    """Return the last sheet of a nest where its parts are few enough to lie in a corner of it."""
    if not nest.sheets or any(nest.unplaced):
        return None
    last = nest.sheets[-1]
    need = math.fsum(problem.areas[each.item] for each in _on_last(nest))
    if need > FEW * area(problem.sheets[last]):
        return None
    return problem.corners[last]


def pack_corner(
    problem: Problem,
    nest: Nest,
    sheet: CornerSheet,
    budget: Budget,
    started: float,
    tell: Tell,
    executor: Executor | None = None,
) -> tuple[int, bool]:
    """Search for the best box; return how many spots were tried and whether it was interrupted.

    ``tell`` gets every better one, as the nest with its last sheet packed again. With an evaluation
    budget the answer depends on nothing but the nest's parts and the seed.
    """
    places = sorted(_on_last(nest))
    prepared = prepare(problem, [each.item for each in places], [nest.sheets[-1]])
    n_chains = CHAINS if budget.evaluations is not None else n_workers(budget)
    chains = [
        CornerChain(
            prepared,
            problem.parts,
            sheet,
            budget.seed * 1_000_003 + number,
            budget.is_over,
        )
        for number in range(n_chains)
    ]
    known = np.zeros((len(places), SPOT))
    for spot, place in zip(known, map(problem.centred, places), strict=True):
        set_spot(spot, problem, place._replace(sheet=0), len(prepared.shapes.turns))
    for chain in chains:
        chain.begin_from(known)
    best = chains[0].best
    idle = 0
    purse = _Purse(chains, CAMPAIGN * len(places), budget, started)
    own = ThreadPoolExecutor(n_workers(budget)) if executor is None else None
    try:
        while idle < IDLE_CAMPAIGNS and (share := purse.take()) is not None:
            chains[:] = searched(executor or own, [chain.search for chain in chains], *share)
            found = min((chain.best for chain in chains if chain.best), key=_cost, default=None)
            idle += 1
            if found is not None and (best is None or found.cost < best.cost * (1.0 - BETTER)):
                best, idle = found, 0
                spots = _lying(problem, places, sheet, prepared.bounds[0], found.spots)
                tell(_packed(problem, nest, places, spots), _tried(chains))
            if len(places) == 1:
                break  # a single part lies as it can after the first
    except KeyboardInterrupt:
        for chain in chains:
            chain.parts.stop()
        return _tried(chains), True
    finally:
        if own is not None:
            own.shutdown()
    return _tried(chains), any(chain.parts.is_stopped for chain in chains)


class _Purse:
    """Deals out a budget campaign by campaign."""

    def __init__(
        self, chains: Sequence[CornerChain], most: int, budget: Budget, started: float
    ) -> None:
        self._chains, self._most, self._budget = chains, most, budget
        self._begun = time.monotonic()
        self._end = started + budget.seconds

    def take(self) -> tuple[int, float] | None:
        """Return the spots of each chain's next campaign, and its deadline; None at the end."""
        if self._budget.is_over():
            return None
        tried = _tried(self._chains)
        if self._budget.evaluations is not None:
            left = (self._budget.evaluations - tried) // len(self._chains)
            return (min(left, self._most), math.inf) if left > 0 else None
        now = time.monotonic()
        if now >= self._end:
            return None
        pace = tried / len(self._chains) / (now - self._begun) if tried else USUAL
        return min(self._most, int(pace * (self._end - now)) + 1), self._end


def _tried(chains: Sequence[CornerChain]) -> int:
    return sum(chain.parts.evaluations for chain in chains)


def _cost(box: PackedBox) -> float:
    return box.cost


def _on_last(nest: Nest) -> list[Placement]:
    last = len(nest.sheets) - 1
    return [place for place in nest.placements if place.sheet == last]


def _lying(
    problem: Problem, places: Sequence[Placement], sheet: CornerSheet, room: Floats, spots: Floats
) -> Floats:
    """Return a box as it lies or turned by a quarter, whichever leaves the larger piece."""
    if len(sheet.outline) > 1 or len(sheet.outline[0]) > 4:
        return spots  # turned, it may lie across a notch
    kinds = [each.item for each in places]
    n_turns = [0 if problem.radii[kind] else problem.n_turns[kind] for kind in kinds]
    turns = math.lcm(*(n for n in problem.n_turns if n > 0))
    x0, y0, x1, y1 = room
    turned = quarter_turned(spots, (x0, y0), n_turns, turns)
    if turned is None:
        return spots
    x_end, y_end = ends(turned)
    if x_end > x1 or y_end > y1 or sheet.used(*ends(spots)) <= sheet.used(x_end, y_end):
        return spots
    return turned


def _packed(problem: Problem, nest: Nest, places: Sequence[Placement], spots: Floats) -> Nest:
    """Return a nest with the parts of its last sheet on these spots."""
    moved = {
        place: problem.placed(
            place._replace(angle=float(spot[ANGLE]), x=float(spot[X]), y=float(spot[Y]))
        )
        for place, spot in zip(places, spots, strict=True)
    }
    return replace(nest, placements=tuple(moved.get(each, each) for each in nest.placements))
