"""Nest parts on sheets: a first nest at once, then better ones while the budget lasts."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from functools import cached_property
from typing import NamedTuple

from jobprep.nesting.chain import Best
from jobprep.nesting.columns import ANGLE, SHEET, X, Y
from jobprep.nesting.compared import Used
from jobprep.nesting.corner_search import corner_sheet, pack_corner
from jobprep.nesting.exchange import FilledSheets
from jobprep.nesting.exchange_search import exchange
from jobprep.nesting.fill import Filled, build_rasters, fill_sheets, largest_first
from jobprep.nesting.first_layout import first_layout
from jobprep.nesting.first_use import load_filling, seconds_to_load_search
from jobprep.nesting.improve import FirstLayout, as_layout, build_chains, improve, spots_tried
from jobprep.nesting.layout import Floats
from jobprep.nesting.least import least_extent, least_filled, least_for_discs, least_sheets
from jobprep.nesting.nest import Budget, Item, Nest, Placement, Sheet, Spacing
from jobprep.nesting.prepare import EXACT_WALKS, on_sheets, prepare
from jobprep.nesting.problem import Problem, build_problem
from jobprep.nesting.renest import old_start, renest
from jobprep.nesting.shapes import area, bounds, rotated
from jobprep.nesting.used_film import CornerSheet

OLD_SHARE = 0.5
"""Share of the budget for nesting again from an old nest, before all is nested from the start."""

WORTH_MOVING = 0.01
"""A nest made from the start must use up this much less than one made from an old nest."""

LAST_SHARE = 0.1
"""Share of the budget to pack the last of several sheets, once nothing but that is left to do."""

SQUEEZED, EXCHANGED = 0.25, 0.8
"""On several sheets, the share of the budget until which the last is made shorter, and that until
which parts are exchanged so that the others get fuller; then the last is made shorter once more.
Parts that turn freely are not exchanged: the same spots gain as much without."""

NOTHING_SHORTER = 1e-6
"""Relative; a nest is as short as can be when it is no more than this longer than the least."""

Progress = Callable[..., None]


def nest_parts(
    items: Sequence[Item],
    sheets: Sequence[Sheet],
    spacing: Spacing,
    budget: Budget,
    progress: Progress | None = None,
    executor: Executor | None = None,
    old: Nest | None = None,
) -> Nest:
    """Place all items on as few and as cheap sheets as possible.

    Leftovers are used first, then whole sheets, cheapest by area first; the last sheet is packed
    towards one side, or into a corner where something of it is kept and its parts are few. An
    interrupt (Ctrl-C), or a budget that says that it is over, ends the search
    and returns the best nest so far.

    ``progress``, when given, is called with the keywords ``nest`` (the best so far) and
    ``last_used`` (the share of the last sheet that it uses up). ``executor`` runs the search's
    chains: any that can submit, of threads or of processes; threads by default.

    ``old`` is a nest of the same items on the same sheets whose parts may now lie too near each
    other. The first half of the budget is spent on moving them apart where they lie, the rest on
    a nest made from the start; that is returned if it leaves fewer parts over, costs less, opens
    fewer sheets, or uses up at least 1 % less of the last one.

    To load the compiled search takes none of the budget, nor does compiling it.

    The search ends before its budget where a nest is the best there can be, as with a few parts
    side by side.
    """
    load_filling()
    started = time.monotonic()
    problem = build_problem(items, sheets, spacing)
    bound = max(least_sheets(problem), least_for_discs(problem, items, sheets, spacing))
    if not problem.queue or not problem.parts:
        return Nest(sheets=(), placements=(), unplaced=problem.quantities, bound=bound)
    filled = fill_sheets(problem, build_rasters(problem), largest_first(problem))
    record = _Record(problem, bound, progress)
    record.offer(_filled_nest(problem, filled, bound), filled.tried)
    record.tried = filled.tried
    if budget.seconds <= 0.0 and budget.evaluations is None:
        return record.nest
    if old is None and record.is_best and record.corner is None:
        return record.nest
    if budget.is_over():
        return replace(record.nest, is_interrupted=True)
    started += seconds_to_load_search()
    start = None if old is None else old_start(problem, old)
    if start is not None:
        of_old, budget = shared_out(budget, OLD_SHARE)
        if _nest_old(record, start, of_old, started):
            return replace(record.nest, is_interrupted=True)
    is_interrupted = _nest_anew(record, filled, budget, started, executor)
    return replace(record.nest, evaluations=record.tried, is_interrupted=is_interrupted)


def _until(budget: Budget, share: float, spent: int) -> Budget:
    """Return the budget that is left, after some spots, until a share of the whole is spent."""
    count = budget.evaluations
    left = None if count is None else max(1, int(share * count) - spent)
    return replace(budget, seconds=share * budget.seconds, evaluations=left)


def shared_out(budget: Budget, share: float) -> tuple[Budget, Budget]:
    """Return a first share of a budget, and what is for the rest: of the time, all that is left."""
    seconds, count = share * budget.seconds, budget.evaluations
    if count is None:
        return replace(budget, seconds=seconds), budget
    first = int(share * count)
    return replace(budget, evaluations=first), replace(budget, evaluations=max(1, count - first))


class NestRank(NamedTuple):
    """How good a nest is, the less the better; ``used`` is what it uses up of the last sheet."""

    unplaced: int
    cost: float
    n_sheets: int
    used: Used


class _Record:
    """The best nest so far. ``tried`` counts the spots of all searches that have ended."""

    def __init__(self, problem: Problem, bound: float, progress: Progress | None) -> None:
        self.problem = problem
        self.nest = Nest(sheets=(), placements=(), unplaced=problem.quantities, bound=bound)
        self.tried = 0
        self._progress = progress
        self._rank: NestRank | None = None
        self._is_old = False

    @cached_property
    def _extents(self) -> list[float]:
        """What one of each kind takes of a sheet's length at least."""
        wanted = [item for item, quantity in enumerate(self.problem.quantities) if quantity]
        return [least_extent(self.problem, item) for item in wanted]

    @property
    def is_best(self) -> bool:
        """Whether a cheap bound shows that no nest can be shorter than the best so far."""
        rank, queue = self._rank, self.problem.queue
        if rank is None or rank.unplaced:
            return False
        length = (1.0 - NOTHING_SHORTER) * _ends(self.problem, self.nest).length
        filled = least_filled(self.problem, self.nest)
        if rank.n_sheets == 1:
            return length <= max(filled, *self._extents) and not queue.has_cheaper(rank.cost)
        is_fewest = queue.has_one_kind and rank.n_sheets <= self.nest.bound
        return is_fewest and length <= max(filled, min(self._extents))

    @property
    def corner(self) -> CornerSheet | None:
        """The last sheet of the best nest where its parts are few enough to lie in its corner."""
        return corner_sheet(self.problem, self.nest)

    @property
    def is_for_corner(self) -> bool:
        """Whether the cheapest sheet alone is enough, so that only its corner is left to search."""
        rank = self._rank
        return (
            rank is not None
            and rank.n_sheets == 1
            and not self.problem.queue.has_cheaper(rank.cost)
            and self.corner is not None
        )

    def offer(self, nest: Nest, tried: int, *, is_old: bool = False) -> None:
        """Take a nest found after this number of further spots, if it is better, and report it.

        An old nest is not given up for one that is only a little shorter.
        """
        rank = ranked(self.problem, nest)
        needed = self._rank
        if needed is not None and self._is_old and not is_old:
            needed = needed._replace(used=_scaled(needed.used, 1.0 - WORTH_MOVING))
        is_better = needed is None or rank < needed
        if is_better:
            self.nest, self._rank, self._is_old = nest, rank, is_old
        self.nest = replace(self.nest, evaluations=self.tried + tried)
        if is_better and self._progress is not None:
            self._progress(nest=self.nest, last_used=_last_used(self.problem, nest, rank.used))


