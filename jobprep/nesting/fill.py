"""Fill sheets one part after the other: the first nest, at once, and never an invalid one.

Each part goes to the first sheet with room, there to the place whose right end lies farthest
left. Places are found on a raster of the sheet: a part takes every cell its polygon touches, so
two parts on different cells cannot overlap.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from jobprep.nesting.nest import Placement
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
