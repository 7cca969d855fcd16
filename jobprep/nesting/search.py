"""Nest parts on sheets: a first nest at once, then better ones while the budget lasts."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from jobprep.nesting.fill import Raster, Stamp, copied, open_raster, place, stamp
from jobprep.nesting.nest import Budget, Item, Nest, Placement, Sheet, Spacing
from jobprep.nesting.shapes import (
    Polygon,
    area,
    bounds,
    candidate_angles,
    part_polygon,
    rotated,
    sheet_polygon,
)

PATIENCE = 40
"""Orders tried in a row without a better nest before the search gives up."""


@dataclass(slots=True)
class _Problem:
    parts: list[Polygon]
    stamps: list[tuple[Stamp, ...]]
    blank: dict[int, Raster]
    costs: list[float]
    queue: list[int]
    endless: int | None
    quantities: list[int]
    evaluations: int = 0


Score = tuple[int, float, int, float]


def nest_parts(
    items: Sequence[Item],
    sheets: Sequence[Sheet],
    spacing: Spacing,
    budget: Budget,
    progress: Callable[..., None] | None = None,
) -> Nest:
    """Place all items on as few and as cheap sheets as possible.

    ``progress``, when given, is called with the keywords ``nest`` (the best so far),
    ``utilisation`` (part area over the area of the opened sheets) and ``bound`` (a proven least
    number of sheets).
    """
    started = time.monotonic()
    problem = _prepare(items, sheets, spacing)
    bound = _least_sheets(problem, sheets)
    order = [
        index
        for index in sorted(range(len(items)), key=lambda i: -abs(area(problem.parts[i])))
        for _ in range(items[index].quantity)
    ]
    best, score = _fill(problem, order)
    _report(progress, best, problem, sheets, bound)
    random = np.random.default_rng(budget.seed)
    idle = 0
    while idle < PATIENCE and not _spent(problem, budget, started) and len(order) > 1:
        trial = list(order)
        for _ in range(1 + int(random.integers(3))):
            here, there = random.integers(len(trial), size=2)
            trial[here], trial[there] = trial[there], trial[here]
        nest, value = _fill(problem, trial)
        idle += 1
        if value <= score:
            if value < score:
                idle = 0
                _report(progress, nest, problem, sheets, bound)
            best, score, order = nest, value, trial
    return _finished(best, problem, bound)


def _prepare(items: Sequence[Item], sheets: Sequence[Sheet], spacing: Spacing) -> _Problem:
    parts = [part_polygon(item.region, 0.5 * spacing.gap) for item in items]
    outlines = [sheet_polygon(sheet.region, spacing.edge - 0.5 * spacing.gap) for sheet in sheets]
    cell = _cell(parts, outlines)
    stamps = [
        tuple(
            stamp(part, angle, cell)
            for angle in candidate_angles(item.region, part, item.rotation_step)
        )
        for item, part in zip(items, parts, strict=True)
    ]
    usable = [n for n, outline in enumerate(outlines) if outline]
    usable.sort(key=lambda n: (not sheets[n].leftover, sheets[n].cost / abs(area(outlines[n])), n))
    queue: list[int] = []
    endless = None
    total = sum(item.quantity for item in items)
    for n in usable:
        count = sheets[n].count
        queue.extend([n] * (total if count is None else min(count, total)))
        if count is None:
            endless = n
            break
    return _Problem(
        parts,
        stamps,
        {n: open_raster(n, outlines[n], cell) for n in usable},
        [sheet.cost for sheet in sheets],
        queue,
        endless,
        [item.quantity for item in items],
    )


def _cell(parts: Sequence[Polygon], outlines: Sequence[Polygon]) -> float:
    """Choose the raster's cell: fine against the parts, but never too many on a sheet."""
    sizes = sorted(min(b[2] - b[0], b[3] - b[1]) for b in map(bounds, parts))
    reach = max(
        (max(b[2] - b[0], b[3] - b[1]) for b in map(bounds, filter(None, outlines))), default=1.0
    )
    fine = sizes[len(sizes) // 2] / 25.0 if sizes else reach
    return min(max(fine, reach / 1200.0), reach / 150.0)


def _fill(problem: _Problem, order: Sequence[int]) -> tuple[Nest, Score]:
    """Fill the sheets with parts in an order."""
    opened: list[Raster] = []
    contents: list[list[Placement]] = []
    counts = [0] * len(problem.quantities)
    hopeless = [0] * len(problem.quantities)
    for item in order:
        if hopeless[item]:
            hopeless[item] += 1
            continue
        sheet = 0
        while True:
            if sheet == len(opened):
                if sheet == len(problem.queue):
                    hopeless[item] = 1
                    break
                opened.append(copied(problem.blank[problem.queue[sheet]]))
                contents.append([])
            placed, tried = place(opened[sheet], item, problem.stamps[item])
            problem.evaluations += tried
            if placed is not None:
                contents[sheet].append(placed._replace(copy=counts[item]))
                counts[item] += 1
                break
            if opened[sheet].sheet == problem.endless and not contents[sheet]:
                hopeless[item] = 1  # larger than an empty sheet
                break
            sheet += 1
    used = [n for n, parts in enumerate(contents) if parts]
    nest = Nest(
        sheets=tuple(opened[n].sheet for n in used),
        placements=tuple(
            placed._replace(sheet=sheet) for sheet, n in enumerate(used) for placed in contents[n]
        ),
        unplaced=tuple(hopeless),
    )
    return nest, _score(problem, nest)


def _score(problem: _Problem, nest: Nest) -> Score:
    """Return what counts, most important first: parts left over, cost, sheets, length used."""
    end = 0.0
    if nest.sheets:
        last = len(nest.sheets) - 1
        end = max(
            bounds(rotated(problem.parts[placed.item], placed.angle))[2] + placed.x
            for placed in nest.placements
            if placed.sheet == last
        )
    return sum(nest.unplaced), sum(problem.costs[n] for n in nest.sheets), len(nest.sheets), end


def _least_sheets(problem: _Problem, sheets: Sequence[Sheet]) -> float:
    """Return how many sheets the area alone needs, largest sheets first."""
    need = sum(q * abs(area(p)) for q, p in zip(problem.quantities, problem.parts, strict=True))
    held = sorted(
        (b.runs.astype(bool).sum() * b.cell**2 for b in problem.blank.values()), reverse=True
    )
    return float(math.ceil(need / held[0] - 1e-9)) if held else 0.0


def _spent(problem: _Problem, budget: Budget, started: float) -> bool:
    if budget.evaluations is not None:
        return problem.evaluations >= budget.evaluations
    return time.monotonic() - started >= budget.seconds


def _report(
    progress: Callable[..., None] | None,
    nest: Nest,
    problem: _Problem,
    sheets: Sequence[Sheet],
    bound: float,
) -> None:
    if progress is not None:
        used = sum(abs(area(problem.parts[placed.item])) for placed in nest.placements)
        held = sum(
            problem.blank[n].runs.astype(bool).sum() * problem.blank[n].cell ** 2
            for n in nest.sheets
        )
        progress(nest=nest, utilisation=used / held if held else 0.0, bound=bound)


def _finished(nest: Nest, problem: _Problem, bound: float) -> Nest:
    return Nest(
        sheets=nest.sheets,
        placements=nest.placements,
        unplaced=nest.unplaced,
        evaluations=problem.evaluations,
        bound=bound,
    )
