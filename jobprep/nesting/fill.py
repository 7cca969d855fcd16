"""Fill sheets one part after the other: the first nest, at once, and never an invalid one.

Each part goes to the first sheet with room, there to the place whose right end lies farthest
left. Places are found on a raster of the sheet: a part takes every cell its polygon touches, so
two parts on different cells cannot overlap.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from jobprep.nesting.columns import COLUMN, RUN
from jobprep.nesting.nest import Placement
from jobprep.nesting.problem import Problem
from jobprep.nesting.shapes import Polygon, area, bounds, ring_starts, rotated
from jobprep.nesting.sheet_queue import ROUNDING, Roof

Cells = NDArray[np.int32]


class Stamp(NamedTuple):
    """The cells of a polygon at one angle, and where the region's origin lies from their corner.

    ``spans`` and ``needs`` are what the raster kernels ask for.
    """

    angle: float
    spans: Cells
    needs: Cells
    height: int
    x: float
    y: float
    right: float


@dataclass(slots=True)
class FreeCells:
    """The free cells of one opened sheet, and where each stamp may first fit."""

    sheet: int
    x: float
    y: float
    cell: float
    runs: Cells
    tallest: Cells
    first: dict[tuple[int, int], tuple[int, int]] = field(default_factory=dict)


def stamp(polygon: Polygon, angle: float, cell: float) -> Stamp:
    """Return the cells a turned polygon touches when its lower left corner lies on a cell's."""
    from jobprep.nesting.kernels_raster import mark_touched, spans_of

    turned = rotated(polygon, angle)
    x0, y0, x1, y1 = bounds(turned)
    width = max(1, math.ceil((x1 - x0) / cell - 1e-9))
    height = max(1, math.ceil((y1 - y0) / cell - 1e-9))
    marks = np.zeros((width, height), np.uint8)
    points = (np.concatenate(turned) - (x0, y0)) / cell
    mark_touched(np.ascontiguousarray(points), ring_starts(polygon), marks)
    spans = spans_of(marks)
    # Long spans first: they fail first.
    order = np.argsort(-spans[:, RUN], kind="stable")
    needs = np.zeros(width, np.int32)
    np.maximum.at(needs, spans[:, COLUMN], spans[:, RUN])
    return Stamp(angle, np.ascontiguousarray(spans[order]), needs, height, -x0, -y0, x1 - x0)


def open_raster(sheet: int, polygon: Polygon, cell: float) -> FreeCells:
    """Return the raster of an empty sheet; a cell is free when it lies inside the polygon."""
    from jobprep.nesting.kernels_raster import INTERIOR, count_runs, mark_touched

    x0, y0, x1, y1 = bounds(polygon)
    shape = (_whole_cells(x1 - x0, cell), _whole_cells(y1 - y0, cell))
    marks = np.zeros(shape, np.uint8)
    points = (np.concatenate(polygon) - (x0, y0)) / cell
    mark_touched(np.ascontiguousarray(points), ring_starts(polygon), marks)
    runs = np.zeros(shape, np.int32)
    count_runs((marks != INTERIOR).astype(np.uint8), runs)
    return FreeCells(sheet, x0, y0, cell, runs, runs.max(axis=1))


def _whole_cells(length: float, cell: float) -> int:
    return max(1, math.floor(length / cell + 1e-9))


def copied(raster: FreeCells) -> FreeCells:
    """Return a raster that can be filled without changing this one."""
    return replace(
        raster,
        runs=raster.runs.copy(),
        tallest=raster.tallest.copy(),
        first=dict(raster.first),
    )


