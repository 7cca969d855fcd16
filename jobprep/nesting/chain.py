"""One stream of the search: a layout that is squeezed again and again.

The last sheet is made shorter, all overlaps this makes are moved away, and so on; when a sheet is
empty, the one before it becomes the last. A strip is one long sheet.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from jobprep.nesting.columns import (
    HIGH,
    LEFT,
    LOW,
    RIGHT,
    SHEET,
    X_MAX,
    X_MIN,
    X,
    Y,
)
from jobprep.nesting.layout import GIVEN_UP, SEPARATED, SPENT, Floats, Layout, lay_out
from jobprep.nesting.nest import never
from jobprep.nesting.prepare import Prepared
from jobprep.nesting.separator import Separator
from jobprep.nesting.spots import keep_inside

PATIENCE, STRIKES = 60, 2
LARGEST_CUT, SMALLEST_CUT, FIRST_CUT = 0.03, 0.0005, 0.03
LARGEST_CUT_OF_MANY = 0.2
"""Largest cut of the last of several sheets: its parts may find room on the others."""

GROW, SHRINK = 1.3, 0.6
"""A cut, as a share of the length, grows after success and shrinks after failure."""

MISSES, EXPLORING_CUT, FOUND_CUT = 2, 0.002, 0.004
"""Failures from the best layout after which others are explored, the small cut for those, and the
larger cut after one of them succeeded."""

FIRST_FINE_CUT, LARGEST_FINE_CUT, SMALLEST_FINE_CUT = 2e-3, 5e-3, 1e-5
"""Cuts while compressing: the same rule, smaller steps, always from the best layout."""

LARGE_SHARE = 0.75
"""Parts that make up this share of the area, largest first, are swapped after a failure."""

TO_THE_END = 0.3
"""Share of exchanged sections of which the second ends with the sheet."""

KEPT_FAILURES = 20


@dataclass(slots=True)
class Best:
    """A layout, without overlap if valid: its sheets, how much of the last it takes, its spots."""

    n_sheets: int
    length: float
    spots: Floats
    is_valid: bool = True

    def is_better_than(self, other: Best) -> bool:
        """Return whether this takes fewer sheets, or less of the last one."""
        mine = (not self.is_valid, self.n_sheets, self.length)
        return mine < (not other.is_valid, other.n_sheets, other.length)


class Chain:
    """A layout, its weights and its own random numbers."""

    def __init__(
        self,
        prepared: Prepared,
        start: Best,
        seed: int,
        is_over: Callable[[], bool] = never,
    ) -> None:
        self.parts = Separator(prepared, PATIENCE, STRIKES, seed, is_over)
        self._spots, self._random = self.parts.spots, self.parts.random
        self._kind, self._areas = prepared.kind, prepared.areas
        self._sheets, self._sheet_fields = prepared.bounds, prepared.outside
        self._failures: list[tuple[float, Floats]] = []
        self._cut = FIRST_CUT
        self._is_midway = False
        self._misses = 0
        self.best = start
        self._layout = self._open(start.n_sheets)
        self.adopt(start)

    def adopt(self, best: Best, *, is_fine: bool = False) -> None:
        """Go on from another layout."""
        self.best = best
        self._cut = min(self._cut, FIRST_FINE_CUT) if is_fine else self._cut
        self._failures.clear()
        self._misses = 0
        self._squeeze()

    def restart(self, start: Best) -> None:
        """Begin again from a first layout, with large cuts."""
        self._cut = FIRST_CUT
        self.adopt(start)

    def search(self, quota: int, deadline: float, *, is_fine: bool) -> Chain:
        """Squeeze until ``quota`` more spots are tried or the clock passes ``deadline``.

        Returns itself, so that it may work in another process and come back.

        A fine search compresses the best layout and explores no others.
        """
        parts = self.parts
        end = parts.evaluations + quota
        while parts.evaluations < end and time.monotonic() < deadline and not parts.is_stopped:
            most = end - parts.evaluations
            outcome = parts.separate(self._layout, most, is_midway=self._is_midway)
            self._is_midway = outcome == SPENT
            if outcome == SEPARATED:
                self._succeed(is_fine=is_fine)
            elif outcome == GIVEN_UP:
                self._fail(is_fine=is_fine)
            if outcome != SPENT:
                self._squeeze(is_exploring=self._misses >= MISSES and not is_fine)
        return self

    def _open(self, n_sheets: int) -> Layout:
        bounds, fields = self._sheets[:n_sheets].copy(), self._sheet_fields[:n_sheets].copy()
        return lay_out(self._kind, self._spots, bounds, fields)

    def _succeed(self, *, is_fine: bool) -> None:
        n_sheets = len(self._layout.bounds)
        spots = self._spots.copy()
        while n_sheets > 1 and not (spots[:, SHEET] == n_sheets - 1).any():
            n_sheets -= 1
        on_last = spots[:, SHEET] == n_sheets - 1
        end = float((spots[on_last, X] + spots[on_last, RIGHT]).max())
        self.best = Best(n_sheets, end - self._sheets[n_sheets - 1, X_MIN], spots)
        self._failures.clear()
        if self._misses >= MISSES:
            self._cut = max(self._cut, FOUND_CUT)
        self._misses = 0
        largest = LARGEST_FINE_CUT if is_fine else LARGEST_CUT
        self._cut = min(self._cut * GROW, largest if n_sheets == 1 else LARGEST_CUT_OF_MANY)

    def _fail(self, *, is_fine: bool) -> None:
        self._misses += 1
        self._cut = max(self._cut * SHRINK, SMALLEST_FINE_CUT if is_fine else SMALLEST_CUT)
        if is_fine:
            return
        if self._misses >= MISSES:
            self._cut = EXPLORING_CUT
        self._failures.append((self.parts.least_total, self._spots.copy()))
        self._failures.sort(key=lambda each: each[0])
        del self._failures[KEPT_FAILURES:]

    def _squeeze(self, *, is_exploring: bool = False) -> None:
        """Cut the last sheet's end off and push what stood there back inside.

        While exploring start from one of the better failures instead, disturbed: two sections of
        the sheet exchanged, a part moved away, or two large parts swapped.
        """
        best = self.best
        if len(self._layout.bounds) != best.n_sheets:
            self._layout = self._open(best.n_sheets)
        last = best.n_sheets - 1
        shift = best.length * self._cut if best.is_valid else 0.0
        self._layout.bounds[last, X_MAX] = self._sheets[last, X_MIN] + best.length - shift
        if is_exploring and self._failures:
            spread = len(self._failures) / 4.0 + 0.1
            which = int(abs(self._random.normal(0.0, spread))) % len(self._failures)
            self._spots[:] = self._failures[which][1]
            disturb = (self._exchange_sections, self._move_away, self._swap)
            disturb[int(self._random.integers(len(disturb)))]()
        else:
            self._spots[:] = best.spots
            middle = self._spots[:, X] + 0.5 * (self._spots[:, LEFT] + self._spots[:, RIGHT])
            cut = self._sheets[last, X_MIN] + self._random.uniform() * best.length
            self._spots[(self._spots[:, SHEET] == last) & (middle > cut), X] -= shift
        keep_inside(self._spots, self._layout.bounds[self._spots[:, SHEET].astype(np.int64)])
        self._is_midway = False

    def _exchange_sections(self) -> None:
        """Let two neighbouring sections of the last sheet change places, each kept as it is."""
        last = len(self._layout.bounds) - 1
        start, _, end, _ = self._layout.bounds[last]
        a, b, c = np.sort(self._random.uniform(start, end, 3))
        if self._random.uniform() < TO_THE_END:
            c = end
        middle = self._spots[:, X] + 0.5 * (self._spots[:, LEFT] + self._spots[:, RIGHT])
        is_there = self._spots[:, SHEET] == last
        is_first = is_there & (middle > a) & (middle <= b)
        is_second = is_there & (middle > b) & (middle <= c)
        self._spots[is_first, X] += c - b
        self._spots[is_second, X] -= b - a

    def _move_away(self) -> None:
        """Move a random part to a random place on its sheet."""
        spot = self._spots[int(self._random.integers(len(self._spots)))]
        x0, y0, x1, y1 = self._layout.bounds[int(spot[SHEET])]
        spot[X] = self._random.uniform(x0, x1)
        spot[Y] = self._random.uniform(y0, y1)

    def _swap(self) -> None:
        """Let two large parts of different size change places."""
        order = np.argsort(-self._areas, kind="stable")
        share = np.cumsum(self._areas[order]) / self._areas.sum()
        large = order[: max(2, int((share < LARGE_SHARE).sum()))]
        a = int(self._random.choice(large))
        others = large[np.abs(self._areas[large] - self._areas[a]) > 0.01 * self._areas[a]]
        if not len(others):
            others = order[order != a]
        if not len(others):
            return
        b = int(self._random.choice(others))
        middles = [
            (
                0.5 * (spot[LEFT] + spot[RIGHT]) + spot[X],
                0.5 * (spot[LOW] + spot[HIGH]) + spot[Y],
                spot[SHEET],
            )
            for spot in (self._spots[a], self._spots[b])
        ]
        for part, (x, y, sheet) in ((a, middles[1]), (b, middles[0])):
            spot = self._spots[part]
            spot[X] = x - 0.5 * (spot[LEFT] + spot[RIGHT])
            spot[Y] = y - 0.5 * (spot[LOW] + spot[HIGH])
            spot[SHEET] = sheet
