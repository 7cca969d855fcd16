"""How many discs can lie on given sheets at most: bounds that no nest can exceed.

By area: parts grown by half the gap do not overlap, and all lie in the sheet shrunk by the edge
less half the gap. For equal round discs alone there is a sharper bound.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

from jobprep.geometry.measure import area
from jobprep.geometry.offset import offset
from jobprep.geometry.outline import Region
from jobprep.nesting.most_discs import ROUNDING, most_discs
from jobprep.nesting.nest import Item, Sheet, Spacing


def most_sets(
    once: Sequence[Item], per_set: Sequence[Item], sheets: Sequence[Sheet], spacing: Spacing
) -> int:
    """Return an upper bound for how many sets of parts the sheets hold.

    ``once`` are parts that must find room besides, ``per_set`` those of one set; both with their
    quantities. Sheets need a finite count.
    """
    bounds = [_by_area(once, per_set, sheets, spacing)]
    if not once and len(per_set) == 1:
        region = per_set[0].region
        discs = [most_discs(region, sheet.region, spacing) for sheet in sheets if sheet.count]
        if all(found is not None for found in discs):
            counts = (sheet.count or 0 for sheet in sheets if sheet.count)
            total = sum((found or 0) * count for found, count in zip(discs, counts, strict=True))
            bounds.append(total // per_set[0].quantity)
    return min(bounds)


def _by_area(
    once: Sequence[Item], per_set: Sequence[Item], sheets: Sequence[Sheet], spacing: Spacing
) -> int:
    held = sum(
        (sheet.count or 0) * _grown(sheet.region, 0.5 * spacing.gap - spacing.edge)
        for sheet in sheets
    )
    held -= sum(item.quantity * _grown(item.region, 0.5 * spacing.gap) for item in once)
    need = sum(item.quantity * _grown(item.region, 0.5 * spacing.gap) for item in per_set)
    return max(0, math.floor(held / need * (1.0 + ROUNDING)))


@lru_cache(maxsize=10_000)  # of every piece alone, and of all of them, for one set and for all
def _grown(region: Region, distance: float) -> float:
    return sum(map(area, offset(region, distance).regions))
