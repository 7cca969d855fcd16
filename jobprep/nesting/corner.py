"""One stream of the search for the box in a sheet's corner that uses up least film.

A campaign begins with boxes of several heights, flat to square, in which parts thrown at random
are moved apart. Each is squeezed for a while, along x, along y, or from one into the other; the
better half goes on, until one is left. Where it cannot be squeezed any further its parts are
disturbed: moved away, turned, exchanged.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from jobprep.nesting.columns import (
    HIGH,
    LEFT,
    LOW,
    RIGHT,
    SHEET,
    X_MAX,
    Y_MAX,
    X,
    Y,
)
from jobprep.nesting.hulls import hull_ring
from jobprep.nesting.layout import GIVEN_UP, SEPARATED, SPENT, Floats, lay_out
from jobprep.nesting.nest import never
from jobprep.nesting.prepare import Prepared
from jobprep.nesting.separator import Separator
from jobprep.nesting.shapes import Polygon
from jobprep.nesting.spots import ends, keep_inside, turn_at_random
from jobprep.nesting.used_film import CornerSheet
from jobprep.units import TURN

PATIENCE, STRIKES = 12, 1
"""A few parts either fit soon or not at all."""

STARTS, FEWEST_STARTS = 6, 2
"""Boxes of different height that a campaign begins with, and a campaign of few spots."""

START_EFFORT = 2_000
"""Spots that a start takes for each part; a campaign of fewer begins with fewer boxes."""

STARTING_SHARE, HALVING_SHARE = 0.15, 0.55
"""Shares of a campaign: for the starts, and until one box is left."""

LOOSE, GROWTH = 0.62, 1.12
"""How full the first boxes are, and by how much they grow where the parts find no room."""

FIRST_CUT, SMALLEST_CUT, LARGEST_CUT = 0.04, 0.0005, 0.06
GROW, SHRINK = 1.3, 0.5
"""A cut, as a share of the box, grows after success and shrinks after failure."""

MISSES, EXPLORING_CUT, FOUND_CUT = 3, 0.002, 0.01
"""Failures after which parts are disturbed, the small cut then, and the larger after success."""

TRADE = 0.25
"""A box gets higher or lower by at most this, as a power of e, when its sides are traded."""

SLOPE = 0.02
"""Weight of each mm² of the box beside the film used up, which does not change while the strip that
is left stays too narrow to keep."""


class PackedBox(NamedTuple):
    """A layout without overlap in a corner, how far it reaches along each axis, what it costs."""

    cost: float
    width: float
    height: float
    spots: Floats


@dataclass(slots=True)
class _Squeezed:
    """A box being squeezed: the share to cut next, and the failures since the last cut."""

    box: PackedBox
    cut: float = FIRST_CUT
    misses: int = 0


class CornerChain:
    """Parts in the corner of a sheet, their weights and random numbers of their own.

    ``kind`` numbers each part's polygon among ``polygons``.
    """

    def __init__(
        self,
        prepared: Prepared,
        polygons: tuple[Polygon, ...],
        sheet: CornerSheet,
        seed: int,
        is_over: Callable[[], bool] = never,
    ) -> None:
        self.parts = Separator(prepared, PATIENCE, STRIKES, seed, is_over)
        self._spots, self._random = self.parts.spots, self.parts.random
        self._prepared, self._polygons, self._sheet = prepared, polygons, sheet
        self._room = prepared.bounds[0].copy()
        self._layout = lay_out(prepared.kind, self._spots, prepared.bounds.copy(), prepared.outside)
        self._end, self._deadline = 0, math.inf
        self.best: PackedBox | None = None

    def begin_from(self, spots: Floats) -> None:
        """Take a layout without overlap for the best so far."""
        self._spots[:] = spots
        self._boxed()

    def search(self, quota: int, deadline: float) -> CornerChain:
        """Make one campaign of ``quota`` spots, which ends when the clock passes ``deadline``.

        Returns itself, so that it may work in another process and come back.
        """
        self._end, self._deadline = self.parts.evaluations + quota, deadline
        affordable = int(STARTING_SHARE * quota / (START_EFFORT * len(self._spots)))
        starts = min(max(affordable, FEWEST_STARTS), STARTS)
        each = max(1, int(STARTING_SHARE * quota / starts))
        states = [] if self.best is None else [_Squeezed(self.best)]
        for height in self._heights(starts):
            box = self._started(height, self.parts.evaluations + each)
            if box is not None:
                states.append(_Squeezed(box))
        rounds = max(1, math.ceil(math.log2(starts)))
        share = HALVING_SHARE * quota / rounds
        while len(states) > 1 and not self._is_done():
            for state in states:
                self._squeeze_on(state, self.parts.evaluations + int(share / len(states)) + 1)
            states.sort(key=lambda state: state.box.cost)
            del states[(len(states) + 1) // 2 :]
        for state in states[:1]:
            self._squeeze_on(state, self._end)
        return self

    def _is_done(self) -> bool:
        return (
            self.parts.evaluations >= self._end
            or time.monotonic() >= self._deadline
            or self.parts.is_stopped
        )

    def _heights(self, count: int) -> list[float]:
        """Return heights of boxes to begin with, from square to flat."""
        x0, y0, x1, y1 = self._room
        need = float(self._prepared.areas.sum()) / LOOSE
        n_turns = self._prepared.shapes.n_turns
        kinds = set(self._prepared.kind.tolist())
        least = max(_least_height(self._polygons[k], int(n_turns[k])) for k in kinds)
        least = min(max(least, need / (x1 - x0)), y1 - y0)
        most = min(y1 - y0, max(math.sqrt(need), least))
        spread = (np.arange(count) + self._random.uniform(size=count)) / count
        return [float(least * (most / least) ** share) for share in spread[::-1]]

    def _started(self, height: float, until: int) -> PackedBox | None:
        """Throw all parts into a box, let it grow until they fit; None where they did not."""
        x0, y0, x1, y1 = self._room
        n = len(self._spots)
        length = min(x1 - x0, float(self._prepared.areas.sum()) / LOOSE / height)
        self._spots[:, SHEET] = 0
        for part in range(n):
            self._turn(part)
        self._spots[:, X] = x0 + self._random.uniform(size=n) * length
        self._spots[:, Y] = y0 + self._random.uniform(size=n) * height
        while not self._is_done():
            outcome = self._separate(length, height, self._end)
            if outcome == SEPARATED:
                return self._boxed()
            is_all = length >= x1 - x0 and height >= y1 - y0
            if outcome == SPENT or (is_all and self.parts.evaluations > until):
                return None
            self._spots[:] = self.parts.least
            if length >= x1 - x0:
                height = min(height * GROWTH, y1 - y0)
            length = min(length * GROWTH, x1 - x0)
        return None

    def _turn(self, part: int) -> None:
        kind = int(self._prepared.kind[part])
        polygon = self._polygons[kind]
        turn_at_random(self._spots[part], self._prepared.shapes, kind, polygon, self._random)

    def _separate(self, length: float, height: float, until: int) -> int:
        """Move the parts apart in a box in the corner; return how that ended."""
        x0, y0, x1, y1 = self._room
        box = self._layout.bounds
        box[0, X_MAX], box[0, Y_MAX] = min(x1, x0 + length), min(y1, y0 + height)
        keep_inside(self._spots, box)
        is_midway = False
        while self.parts.evaluations < until and not self._is_done():
            most = until - self.parts.evaluations
            outcome = self.parts.separate(self._layout, most, is_midway=is_midway)
            if outcome != SPENT:
                return outcome
            is_midway = True
        return SPENT

    def _boxed(self) -> PackedBox:
        """Return the layout, which has no overlap, as a box; keep it if it is the best."""
        x0, y0, _, _ = self._room
        x_end, y_end = ends(self._spots)
        width, height = x_end - x0, y_end - y0
        box = PackedBox(self._cost(width, height), width, height, self._spots.copy())
        if self.best is None or box.cost < self.best.cost:
            self.best = box
        return box

    def _cost(self, width: float, height: float) -> float:
        used = self._sheet.used(self._room[0] + width, self._room[1] + height)
        return used.film + SLOPE * width * height

    def _squeeze_on(self, state: _Squeezed, until: int) -> None:
        """Squeeze a box as long as its share of the spots lasts."""
        until = min(until, self._end)
        while self.parts.evaluations < until and not self._is_done():
            outcome = self._separate(*self._squeezed(state), until)
            is_exploring = state.misses >= MISSES
            if outcome == SEPARATED:
                state.box = self._boxed()
                state.cut = FOUND_CUT if is_exploring else min(LARGEST_CUT, state.cut * GROW)
                state.misses = 0
            elif outcome == GIVEN_UP:
                state.cut = max(SMALLEST_CUT, state.cut * SHRINK)
                state.misses += 1

    def _squeezed(self, state: _Squeezed) -> tuple[float, float]:
        """Take up a box, push its parts together for a smaller one; return the size of that."""
        box = state.box
        is_exploring = state.misses >= MISSES
        cut = EXPLORING_CUT if is_exploring else state.cut
        self._spots[:] = box.spots
        way = int(self._random.integers(3))
        if way == 0:
            size = (box.width * (1.0 - cut), box.height)
            self._push(X, LEFT, RIGHT, self._room[0], box.width, box.width - size[0])
        elif way == 1:
            size = (box.width, box.height * (1.0 - cut))
            self._push(Y, LOW, HIGH, self._room[1], box.height, box.height - size[1])
        else:
            size = self._traded(box, cut)
            for place, start, share in (
                (X, self._room[0], size[0] / box.width),
                (Y, self._room[1], size[1] / box.height),
            ):
                self._spots[:, place] = start + (self._spots[:, place] - start) * share
        if is_exploring and len(self._spots) > 1:
            for _ in range(int(self._random.integers(1, 3))):
                self._disturb(*size)
        return size

    def _push(
        self, place: int, low: int, high: int, start: float, length: float, shift: float
    ) -> None:
        """Shift all parts beyond a random place back by as much as is cut off."""
        middle = self._spots[:, place] + 0.5 * (self._spots[:, low] + self._spots[:, high])
        self._spots[middle > start + self._random.uniform() * length, place] -= shift

    def _traded(self, box: PackedBox, cut: float) -> tuple[float, float]:
        """Return the sides of a box that is higher or lower than this and costs less."""
        x0, y0, x1, y1 = self._room
        height = min(y1 - y0, box.height * math.exp(self._random.uniform(-TRADE, TRADE)))
        width = min(x1 - x0, box.width * box.height * (1.0 - cut) / height)
        for _ in range(20):
            if self._cost(width, height) < box.cost * (1.0 - 0.5 * cut):
                break
            width *= 0.995
        return width, height

    def _disturb(self, width: float, height: float) -> None:
        """Move a part to anywhere, turn it there, or exchange it with another."""
        x0, y0, _, _ = self._room
        part, other = self._random.integers(len(self._spots), size=2)
        what = int(self._random.integers(3))
        if what == 0:
            self._spots[[part, other], X] = self._spots[[other, part], X]
            self._spots[[part, other], Y] = self._spots[[other, part], Y]
            return
        if what == 1:
            self._turn(int(part))
        self._spots[part, X] = self._random.uniform(x0, x0 + width)
        self._spots[part, Y] = self._random.uniform(y0, y0 + height)


def _least_height(polygon: Polygon, n_turns: int) -> float:
    """Return the least height that a part takes, to half a degree where it turns freely."""
    turns = n_turns or 720
    angles: Floats = TURN * np.arange(turns) / turns
    ring = hull_ring(polygon)
    return float(np.ptp(ring @ np.array([np.sin(angles), np.cos(angles)]), axis=0).min())
