"""The sheets of a problem in the order they are used, shrunk only when their turn may come.

A shelf may hold thousands of pieces of which a nest opens a few. Shrinking the outline of each
takes far longer than the nest, so that is done for a sheet only when it may be the next in an
order: its shrunk outline never exceeds what its box and its area tell beforehand, its ``Roof``.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import islice
from typing import NamedTuple, TypeVar

from jobprep.geometry.measure import area as region_area
from jobprep.geometry.measure import perimeter, region_bounds
from jobprep.geometry.outline import Region
from jobprep.nesting.nest import Sheet
from jobprep.nesting.shapes import SAFETY, Polygon, area, sheet_polygon

ROUNDING = 1e-9
"""Relative; how much less than computed a shrunk outline is taken to have at most."""

Rank = tuple[bool, float, int]
"""The order: leftovers first, then cost by area, then number."""

ValueT = TypeVar("ValueT", float, Rank)


class Roof(NamedTuple):
    """What the shrunk outline of a sheet has at most: width and height, mm, and area, mm²."""

    width: float
    height: float
    area: float


def in_order(
    estimates: Iterable[tuple[ValueT, int]], value: Callable[[int], ValueT | None]
) -> Iterator[tuple[ValueT, int]]:
    """Yield numbers by their values, the least first, equal ones as they are numbered.

    A value that is None is left out, and none is below its estimate. A value is asked for only
    when no other is known to come before it.
    """
    known: list[tuple[ValueT, int]] = []
    for estimate in sorted(estimates):
        while known and known[0] < estimate:
            yield heapq.heappop(known)
        number = estimate[1]
        found = value(number)
        if found is not None:
            heapq.heappush(known, (found, number))
    while known:
        yield heapq.heappop(known)


class SheetQueue:
    """The sheets of a problem, each as often as there are of it, in the order they are used.

    Leftovers come first, then whole sheets, cheapest by area first. Sheets without room are left
    out, and so are those after the first sheet without a limited number. Outlines are shrunk by
    ``inset``; no sheet is used more than ``most`` times.
    """

    def __init__(self, sheets: Sequence[Sheet], inset: float, most: int) -> None:
        self._sheets, self._inset, self._most = sheets, inset, most
        self._outlines: dict[Region, Polygon] = {}
        self._ranks: dict[int, Rank | None] = {}
        there = [n for n, sheet in enumerate(sheets) if most and sheet.count != 0]
        roofs = ((n, _roof(sheets[n].region, inset)) for n in there)
        self.roofs = {n: roof for n, roof in roofs if min(roof) > 0.0}
        endless = (self._rank(n) for n in self.roofs if sheets[n].count is None)
        self._last = min((rank for rank in endless if rank is not None), default=None)

    def __iter__(self) -> Iterator[int]:
        """Yield every sheet as often as it may be used."""
        for n in self.kinds():
            yield from [n] * self.count(n)

    def __bool__(self) -> bool:
        """Whether there is any sheet with room."""
        return next(self.kinds(), None) is not None

    @property
    def has_one_kind(self) -> bool:
        """Whether there is only one kind of sheet, however many of it."""
        return len([*islice(self.kinds(), 2)]) == 1

    def count(self, n: int) -> int:
        """Return how many of a sheet may be used."""
        count = self._sheets[n].count
        return self._most if count is None else min(count, self._most)

    def kinds(self, may_hold: Callable[[Roof], bool] = lambda _: True) -> Iterator[int]:
        """Yield each sheet once, in order, if its roof may hold the parts."""
        estimates = (
            (_rank_of(n, self._sheets[n], roof.area * (1.0 + ROUNDING)), n)
            for n, roof in self.roofs.items()
            if may_hold(roof)
        )
        for _, n in in_order(estimates, self._rank_in_use):
            yield n

    def ordered(self, numbers: Iterable[int]) -> list[int]:
        """Return those sheets of ``numbers`` that are used, in their order."""
        ranks = (self._rank_in_use(n) for n in numbers if n in self.roofs)
        return [rank[2] for rank in sorted(rank for rank in ranks if rank is not None)]

    def last(self) -> int:
        """Return the sheet that is used last; there must be one."""
        return self._last[2] if self._last is not None else [*self.kinds()][-1]

    def greatest(
        self, roof: Callable[[Roof], float], value: Callable[[int], float]
    ) -> Iterator[tuple[float, int]]:
        """Yield values and sheets, the greatest first; none is above that of the sheet's roof."""

        def less(n: int) -> float | None:
            return -value(n) if self.is_used(n) else None

        estimates = ((-roof(each) * (1.0 + ROUNDING), n) for n, each in self.roofs.items())
        return ((-found, n) for found, n in in_order(estimates, less))

    def is_used(self, n: int) -> bool:
        """Whether a sheet is among those that may be used."""
        return n in self.roofs and self._rank_in_use(n) is not None

    def has_cheaper(self, cost: float) -> bool:
        """Whether some sheet costs less than this."""
        costs = ((self._sheets[n].cost, n) for n in self.roofs)
        cheaper = sorted((each for each in costs if each[0] < cost), reverse=True)
        return any(self.is_used(n) for _, n in cheaper)  # dear ones are likely to have room

    def outline(self, n: int) -> Polygon:
        """Return the shrunk outline of a sheet, empty where it has no room."""
        region = self._sheets[n].region
        if region not in self._outlines:
            self._outlines[region] = sheet_polygon(region, self._inset)
        return self._outlines[region]

    def _rank_in_use(self, n: int) -> Rank | None:
        """Return the rank of a sheet, None where it is not used."""
        rank = self._rank(n)
        return None if rank is None or (self._last is not None and rank > self._last) else rank

    def _rank(self, n: int) -> Rank | None:
        if n not in self._ranks:
            outline = self.outline(n)
            self._ranks[n] = _rank_of(n, self._sheets[n], area(outline)) if outline else None
        return self._ranks[n]


def _rank_of(n: int, sheet: Sheet, room: float) -> Rank:
    """Return the rank of a sheet with so much room, mm²."""
    return not sheet.leftover, sheet.cost / room, n


def _roof(region: Region, inset: float) -> Roof:
    """Return what is left of a region at most, less ``inset`` (negative: more) all round.

    The area of an inner parallel figure falls by at least its perimeter, and no perimeter is
    less than that of a circle of the same area (the isoperimetric inequality). That of a convex
    figure grows by ``P d + π d²`` (J. Steiner's formula); others are not grown.
    """
    box, whole = region_bounds(region), region_area(region)
    width, height = box.width - 2.0 * inset, box.height - 2.0 * inset
    if inset <= 0.0:
        return Roof(width, height, whole - inset * perimeter(region) + math.pi * inset * inset)
    inset += SAFETY
    width, height = box.width - 2.0 * inset, box.height - 2.0 * inset
    if min(width, height) <= 0.0:
        return Roof(width, height, 0.0)
    round_figure = max(0.0, math.sqrt(whole) - math.sqrt(math.pi) * inset) ** 2
    return Roof(width, height, min(width * height, round_figure))