def _scaled(used: Used, share: float) -> Used:
    return Used(share * used.units, used.less_largest, share * used.film)


class _Ends(NamedTuple):
    """How far the parts of a nest's last sheet reach along each axis, and how long that is."""

    x: float
    y: float
    length: float


def _ends(problem: Problem, nest: Nest) -> _Ends:
    places = [problem.centred(place) for place in nest.placements]
    last = len(nest.sheets) - 1
    boxes = [
        (place, bounds(rotated(problem.parts[place.item], place.angle)))
        for place in places
        if place.sheet == last
    ]
    x = max((place.x + box[2] for place, box in boxes), default=0.0)
    y = max((place.y + box[3] for place, box in boxes), default=0.0)
    start = bounds(problem.sheets[nest.sheets[last]])[0] if nest.sheets else 0.0
    return _Ends(x, y, x - start)


def ranked(problem: Problem, nest: Nest) -> NestRank:
    """Return how good a nest is."""
    cost = math.fsum(problem.costs[n] for n in nest.sheets)
    sheet = problem.corners[nest.sheets[-1]] if nest.sheets else None
    ends = _ends(problem, nest)
    used = Used(ends.length, 0.0, ends.length) if sheet is None else sheet.used(ends.x, ends.y)
    return NestRank(sum(nest.unplaced), cost, len(nest.sheets), used)


def _nest_old(record: _Record, start: FirstLayout, budget: Budget, started: float) -> bool:
    """Nest again from an old nest; return whether that was interrupted."""

    def offer(best: Best, tried: int) -> None:
        unplaced = (0,) * len(record.problem.parts)
        nest = _nest(record.problem, start, best.spots, unplaced, record.nest.bound)
        record.offer(nest, tried, is_old=True)

    ended = renest(record.problem, start, budget, started, offer)
    record.tried += ended.tried
    return ended.is_interrupted


def _nest_anew(
    record: _Record, filled: Filled, budget: Budget, started: float, executor: Executor | None
) -> bool:
    """Improve the filled sheets as long as the budget lasts; return whether interrupted.

    Few parts on one sheet are packed into its corner at once, those on the last of several sheets
    at the end.
    """
    if not record.is_for_corner:
        has_more = len(filled.sheets) > 1
        first, last = shared_out(budget, 1.0 - LAST_SHARE) if has_more else (budget, budget)
        if _shorten(record, filled, first, started, executor):
            return True
        if not has_more:
            return False
        budget = last
    sheet = record.corner
    if sheet is None:
        return False
    tried, is_interrupted = pack_corner(
        record.problem, record.nest, sheet, budget, started, record.offer, executor
    )
    record.tried += tried
    return is_interrupted