def place(raster: FreeCells, item: int, stamps: tuple[Stamp, ...]) -> tuple[Placement | None, int]:
    """Place a part on a sheet, if it fits; return its placement and the positions tried.

    The placement's copy and sheet are left 0.
    """
    from jobprep.nesting.kernels_raster import block, first_fit

    best: tuple[float, int] | None = None
    spot = (0, 0)
    tried = 0
    for which, each in enumerate(stamps):
        start = raster.first.get((item, which), (0, 0))
        if start[0] < 0:
            continue
        at = np.array(start, np.int64)
        tried += first_fit(raster.runs, raster.tallest, each.spans, each.needs, each.height, at)
        raster.first[item, which] = (int(at[0]), int(at[1]))
        if at[0] >= 0:
            end = int(at[0]) * raster.cell + each.right
            if best is None or end < best[0] - 1e-9:
                best, spot = (end, which), (int(at[0]), int(at[1]))
    if best is None:
        return None, tried
    chosen = stamps[best[1]]
    block(raster.runs, raster.tallest, chosen.spans, *spot)
    x = raster.x + spot[0] * raster.cell + chosen.x
    y = raster.y + spot[1] * raster.cell + chosen.y
    return Placement(item, 0, 0, chosen.angle, x, y), tried


@dataclass(frozen=True, slots=True)
class Rasters:
    """Everything a fill needs: stamps of all parts, and without their holes; the size of a cell."""

    stamps: tuple[tuple[Stamp, ...], ...]
    solid: tuple[tuple[Stamp, ...], ...]
    cell: float


class Family(NamedTuple):
    """A part, and the round parts that lie in its hole, each in the hole of the one before."""

    item: int
    inner: tuple[int, ...]


@dataclass(slots=True)
class Filled:
    """Which sheets were opened, what lies where, and how many copies found no room."""

    sheets: list[int]
    placements: list[Placement]
    unplaced: list[int]
    tried: int = 0


def build_rasters(problem: Problem) -> Rasters:
    """Draw all parts on rasters of one cell size."""
    cell = _cell(problem)

    def stamps(part: Polygon, angles: Sequence[float]) -> tuple[Stamp, ...]:
        return tuple(stamp(part, angle, cell) for angle in angles)

    kinds = list(zip(problem.parts, problem.angles, strict=True))
    whole = tuple(stamps(*kind) for kind in kinds)
    return Rasters(
        whole,
        tuple(
            stamps(part[:1], angles) if len(part) > 1 else own
            for (part, angles), own in zip(kinds, whole, strict=True)
        ),
        cell,
    )


def largest_first(problem: Problem) -> list[Family]:
    """Return all parts, largest first, round ones in the holes they fit into.

    Trying places would never find a ring that just fits into another.
    """
    left = list(problem.quantities)
    order = sorted(range(len(left)), key=lambda item: (-_footprint(problem, item), item))
    families = []
    for item in order:
        while left[item]:
            left[item] -= 1
            inner: list[int] = []
            hole = _hole(problem, item)
            while (found := _fitting(problem, order, left, hole)) is not None:
                left[found] -= 1
                inner.append(found)
                hole = _hole(problem, found)
            families.append(Family(item, tuple(inner)))
    return families


def _footprint(problem: Problem, item: int) -> float:
    """Return the area of a part with its holes filled."""
    return area(problem.parts[item][:1])


def _hole(problem: Problem, item: int) -> float:
    shape = problem.rounds[item]
    return shape.hole if shape is not None else 0.0


def _fitting(
    problem: Problem, order: Sequence[int], left: Sequence[int], hole: float
) -> int | None:
    """Return the largest round part left that fits into a round hole."""
    for item in order:
        shape = problem.rounds[item]
        if left[item] and shape is not None and shape.outer <= hole:
            return item
    return None


def fill_sheets(problem: Problem, rasters: Rasters, order: Sequence[Family]) -> Filled:
    """Fill the sheets with parts in an order."""
    shelf = _Opened(problem, rasters)
    unplaced = [0] * len(problem.parts)
    tried = 0
    for item, inner in order:
        stamps = rasters.solid[item] if inner else rasters.stamps[item]
        key = item + len(problem.parts) if inner else item
        found = None
        if not unplaced[item]:
            for sheet in shelf.sheets(key, stamps):
                found, more = place(sheet.raster, key, stamps)
                tried += more
                if found is not None:
                    sheet.contents.extend(_family(found, item, inner))
                    break
        if found is None:
            for each in (item, *inner):
                unplaced[each] += 1
    used = shelf.in_use()
    counts = [0] * len(problem.parts)
    placements = []
    for number, sheet in enumerate(used):
        for placed in sheet.contents:
            placements.append(placed._replace(copy=counts[placed.item], sheet=number))
            counts[placed.item] += 1
    return Filled([sheet.raster.sheet for sheet in used], placements, unplaced, tried)


