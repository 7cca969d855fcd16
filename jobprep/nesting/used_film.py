"""How much of a sheet is used up when straight cuts beyond its parts leave the rest.

The parts lie in the lower left corner. A first cut goes right across the sheet, upright beyond
them or level above them; a second goes across what lies before it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from jobprep.geometry.flatten import flatten_inside
from jobprep.nesting.compared import Used, as_used
from jobprep.nesting.nest import Keeping, Sheet
from jobprep.nesting.shapes import SAFETY, TOLERANCE, Polygon, Ring, area, bounds


class CornerSheet(NamedTuple):
    """A sheet with parts in its corner: its outline as they see it, and what of it is kept."""

    outline: Polygon
    keeping: Keeping

    def used(self, x_end: float, y_end: float) -> Used:
        """Return what is used up by parts that end at ``x_end`` and ``y_end``."""
        x, y = x_end + self.keeping.beyond, y_end + self.keeping.beyond
        slot, whole = self.keeping.slot, area(self.outline)
        right, above = self._kept(x=x), self._kept(y=y)
        choices: list[tuple[float, ...]] = [(right,), (above,)]
        if self.keeping.n_cuts > 1:
            choices += [
                (right, self._kept(y=y, x_end=x - slot)),
                (above, self._kept(x=x, y_end=y - slot)),
            ]
        return min(as_used(whole - sum(kept), max(kept)) for kept in choices)

    def _kept(
        self,
        x: float = -math.inf,
        y: float = -math.inf,
        x_end: float = math.inf,
        y_end: float = math.inf,
    ) -> float:
        """Return the area of what lies between, 0 where that is not worth keeping."""
        rings = [_clipped(ring, x, y, x_end, y_end) for ring in self.outline]
        piece = [ring for ring in rings if len(ring) > 2]
        if not piece:
            return 0.0
        left, low, right, high = bounds(piece)
        room = area(piece)
        is_worth = min(right - left, high - low) >= self.keeping.least_side
        return room if is_worth and room >= self.keeping.least_area else 0.0


class CornerSheets:
    """The sheets of a problem of which anything is kept, by number, as its parts see them.

    ``gap`` is the least distance of two parts: their polygons reach half of it beyond them.
    """

    def __init__(self, sheets: Sequence[Sheet], gap: float, *, is_mirrored: bool) -> None:
        self._sheets, self._is_mirrored = sheets, is_mirrored
        self._growth = 0.5 * gap + SAFETY if gap > 0.0 else 0.0

    def __getitem__(self, n: int) -> CornerSheet | None:
        """Return a sheet, None where nothing is kept of it."""
        keeping = self._sheets[n].keeping
        if keeping is None:
            return None
        flat = flatten_inside(self._sheets[n].region, TOLERANCE)
        rings = [np.array(ring, np.float64) for ring in (flat.outer, *flat.holes)]
        if self._is_mirrored:
            rings = [ring[::-1, ::-1] for ring in rings]
        return CornerSheet(rings, replace(keeping, beyond=keeping.beyond - self._growth))


def _clipped(ring: Ring, x: float, y: float, x_end: float, y_end: float) -> Ring:
    """Cut a ring off at the sides of a window, one side after another."""
    for axis, limit, sign in ((0, x, 1.0), (1, y, 1.0), (0, x_end, -1.0), (1, y_end, -1.0)):
        if math.isfinite(limit) and len(ring):
            ring = _cut_off(ring, axis, limit, sign)
    return ring


def _cut_off(ring: Ring, axis: int, limit: float, sign: float) -> Ring:
    """Return what of a ring lies beyond a limit along an axis; before it where the sign is -1."""
    inside = sign * (ring[:, axis] - limit)
    if (inside >= 0.0).all():
        return ring
    corners = []
    for k in range(len(ring)):
        before, here = inside[k - 1], inside[k]
        if (before >= 0.0) != (here >= 0.0):
            share = before / (before - here)
            corners.append(ring[k - 1] + share * (ring[k] - ring[k - 1]))
        if here >= 0.0:
            corners.append(ring[k])
    return np.array(corners).reshape(-1, 2)
