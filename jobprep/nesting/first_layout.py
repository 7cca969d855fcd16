"""Where a search starts: at the filled sheets, with what found no room thrown on top."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from jobprep.nesting.fill import Filled
from jobprep.nesting.improve import FirstLayout
from jobprep.nesting.nest import Budget, Placement
from jobprep.nesting.problem import Problem
from jobprep.nesting.shapes import area, bounds

FULLEST = 0.97
"""Share of the sheets' area above which parts without room are not even tried to squeeze in."""


def first_layout(problem: Problem, filled: Filled, budget: Budget) -> FirstLayout | None:
    """Return where the search starts: at the filled sheets, parts without room thrown on top."""
    kinds = [placed.item for placed in filled.placements]
    if not any(filled.unplaced):
        return FirstLayout(kinds, filled.placements, filled.sheets) if kinds else None
    need = sum(a * q for a, q in zip(problem.areas, problem.quantities, strict=True))
    room = sum(area(problem.sheets[n]) for n in problem.queue)
    if need > FULLEST * room or not all(
        _fits(problem, item) for item, n in enumerate(filled.unplaced) if n
    ):
        return FirstLayout(kinds, filled.placements, filled.sheets) if kinds else None
    random = np.random.default_rng(budget.seed)
    placements = []
    sheets = list(problem.queue)  # from here on all are needed
    # The filled sheets are the first of the queue, except those where nothing found room.
    numbers = _queue_numbers(sheets, filled.sheets)
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
    return FirstLayout(kinds, placements, sheets, is_valid=False)


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
