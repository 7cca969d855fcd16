"""A nesting problem as polygons, seen so that sheets fill from left to right.

Sheets taller than wide are filled from below: for that the whole problem is mirrored about the
diagonal (x and y change places, angles their sign) and every placement mirrored back.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Region
from jobprep.nesting.hulls import width
from jobprep.nesting.nest import Item, Placement, Sheet, Spacing
from jobprep.nesting.shapes import (
    SAFETY,
    Polygon,
    area,
    bounds,
    candidate_angles,
    is_disc,
    part_polygon,
)
from jobprep.nesting.sheet_queue import Roof, SheetQueue
from jobprep.nesting.used_film import CornerSheets
from jobprep.units import TURN

STEP_TOLERANCE = 1e-9


class Round(NamedTuple):
    """Radius of a round part, grown, and of the hole around its centre, shrunk; 0 without one."""

    outer: float
    hole: float


@dataclass(frozen=True, slots=True)
class Problem:
    """Kinds of part about their own centres, and sheets in the order they are to be used.

    ``queue`` names sheets once per piece; ``n_turns`` 0 is free; ``radii`` above 0 mark discs;
    ``rounds`` say how large round parts and their holes are.
    ``angles`` are those worth trying first. ``area`` is per part, of its polygon. ``corners`` give
    the film that is used up.
    """

    parts: tuple[Polygon, ...]
    centres: tuple[tuple[float, float], ...]
    n_turns: tuple[int, ...]
    radii: tuple[float, ...]
    rounds: tuple[Round | None, ...]
    angles: tuple[tuple[float, ...], ...]
    quantities: tuple[int, ...]
    areas: tuple[float, ...]
    sheets: Outlines
    costs: tuple[float, ...]
    corners: CornerSheets
    queue: SheetQueue
    is_mirrored: bool

    def placed(self, placement: Placement) -> Placement:
        """Return a placement of a centred part as one of the region it came from."""
        cos, sin = math.cos(placement.angle), math.sin(placement.angle)
        cx, cy = self.centres[placement.item]
        x = placement.x - cos * cx + sin * cy
        y = placement.y - sin * cx - cos * cy
        if self.is_mirrored:
            return placement._replace(angle=-placement.angle, x=y, y=x)
        return placement._replace(x=x, y=y)

    def centred(self, placement: Placement) -> Placement:
        """Return a placement of a region as one of its centred part: the way back."""
        if self.is_mirrored:
            placement = placement._replace(angle=-placement.angle, x=placement.y, y=placement.x)
        cos, sin = math.cos(placement.angle), math.sin(placement.angle)
        cx, cy = self.centres[placement.item]
        x = placement.x + cos * cx - sin * cy
        y = placement.y + sin * cx + cos * cy
        return placement._replace(x=x, y=y)


class Outlines:
    """The shrunk outlines of all sheets, by number, as the parts see them."""

    def __init__(self, queue: SheetQueue, *, is_mirrored: bool) -> None:
        self._queue, self._is_mirrored = queue, is_mirrored
        self._mirrored: dict[int, Polygon] = {}

    def __getitem__(self, n: int) -> Polygon:
        """Return the outline of a sheet, empty where it has no room."""
        if not self._is_mirrored:
            return self._queue.outline(n)
        if n not in self._mirrored:
            self._mirrored[n] = _mirrored(self._queue.outline(n))
        return self._mirrored[n]

    def longest(self, roof: Roof) -> tuple[float, float]:
        """Return how far the outline under a roof reaches at most along x and y."""
        return roof[1::-1] if self._is_mirrored else roof[:2]


def build_problem(items: Sequence[Item], sheets: Sequence[Sheet], spacing: Spacing) -> Problem:
    """Grow the parts by half the gap, shrink the sheets to match, and order the sheets."""
    total = sum(item.quantity for item in items)
    queue = SheetQueue(sheets, spacing.edge - 0.5 * spacing.gap, total)
    is_mirrored = bool(queue) and _is_tall(queue.outline(queue.last()))
    parts, centres = [], []
    for item in items:
        polygon = part_polygon(item.region, 0.5 * spacing.gap)
        centre = _centre(item.region, is_mirrored=is_mirrored)
        parts.append([ring - centre for ring in (_mirrored(polygon) if is_mirrored else polygon)])
        centres.append(centre)
    parts = _without_useless_holes(parts)
    return Problem(
        parts=tuple(parts),
        centres=tuple(centres),
        n_turns=tuple(_turns(item) for item in items),
        radii=tuple(
            _radius(item, spacing) if len(part) == 1 else 0.0
            for item, part in zip(items, parts, strict=True)
        ),
        rounds=tuple(
            _round(part) if is_disc(item.region) else None
            for item, part in zip(items, parts, strict=True)
        ),
        angles=tuple(
            candidate_angles(item.region, part, item.rotation_step)
            for item, part in zip(items, parts, strict=True)
        ),
        quantities=tuple(item.quantity for item in items),
        areas=tuple(area(part) for part in parts),
        sheets=Outlines(queue, is_mirrored=is_mirrored),
        costs=tuple(sheet.cost for sheet in sheets),
        corners=CornerSheets(sheets, spacing.gap, is_mirrored=is_mirrored),
        queue=queue,
        is_mirrored=is_mirrored,
    )


def _is_tall(polygon: Polygon) -> bool:
    x0, y0, x1, y1 = bounds(polygon)
    return y1 - y0 > x1 - x0


def _mirrored(polygon: Polygon) -> Polygon:
    """Swap x and y; reversed, rings keep their direction."""
    return [np.ascontiguousarray(ring[::-1, ::-1]) for ring in polygon]


def _centre(region: Region, *, is_mirrored: bool) -> tuple[float, float]:
    """Return the middle of the exact outline: a polygon around a disc is not quite centred."""
    box = region_bounds(region)
    x, y = 0.5 * (box.x_min + box.x_max), 0.5 * (box.y_min + box.y_max)
    return (y, x) if is_mirrored else (x, y)


def _without_useless_holes(parts: Sequence[Polygon]) -> list[Polygon]:
    """Drop the holes too narrow for the narrowest part: less to compare."""
    narrowest = min((width(part[0]) for part in parts), default=0.0)
    kept = []
    for part in parts:
        holes = [ring for ring in part[1:] if area([ring]) > 0.0 or _extent(ring) >= narrowest]
        kept.append([part[0], *holes])
    return kept


def _extent(ring: np.ndarray[tuple[int, int], np.dtype[np.float64]]) -> float:
    return float(np.ptp(ring, axis=0).min())


def _turns(item: Item) -> int:
    if is_disc(item.region):
        return 1
    step = item.rotation_step
    if step is None:
        return 0
    n = max(1, round(TURN / step))
    return n if abs(n * step - TURN) < STEP_TOLERANCE else 1


def _radius(item: Item, spacing: Spacing) -> float:
    """Return the grown radius of a round part, 0 for any other."""
    if not is_disc(item.region):
        return 0.0
    box = region_bounds(item.region)
    growth = 0.5 * spacing.gap + SAFETY if spacing.gap > 0.0 else 0.0
    return 0.5 * box.width + growth


def _round(part: Polygon) -> Round:
    """Return the radii of a circle around a polygon and of one in its hole, about its centre."""
    outer = float(np.hypot(part[0][:, 0], part[0][:, 1]).max())
    if len(part) == 1:
        return Round(outer, 0.0)
    step = np.roll(part[1], -1, axis=0) - part[1]
    away = np.abs(part[1][:, 0] * step[:, 1] - part[1][:, 1] * step[:, 0])
    return Round(outer, float((away / np.hypot(step[:, 0], step[:, 1])).min()))