def _shorten(
    record: _Record, filled: Filled, budget: Budget, started: float, executor: Executor | None
) -> bool:
    """Use fewer sheets and less of the length of the last; return whether interrupted."""
    start = None if record.is_best else first_layout(record.problem, filled, budget)
    if start is None:
        return False
    steps = _Shortening(record, start, filled.unplaced, started, executor)
    if len(start.sheets) == 1 or not steps.is_exact:
        steps.squeeze(budget)
        return steps.is_interrupted
    before = record.tried
    for step, share in (
        (steps.squeeze, SQUEEZED),
        (steps.exchange, EXCHANGED),
        (steps.squeeze, 1.0),
    ):
        step(_until(budget, share, record.tried - before))
        if steps.is_interrupted or record.is_best:
            break
    return steps.is_interrupted


class _Shortening:
    """A search from one layout to the next; ``unplaced`` found no room from the beginning.

    It ``is_exact`` where every overlap is known: few spots then show whether parts fit on a sheet.
    """

    def __init__(
        self,
        record: _Record,
        start: FirstLayout,
        unplaced: Sequence[int],
        started: float,
        executor: Executor | None,
    ) -> None:
        self._record, self._started, self._executor = record, started, executor
        self._layout = start
        # What was thrown on top of a layout has room once that is valid.
        self._unplaced = tuple(unplaced) if start.is_valid else (0,) * len(unplaced)
        self._prepared = prepare(record.problem, start.kinds, start.sheets)
        self.is_exact = self._prepared.walks == EXACT_WALKS
        self.is_interrupted = False

    def squeeze(self, budget: Budget) -> None:
        """Make the last sheet shorter, until it is empty, and then the one before it."""
        record = self._record
        prepared = on_sheets(self._prepared, len(self._layout.sheets))
        chains = build_chains(record.problem, self._layout, budget, prepared)

        def offer(best: Best) -> None:
            self._offer(best.spots, spots_tried(chains))
            if record.is_best:
                for chain in chains:
                    chain.parts.stop()

        best = improve(chains, budget, self._started, offer, self._executor)
        if best.is_valid:
            offer(best)
            self._layout = as_layout(self._layout, best.n_sheets, best.spots)
        record.tried += spots_tried(chains)
        is_stopped = any(chain.parts.is_stopped for chain in chains)
        self.is_interrupted = is_stopped and not record.is_best

    def exchange(self, budget: Budget) -> None:
        """Fill all sheets but the last, which is emptied."""
        if not self._layout.is_valid:
            return
        problem = self._record.problem
        prepared = on_sheets(self._prepared, len(self._layout.sheets))

        def offer(best: FilledSheets, tried: int) -> None:
            self._offer(best.spots, tried)

        found = exchange(
            problem, prepared, self._layout, budget, self._started, offer, self._executor
        )
        self._layout = as_layout(self._layout, found.best.n_sheets, found.best.spots)
        self._record.tried += found.tried
        self.is_interrupted = found.is_interrupted

    def _offer(self, spots: Floats, tried: int) -> None:
        record = self._record
        nest = _nest(record.problem, self._layout, spots, self._unplaced, record.nest.bound)
        record.offer(nest, tried)


def _filled_nest(problem: Problem, filled: Filled, bound: float) -> Nest:
    return Nest(
        sheets=tuple(filled.sheets),
        placements=tuple(map(problem.placed, filled.placements)),
        unplaced=tuple(filled.unplaced),
        bound=bound,
    )


def _nest(
    problem: Problem, start: FirstLayout, spots: Floats, unplaced: tuple[int, ...], bound: float
) -> Nest:
    """Return a layout as a nest; sheets left empty are not opened."""
    used = sorted(set(spots[:, SHEET].astype(int).tolist()))
    number = {sheet: k for k, sheet in enumerate(used)}
    copies = [0] * len(problem.parts)
    placements = []
    for kind, spot in zip(start.kinds, spots, strict=True):
        placements.append(
            problem.placed(
                Placement(
                    kind,
                    copies[kind],
                    number[int(spot[SHEET])],
                    float(spot[ANGLE]),
                    float(spot[X]),
                    float(spot[Y]),
                )
            )
        )
        copies[kind] += 1
    return Nest(
        sheets=tuple(start.sheets[n] for n in used),
        placements=tuple(placements),
        unplaced=unplaced,
        bound=bound,
    )


def _last_used(problem: Problem, nest: Nest, used: Used) -> float:
    """Return the share of the last sheet that a nest uses up: of film, or of its length."""
    if not nest.sheets:
        return 0.0
    corner = problem.corners[nest.sheets[-1]]
    if corner is not None:
        return used.film / area(corner.outline)
    x0, _, x1, _ = bounds(problem.sheets[nest.sheets[-1]])
    return used.film / (x1 - x0)