class _Sheet(NamedTuple):
    """An opened sheet and what lies on it."""

    raster: FreeCells
    contents: list[Placement]


class _Opened:
    """The sheets opened so far, and further ones when the next part needs them."""

    def __init__(self, problem: Problem, rasters: Rasters) -> None:
        self._problem, self._cell = problem, rasters.cell
        self._kinds: dict[int, tuple[list[int], Iterator[int]]] = {}
        self._opened: dict[int, list[_Sheet]] = {}
        self._blanks: dict[int, FreeCells] = {}

    def sheets(self, key: int, stamps: tuple[Stamp, ...]) -> Iterator[_Sheet]:
        """Yield the sheets a part may lie on, in their order.

        A sheet on which a part does not fit even when empty comes only once. ``key`` stands for the
        stamps.
        """
        for n in self._kinds_for(key, stamps):
            opened = self._opened.setdefault(n, [])
            for number in range(self._problem.queue.count(n)):
                if number == len(opened):
                    opened.append(_Sheet(self._blank(n), []))
                yield opened[number]
                if not opened[number].contents:
                    break

    def in_use(self) -> list[_Sheet]:
        """Return the sheets that hold anything, in their order."""
        kinds = self._problem.queue.ordered(self._opened)
        return [sheet for n in kinds for sheet in self._opened[n] if sheet.contents]

    def _kinds_for(self, key: int, stamps: tuple[Stamp, ...]) -> Iterator[int]:
        if key not in self._kinds:
            sizes = {(len(each.needs), each.height) for each in stamps}
            self._kinds[key] = [], self._problem.queue.kinds(lambda roof: self._holds(roof, sizes))
        known, further = self._kinds[key]
        yield from known
        for n in further:
            known.append(n)
            yield n

    def _holds(self, roof: Roof, sizes: Iterable[tuple[int, int]]) -> bool:
        """Whether a raster of as many cells as there may be under a roof is large enough."""
        x, y = self._problem.sheets.longest(roof)
        columns, rows = (_whole_cells((1.0 + ROUNDING) * side, self._cell) for side in (x, y))
        return any(width <= columns and height <= rows for width, height in sizes)

    def _blank(self, n: int) -> FreeCells:
        if n not in self._blanks:
            self._blanks[n] = open_raster(n, self._problem.sheets[n], self._cell)
        return copied(self._blanks[n])


def _family(placed: Placement, item: int, inner: Sequence[int]) -> list[Placement]:
    """Return placements of a part and of all that lie in its hole, about the same centre."""
    return [placed._replace(item=each) for each in (item, *inner)]


def _reach(problem: Problem, n: int) -> float:
    x0, y0, x1, y1 = bounds(problem.sheets[n])
    return max(x1 - x0, y1 - y0)


def _cell(problem: Problem) -> float:
    """Return the size of a cell: small against the parts, but never too many on a sheet.

    The middle size of the parts is a whole number of cells, so that plates lie side by side without
    lost cells between them.
    """
    sizes = sorted(min(b[2] - b[0], b[3] - b[1]) for b in map(bounds, problem.parts))
    reach, _ = next(
        problem.queue.greatest(lambda roof: max(roof[:2]), lambda n: _reach(problem, n))
    )
    size = sizes[len(sizes) // 2]
    cell = min(max(size / 25.0, reach / 1200.0), reach / 150.0)
    return size / math.ceil(size / cell) if size > cell else cell
