"""Fill sheets one part after the other: the first nest, at once, and never an invalid one.

Each part goes to the first sheet with room, there to the place whose right end lies farthest
left. Places are found on a raster of the sheet: a part takes every cell its polygon touches, so
two parts on different cells cannot overlap.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from jobprep.nesting.nest import Placement
from jobprep.nesting.problem import Problem
from jobprep.nesting.shapes import Polygon, bounds, ring_starts, rotated

Cells = NDArray[np.int32]


class Stamp(NamedTuple):
    """The cells of a polygon at one angle, and where the region's origin lies from their corner."""

    angle: float
    spans: Cells
    width: int
    height: int
    x: float
    y: float
    right: float


@dataclass(slots=True)
class Raster:
    """The free cells of one opened sheet, and where each stamp may first fit."""

    sheet: int
    x: float
    y: float
    cell: float
    runs: Cells
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
    order = np.argsort(-spans[:, 2], kind="stable")
    return Stamp(angle, np.ascontiguousarray(spans[order]), width, height, -x0, -y0, x1 - x0)


def open_raster(sheet: int, polygon: Polygon, cell: float) -> Raster:
    """Return the raster of an empty sheet; a cell is free when it lies inside the polygon."""
    from jobprep.nesting.kernels_raster import count_runs, mark_touched

    x0, y0, x1, y1 = bounds(polygon)
    shape = (
        max(1, math.floor((x1 - x0) / cell + 1e-9)),
        max(1, math.floor((y1 - y0) / cell + 1e-9)),
    )
    marks = np.zeros(shape, np.uint8)
    points = (np.concatenate(polygon) - (x0, y0)) / cell
    mark_touched(np.ascontiguousarray(points), ring_starts(polygon), marks)
    runs = np.zeros(shape, np.int32)
    count_runs((marks != 1).astype(np.uint8), runs)
    return Raster(sheet, x0, y0, cell, runs)


def copied(raster: Raster) -> Raster:
    """Return a raster that can be filled without changing this one."""
    return Raster(
        raster.sheet, raster.x, raster.y, raster.cell, raster.runs.copy(), dict(raster.first)
    )


def place(raster: Raster, item: int, stamps: tuple[Stamp, ...]) -> tuple[Placement | None, int]:
    """Place one part on a sheet, if it fits; return it and how many positions were tried.

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
        tried += first_fit(raster.runs, each.spans, each.width, each.height, at)
        raster.first[item, which] = (int(at[0]), int(at[1]))
        if at[0] >= 0:
            end = int(at[0]) * raster.cell + each.right
            if best is None or end < best[0] - 1e-9:
                best, spot = (end, which), (int(at[0]), int(at[1]))
    if best is None:
        return None, tried
    chosen = stamps[best[1]]
    block(raster.runs, chosen.spans, *spot)
    x = raster.x + spot[0] * raster.cell + chosen.x
    y = raster.y + spot[1] * raster.cell + chosen.y
    return Placement(item, 0, 0, chosen.angle, x, y), tried


@dataclass(frozen=True, slots=True)
class Rasters:
    """Everything a fill needs: stamps of all parts, empty sheets."""

    stamps: tuple[tuple[Stamp, ...], ...]
    blank: dict[int, Raster]


@dataclass(slots=True)
class Filled:
    """Which sheets were opened, what lies where, and how many copies found no room."""

    sheets: list[int]
    placements: list[Placement]
    unplaced: list[int]
    tried: int = 0


def build_rasters(problem: Problem) -> Rasters:
    """Draw all parts and sheets on rasters of one cell size."""
    cell = _cell(problem)
    return Rasters(
        tuple(
            tuple(stamp(part, angle, cell) for angle in angles)
            for part, angles in zip(problem.parts, problem.angles, strict=True)
        ),
        {n: open_raster(n, problem.sheets[n], cell) for n in sorted(set(problem.queue))},
    )


def largest_first(problem: Problem) -> list[int]:
    """Return the item of every part, largest first."""
    order = sorted(range(len(problem.parts)), key=lambda item: (-problem.areas[item], item))
    return [item for item in order for _ in range(problem.quantities[item])]


def fill_sheets(problem: Problem, rasters: Rasters, order: Sequence[int]) -> Filled:
    """Fill the sheets with parts in an order."""
    opened: list[Raster] = []
    contents: list[list[Placement]] = []
    counts = [0] * len(problem.parts)
    unplaced = [0] * len(problem.parts)
    tried = 0
    for item in order:
        if unplaced[item]:
            unplaced[item] += 1
            continue
        for sheet in range(len(problem.queue)):
            if sheet == len(opened):
                opened.append(copied(rasters.blank[problem.queue[sheet]]))
                contents.append([])
            placed, more = place(opened[sheet], item, rasters.stamps[item])
            tried += more
            if placed is not None:
                contents[sheet].append(placed._replace(copy=counts[item]))
                counts[item] += 1
                break
            if not contents[sheet] and problem.queue[sheet] == problem.queue[-1]:
                unplaced[item] = 1  # larger than an empty sheet, and there is no other kind
                break
        else:
            unplaced[item] = 1
    used = [sheet for sheet, parts in enumerate(contents) if parts]
    placements = [
        placed._replace(sheet=number)
        for number, sheet in enumerate(used)
        for placed in contents[sheet]
    ]
    return Filled([problem.queue[sheet] for sheet in used], placements, unplaced, tried)


def _cell(problem: Problem) -> float:
    """Choose the cell: fine against the parts, but never too many on a sheet."""
    sizes = sorted(min(b[2] - b[0], b[3] - b[1]) for b in map(bounds, problem.parts))
    boxes = [bounds(problem.sheets[n]) for n in set(problem.queue)]
    reach = max(max(b[2] - b[0], b[3] - b[1]) for b in boxes)
    return min(max(sizes[len(sizes) // 2] / 25.0, reach / 1200.0), reach / 150.0)
