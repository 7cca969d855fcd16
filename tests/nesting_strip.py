"""Nest polygons on a strip of fixed height, in the least length, as published instances ask.

The product nests on sheets and rolls; its search is measured here against others.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import NamedTuple

from polygon_check import polygon_faults

from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Region, rectangle
from jobprep.nesting.chain import Best
from jobprep.nesting.check import NestError, check_nest
from jobprep.nesting.columns import ANGLE, X, Y
from jobprep.nesting.fill import build_rasters, fill_sheets, largest_first
from jobprep.nesting.improve import FirstLayout, build_chains, improve, spots_tried
from jobprep.nesting.nest import Budget, Item, Nest, Placement, Sheet, Spacing
from jobprep.nesting.problem import Problem, build_problem

SPARE = 1.6
"""How much longer than all parts laid end to end, over their rows, the first strip is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """All copies of all items on a strip; ``bound`` is a length no nest can be shorter than."""

    length: float
    placements: tuple[Placement, ...]
    evaluations: int
    bound: float


class Progressed(NamedTuple):
    """A better length found, and after how many seconds."""

    length: float
    seconds: float


def nest_strip(
    items: Sequence[Item],
    height: float,
    budget: Budget,
    progress: Callable[[Progressed], None] | None = None,
    executor: Executor | None = None,
) -> Strip:
    """Nest items, which may touch, on a strip as short as possible.

    ``height`` is along y; the strip begins at x = 0. Placements turn a part about its region's own
    origin, then shift it. The search ends early where no nest can be shorter.
    """
    started = time.monotonic()
    length = _enough(items, height)
    sheet = Sheet(region=Region(rectangle(length, height)))
    problem = build_problem(items, [sheet], Spacing(gap=0.0, edge=0.0))
    filled = fill_sheets(problem, build_rasters(problem), largest_first(problem))
    if any(filled.unplaced):
        raise ValueError("a part is higher than the strip")
    start = FirstLayout(
        [placed.item for placed in filled.placements], filled.placements, filled.sheets
    )
    chains = build_chains(problem, start, budget)
    bound = sum(a * q for a, q in zip(problem.areas, problem.quantities, strict=True)) / height

    def tell(best: Best) -> None:
        if progress is not None:
            progress(Progressed(best.length, time.monotonic() - started))

    tell(chains[0].best)
    best = improve(chains, budget, started, tell, executor, bound)
    return Strip(
        length=best.length,
        placements=_placements(problem, start, best),
        evaluations=filled.tried + spots_tried(chains),
        bound=bound,
    )


def prove_strip(items: Sequence[Item], height: float, strip: Strip) -> None:
    """Prove a strip: all copies there, none over another, none beyond the height or the length.

    Raises ``NestError`` as the proof of any nest does, or where polygons on an integer grid show
    more than that.
    """
    problem, nest = as_nest(items, height, strip)
    check_nest(*problem, nest)
    faults = list(polygon_faults(*problem, nest))
    if faults:
        raise NestError(faults)


def as_nest(
    items: Sequence[Item], height: float, strip: Strip
) -> tuple[tuple[Sequence[Item], list[Sheet], Spacing], Nest]:
    """Return a strip as the nest that it is of a sheet of its length; parts may touch."""
    nest = Nest(sheets=(0,), placements=strip.placements, unplaced=(0,) * len(items))
    sheets = [Sheet(region=Region(rectangle(strip.length, height)))]
    return (items, sheets, Spacing(gap=0.0, edge=0.0)), nest


def _enough(items: Sequence[Item], height: float) -> float:
    """Return a length that surely holds all items, rows of boxes one after the other."""
    total = 0.0
    longest = height
    for item in items:
        box = region_bounds(item.region)
        wide = math.hypot(box.width, box.height)
        total += item.quantity * wide / max(1, math.floor(height / wide))
        longest = max(longest, wide)
    return SPARE * total + longest


def _placements(problem: Problem, start: FirstLayout, best: Best) -> tuple[Placement, ...]:
    copies = [0] * len(problem.parts)
    placements = []
    for kind, spot in zip(start.kinds, best.spots, strict=True):
        placements.append(
            problem.placed(
                Placement(kind, copies[kind], 0, float(spot[ANGLE]), float(spot[X]), float(spot[Y]))
            )
        )
        copies[kind] += 1
    return tuple(placements)
