"""One stream of the search that exchanges parts between two sheets, so that one of them empties.

The sheet that is used last is emptied, the others are filled: a few parts of two sheets change
places, then the parts of the fuller sheet are moved apart, then those of the other. A layout that
makes the others fuller is kept, and so is one that makes them a little less full than the best.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from jobprep.nesting.columns import HIGH, LEFT, LOW, RIGHT, SHEET, X_MAX, X_MIN, Y_MAX, Y_MIN, X, Y
from jobprep.nesting.layout import SEPARATED, SPENT, Floats, Ints, lay_out
from jobprep.nesting.nest import never
from jobprep.nesting.prepare import Prepared
from jobprep.nesting.separator import Separator
from jobprep.nesting.spots import keep_inside

MOST_OF_ONE = 2
"""Parts of a sheet that are exchanged at most."""

FROM_LAST = 0.5
"""Share of the exchanges that take parts from the sheet that is emptied."""

CANDIDATES, DRAWS = 8, 60
"""Exchanges to choose from, and the most draws for them. The one is tried whose fuller sheet has
failed least often."""

PATIENCE, MOST_DOUBLED = 15, 2
"""Passes without a better layout after which a sheet is given up, and how often failures double
them at most."""

SPOTS_OF_A_PART = 2_000
"""Spots that are tried at most for each part of a sheet, with the least patience."""

WORSE, WORSENED, PATIENT = 0.02, 0.0006, 500
"""How much less full than the best the sheets may be, all together, as a share of one sheet; how
much more for each exchange tried without a better layout; the number of these after which the
search goes back to the best."""

ROUNDING = 1e-9
"""Relative; a sheet is full when parts fill it but for this."""


@dataclass(frozen=True, slots=True)
class FilledSheets:
    """Parts on several sheets without overlap; ``fullness`` is that of all but the last.

    It is the sum of the squared fills, so that of two sheets the fuller one is worth filling.
    """

    n_sheets: int
    fullness: float
    spots: Floats

    @property
    def is_full(self) -> bool:
        """Whether no other sheet has any room for what lies on the last."""
        return self.fullness >= (self.n_sheets - 1) * (1.0 - ROUNDING)

    def is_better_than(self, other: FilledSheets) -> bool:
        """Return whether this opens fewer sheets, or fills those before the last more."""
        return (self.n_sheets, -self.fullness) < (other.n_sheets, -other.fullness)


class _Swap(NamedTuple):
    """Parts that go to sheet ``a`` and others that go to sheet ``b`` instead."""

    a: int
    b: int
    to_a: Ints
    to_b: Ints


class ExchangeChain:
    """Parts on sheets, and random numbers of their own.

    ``kinds`` numbers the outline of each sheet, ``rooms`` is its area: sheets of one kind may
    change places.
    """

    def __init__(
        self,
        prepared: Prepared,
        kinds: Sequence[int],
        rooms: Sequence[float],
        spots: Floats,
        seed: int,
        is_over: Callable[[], bool] = never,
    ) -> None:
        self._prepared, self._kinds = prepared, np.array(kinds)
        self._rooms = np.array(rooms)
        self._random = np.random.default_rng(seed)
        keys = np.random.default_rng(0).integers(1, 2**48, size=int(prepared.kind.max()) + 1)
        self._keys = keys[prepared.kind]
        self._failures: dict[tuple[int, int], int] = {}
        self._is_over = is_over
        self._is_stopped = False
        self._running: Separator | None = None
        self.evaluations = self._idle = 0
        self._spots = spots.copy()
        self._take(len(kinds))
        self.best = FilledSheets(self._n_sheets, self._fullness(self._loads), self._spots.copy())

    @property
    def is_stopped(self) -> bool:
        """Whether the search was ended from outside."""
        return self._is_stopped or self._is_over()

    def stop(self) -> None:
        """End the running search soon."""
        self._is_stopped = True
        running = self._running
        if running is not None:
            running.stop()

    def adopt(self, best: FilledSheets) -> None:
        """Go on from another layout."""
        self.best, self._idle = best, 0
        self._spots[:] = best.spots
        self._take(best.n_sheets)

    def search(self, quota: int, deadline: float) -> ExchangeChain:
        """Exchange until ``quota`` more spots are tried or the clock passes ``deadline``.

        Returns itself, so that it may work in another process and come back.
        """
        end = self.evaluations + quota
        while self.evaluations < end and time.monotonic() < deadline and not self.is_stopped:
            if self.best.is_full:
                break
            exchange = self._drawn()
            self.evaluations += 1
            self._idle += 1
            if exchange is not None and self._is_done(exchange, end):
                self._take(self._n_sheets)
                self._note()
            if self._idle > PATIENT:
                self.adopt(self.best)
        return self

    def _note(self) -> None:
        """Keep the layout where it is the best so far."""
        now = FilledSheets(self._n_sheets, self._fullness(self._loads), self._spots)
        if now.is_better_than(self.best):
            self.best = FilledSheets(now.n_sheets, now.fullness, self._spots.copy())
            self._idle = 0

    def _take(self, n_sheets: int) -> None:
        """Record which parts lie where; the last sheet is the emptiest of its kind, not empty."""
        spots, kinds = self._spots, self._kinds
        on = spots[:, SHEET].astype(np.int64)
        loads: Floats = np.zeros(len(self._rooms))
        np.add.at(loads, on, self._prepared.areas)
        while n_sheets > 1:
            last = n_sheets - 1
            alike = np.flatnonzero(kinds[:n_sheets] == kinds[last])
            emptiest = int(alike[np.argmin(loads[alike])])
            if loads[emptiest] < loads[last]:
                spots[on == last, SHEET], spots[on == emptiest, SHEET] = emptiest, last
                on = spots[:, SHEET].astype(np.int64)
                loads[[emptiest, last]] = loads[[last, emptiest]]
            if loads[last] > 0.0:
                break
            n_sheets -= 1
        self._n_sheets, self._loads = n_sheets, loads
        self._members = [np.flatnonzero(on == n) for n in range(n_sheets)]

    def _fullness(self, loads: Floats) -> float:
        before = loads[: self._n_sheets - 1] / self._rooms[: self._n_sheets - 1]
        return float((before * before).sum())

    def _drawn(self) -> _Swap | None:
        """Return an exchange worth trying, None where none was drawn."""
        chosen, fewest = None, 1 << 30
        found = 0
        for _ in range(DRAWS):
            exchange = self._any()
            if exchange is None or not self._is_worth(exchange):
                continue
            failures = self._failures.get(self._content(exchange, self._fuller(exchange)), 0)
            if failures < fewest:
                chosen, fewest = exchange, failures
            found += 1
            if found == CANDIDATES or fewest == 0:
                break
        return chosen

    def _any(self) -> _Swap | None:
        """Draw two sheets and some parts of them."""
        random, n = self._random, self._n_sheets
        b = n - 1 if random.uniform() < FROM_LAST else int(random.integers(n))
        a = int(random.integers(n))
        if a == b:
            return None
        to_a = self._some(b, int(random.integers(1, MOST_OF_ONE + 1)))
        to_b = self._some(a, int(random.integers(0, MOST_OF_ONE + 1)))
        return _Swap(a, b, to_a, to_b) if len(to_a) + len(to_b) else None

    def _some(self, sheet: int, count: int) -> Ints:
        members = self._members[sheet]
        return self._random.choice(members, min(count, len(members)), replace=False)

    def _is_worth(self, exchange: _Swap) -> bool:
        """Return whether both sheets have room for an exchange, and it makes the others fuller."""
        a, b = exchange.a, exchange.b
        areas = self._prepared.areas
        more = float(areas[exchange.to_a].sum() - areas[exchange.to_b].sum())
        loads = self._loads.copy()
        loads[a] += more
        loads[b] -= more
        if (loads[[a, b]] > self._rooms[[a, b]] * (1.0 + ROUNDING)).any():
            return False
        if sorted(self._keys[exchange.to_a]) == sorted(self._keys[exchange.to_b]):
            return False
        if len(exchange.to_a) == len(self._members[b]) and not len(exchange.to_b):
            return True  # a sheet less
        least = self.best.fullness - WORSE - WORSENED * self._idle
        return self._fullness(loads) >= least or self.best.n_sheets > self._n_sheets

    def _fuller(self, exchange: _Swap) -> int:
        """Return which of the two sheets an exchange fills more."""
        a, b = exchange.a, exchange.b
        areas = self._prepared.areas
        more = areas[exchange.to_a].sum() - areas[exchange.to_b].sum()
        is_a = (self._loads[a] + more) / self._rooms[a] >= (self._loads[b] - more) / self._rooms[b]
        return a if is_a else b

    def _content(self, exchange: _Swap, sheet: int) -> tuple[int, int]:
        """Return a key for the parts that lie on a sheet after an exchange."""
        coming, going = exchange.to_a, exchange.to_b
        if sheet == exchange.b:
            coming, going = going, coming
        keys = self._keys
        total = keys[self._members[sheet]].sum() + keys[coming].sum() - keys[going].sum()
        return int(self._kinds[sheet]), int(total)

    def _is_done(self, exchange: _Swap, end: int) -> bool:
        """Move the parts of both sheets apart, the fuller one first; return whether that worked."""
        fuller = self._fuller(exchange)
        other = exchange.b if fuller == exchange.a else exchange.a
        moved = self._spots.copy()
        self._cross(exchange, moved)
        for sheet in (fuller, other):
            content = self._content(exchange, sheet)
            failures = self._failures.get(content, 0)
            parts = np.flatnonzero(moved[:, SHEET] == sheet)
            if len(parts) and not self._separated(parts, sheet, moved, failures, end):
                self._failures[content] = failures + 1
                return False
        self._spots = moved
        return True

    def _cross(self, exchange: _Swap, spots: Floats) -> None:
        """Let parts change sheets, each to where another has gone, or to anywhere."""
        middles = _middles(spots)
        for coming, going, sheet in (
            (exchange.to_a, exchange.to_b, exchange.a),
            (exchange.to_b, exchange.to_a, exchange.b),
        ):
            box = self._prepared.bounds[sheet]
            for number, part in enumerate(coming):
                if len(going):
                    x, y = middles[going[number % len(going)]]
                else:
                    x = self._random.uniform(box[X_MIN], box[X_MAX])
                    y = self._random.uniform(box[Y_MIN], box[Y_MAX])
                spot = spots[part]
                spot[X] = x - 0.5 * (spot[LEFT] + spot[RIGHT])
                spot[Y] = y - 0.5 * (spot[LOW] + spot[HIGH])
                spot[SHEET] = sheet

    def _separated(self, parts: Ints, sheet: int, spots: Floats, failures: int, end: int) -> bool:
        """Move the parts of one sheet apart, write their spots; return whether that worked."""
        prepared = self._prepared
        doubled = min(failures, MOST_DOUBLED)
        own = prepared._replace(
            kind=prepared.kind[parts],
            areas=prepared.areas[parts],
            hefts=prepared.hefts[parts],
            bounds=prepared.bounds[sheet : sheet + 1],
            outside=prepared.outside[sheet : sheet + 1],
        )
        seed = int(self._random.integers(2**62))
        separator = Separator(own, PATIENCE << doubled, 1, seed, self._is_over)
        separator.spots[:] = spots[parts]
        separator.spots[:, SHEET] = 0
        keep_inside(separator.spots, own.bounds)
        layout = lay_out(own.kind, separator.spots, own.bounds.copy(), own.outside)
        most = min((SPOTS_OF_A_PART * len(parts)) << doubled, end - self.evaluations)
        outcome, self._running = SPENT, separator
        while outcome == SPENT and separator.evaluations < most and not self.is_stopped:
            left = most - separator.evaluations
            outcome = separator.separate(layout, left, is_midway=separator.evaluations > 0)
        self._running = None
        self.evaluations += separator.evaluations
        if outcome != SEPARATED:
            return False
        spots[parts] = separator.spots
        spots[parts, SHEET] = sheet
        return True


def _middles(spots: Floats) -> Floats:
    x = spots[:, X] + 0.5 * (spots[:, LEFT] + spots[:, RIGHT])
    y = spots[:, Y] + 0.5 * (spots[:, LOW] + spots[:, HIGH])
    return np.stack([x, y], axis=1)
