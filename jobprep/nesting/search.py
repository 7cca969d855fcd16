"""Nest parts on sheets: a first nest at once, then better ones while the budget lasts."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor

import numpy as np

from jobprep.nesting.chain import ANGLE, SHEET, Best, X, Y
from jobprep.nesting.fill import Filled, build_rasters, fill_sheets, largest_first
from jobprep.nesting.improve import Start, build_chains, improve
from jobprep.nesting.nest import Budget, Item, Nest, Placement, Sheet, Spacing
from jobprep.nesting.problem import Problem, build_problem
from jobprep.nesting.shapes import area, bounds

FULLEST = 0.97
"""Share of the sheets' area above which parts without room are not even tried to squeeze in."""

Progress = Callable[..., None]


def nest_parts(
    items: Sequence[Item],
    sheets: Sequence[Sheet],
    spacing: Spacing,
    budget: Budget,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Nest:
    """Place all items on as few and as cheap sheets as possible.

    Leftovers are used first, then whole sheets, cheapest by area first; the last sheet is packed
    towards one side. An interrupt (Ctrl-C) ends the search and returns the best nest so far.

    ``progress``, when given, is called with the keywords ``nest`` (the best so far),
    ``utilisation`` (part area over the area of the opened sheets) and ``bound`` (a proven least
    number of sheets). ``executor`` runs the search's chains; threads by default.
    """
    started = time.time()
    problem = build_problem(items, sheets, spacing)
    bound = _least_sheets(problem)
    if not problem.queue or not problem.parts:
        return Nest(sheets=(), placements=(), unplaced=problem.quantities, bound=bound)
    filled = fill_sheets(problem, build_rasters(problem), largest_first(problem))
    nest = _filled_nest(problem, filled, bound)
    _tell(progress, problem, nest)
    start = _start(problem, filled, budget)
    if start is None or (budget.seconds <= 0.0 and budget.evaluations is None):
        return nest
    chains = build_chains(problem, start, budget)

    def answer(best: Best) -> Nest:
        tried = filled.tried + sum(chain.evaluations for chain in chains)
        left = (0,) * len(items) if not start.is_valid else nest.unplaced
        return _nest(problem, start, best, left, tried, bound)

    best = improve(
        chains, budget, started, lambda each: _tell(progress, problem, answer(each)), executor
    )
    return answer(best) if best.is_valid else nest


def _start(problem: Problem, filled: Filled, budget: Budget) -> Start | None:
    """Return where the search starts: at the filled sheets, parts without room thrown on top."""
    kinds = [placed.item for placed in filled.placements]
    if not any(filled.unplaced):
        return Start(kinds, filled.placements, filled.sheets) if kinds else None
    need = sum(a * q for a, q in zip(problem.areas, problem.quantities, strict=True))
    room = sum(area(problem.sheets[n]) for n in problem.queue)
    if need > FULLEST * room or not all(
        _fits(problem, item) for item, n in enumerate(filled.unplaced) if n
    ):
        return Start(kinds, filled.placements, filled.sheets) if kinds else None
    random = np.random.default_rng(budget.seed)
    placements = []
    sheets = list(problem.queue)
    # The filled sheets are the first of the queue, except those where nothing found room.
    numbers = _queue_numbers(problem.queue, filled.sheets)
    for placed in filled.placements:
        placements.append(placed._replace(sheet=numbers[placed.sheet]))
    for item, count in enumerate(filled.unplaced):
        for _ in range(count):
            sheet = int(random.integers(len(sheets)))
            x0, y0, x1, y1 = bounds(problem.sheets[sheets[sheet]])
            kinds.append(item)
            placements.append(
                Placement(
                    item,
                    0,
                    sheet,
                    problem.angles[item][0],
                    float(random.uniform(x0, x1)),
                    float(random.uniform(y0, y1)),
                )
            )
    return Start(kinds, placements, sheets, is_valid=False)


def _queue_numbers(queue: Sequence[int], used: Sequence[int]) -> list[int]:
    numbers = []
    at = 0
    for sheet in used:
        while queue[at] != sheet:
            at += 1
        numbers.append(at)
        at += 1
    return numbers


def _fits(problem: Problem, item: int) -> bool:
    """Return whether a part's area and width leave any hope on some sheet."""
    x0, y0, x1, y1 = bounds(problem.parts[item])
    for n in set(problem.queue):
        a0, b0, a1, b1 = bounds(problem.sheets[n])
        if problem.areas[item] <= area(problem.sheets[n]) and min(x1 - x0, y1 - y0) <= max(
            a1 - a0, b1 - b0
        ):
            return True
    return False


def _filled_nest(problem: Problem, filled: Filled, bound: float) -> Nest:
    return Nest(
        sheets=tuple(filled.sheets),
        placements=tuple(map(problem.placed, filled.placements)),
        unplaced=tuple(filled.unplaced),
        evaluations=filled.tried,
        bound=bound,
    )


def _nest(
    problem: Problem, start: Start, best: Best, unplaced: tuple[int, ...], tried: int, bound: float
) -> Nest:
    """Return a layout as a nest; sheets left empty are not opened."""
    used = sorted(set(best.spots[:, SHEET].astype(int).tolist()))
    number = {sheet: k for k, sheet in enumerate(used)}
    copies = [0] * len(problem.parts)
    placements = []
    for kind, spot in zip(start.kinds, best.spots, strict=True):
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
        evaluations=tried,
        bound=bound,
    )


def _least_sheets(problem: Problem) -> float:
    """Return how many sheets the area alone needs, largest sheets first."""
    need = sum(a * q for a, q in zip(problem.areas, problem.quantities, strict=True))
    rooms = sorted((area(problem.sheets[n]) for n in problem.queue), reverse=True)
    for count, room in enumerate(rooms):
        if need <= 1e-9 * room:
            return float(count)
        need -= room
    return float(len(rooms))


def _tell(progress: Progress | None, problem: Problem, nest: Nest) -> None:
    if progress is not None:
        used = sum(problem.areas[placed.item] for placed in nest.placements)
        room = sum(area(problem.sheets[n]) for n in nest.sheets)
        progress(nest=nest, utilisation=used / room if room else 0.0, bound=nest.bound)
