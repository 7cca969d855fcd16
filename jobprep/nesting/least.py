"""Bounds that no nest of a problem can beat: the least number of sheets, the least of the last."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from jobprep.nesting.hulls import hull_ring, width
from jobprep.nesting.most_discs import disc_radius, is_convex, most_discs, most_under
from jobprep.nesting.nest import Item, Nest, Sheet, Spacing
from jobprep.nesting.problem import Problem
from jobprep.nesting.shapes import area, bounds
from jobprep.units import TURN


def least_sheets(problem: Problem) -> float:
    """Return how many sheets the area alone needs, largest sheets first."""
    need = sum(a * q for a, q in zip(problem.areas, problem.quantities, strict=True))
    count = 0
    rooms = problem.queue.greatest(lambda roof: roof.area, lambda n: area(problem.sheets[n]))
    for room, n in rooms:
        for _ in range(problem.queue.count(n)):
            if need <= 1e-9 * room:
                return float(count)
            need -= room
            count += 1
    return float(count)


def least_for_discs(
    problem: Problem, items: Sequence[Item], sheets: Sequence[Sheet], spacing: Spacing
) -> float:
    """Return how many sheets equal solid discs need, the roomiest first; 0 for other parts."""
    if len(items) != 1 or items[0].region.holes or disc_radius(items[0].region) is None:
        return 0.0
    part, queue = items[0], problem.queue
    if any(not is_convex(sheets[n].region) and queue.is_used(n) for n in queue.roofs):
        return 0.0
    held, count = 0, 0
    for most, n in queue.greatest(
        lambda roof: most_under(part.region, roof, spacing),
        lambda n: most_discs(part.region, sheets[n].region, spacing) or 0,
    ):
        for _ in range(queue.count(n)):
            held, count = held + int(most), count + 1
            if held >= part.quantity:
                return float(count)
    return 0.0


def least_extent(problem: Problem, item: int) -> float:
    """Return the least of a sheet's length that a part takes, at any angle that it may lie."""
    ring, turns = hull_ring(problem.parts[item]), problem.n_turns[item]
    if turns == 0:
        return width(ring)
    angles = TURN * np.arange(turns) / turns
    return float(np.ptp(ring @ np.array([np.cos(angles), -np.sin(angles)]), axis=0).min())


def least_filled(problem: Problem, nest: Nest) -> float:
    """Return the least length of the last sheet that parts fill when all others are full."""
    *others, last = (problem.sheets[n] for n in nest.sheets)
    need = math.fsum(a * q for a, q in zip(problem.areas, problem.quantities, strict=True))
    _, y0, _, y1 = bounds(last)
    return (need - math.fsum(map(area, others))) / (y1 - y0)
