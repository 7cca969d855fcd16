"""Move the parts of a layout apart: the compiled search with its weights and random numbers."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from jobprep.nesting.columns import (
    BEST_TOTAL,
    IS_BEGUN,
    IS_STOPPED,
    SPOT,
    TALLY,
    TOTALS,
    TRIED,
)
from jobprep.nesting.layout import Effort, Layout, Scene, Weights
from jobprep.nesting.prepare import Prepared

TRIES_ANYWHERE, TRIES_NEARBY = 30, 20
TRIES_TOUCHING = 30
"""How many of the tries anywhere are drawn touching another part."""

MOST_AT_ONCE = 20_000
"""Spots tried before the clock is asked: some tenth of a second."""


class Separator:
    """The parts of one stream: where they are, how much each pair counts, its random numbers.

    ``spots`` are moved in place; ``least`` is the layout of least overlap met by the latest call.
    ``patience`` and ``strikes`` say how long it goes on without gain before it gives up.
    """

    def __init__(
        self,
        prepared: Prepared,
        patience: int,
        strikes: int,
        seed: int,
        is_over: Callable[[], bool],
    ) -> None:
        n = len(prepared.kind)
        hefts = prepared.hefts
        self._fields, self._shapes, self._walks = prepared.fields, prepared.shapes, prepared.walks
        self._weights = Weights(np.ones((n, n), np.float32), np.ones(n), hefts / hefts.mean())
        self._patience, self._strikes = patience, strikes
        self._totals = np.zeros(TOTALS)
        self._tally = np.zeros(TALLY, np.int64)
        self._is_over = is_over
        self.random = np.random.default_rng(seed)
        self._state = self.random.integers(1, 2**63, size=1).astype(np.uint64)
        self.spots = np.zeros((n, SPOT))
        self.least = np.zeros((n, SPOT))

    @property
    def evaluations(self) -> int:
        """The number of spots tried so far."""
        return int(self._tally[TRIED])

    @property
    def is_stopped(self) -> bool:
        """Whether the search was ended from outside."""
        return bool(self._tally[IS_STOPPED]) or self._is_over()

    @property
    def least_total(self) -> float:
        """The overlap of ``least``, weighted."""
        return float(self._totals[BEST_TOTAL])

    def stop(self) -> None:
        """End the running search soon."""
        self._tally[IS_STOPPED] = 1

    def separate(self, layout: Layout, most: int, *, is_midway: bool) -> int:
        """Try up to ``most`` spots, some tenth of a second's at once, and return how that ended.

        One that is midway goes on where the call before was spent.
        """
        from jobprep.nesting.kernels import separate

        if not is_midway:
            self._tally[IS_BEGUN] = 0
        effort = Effort(
            anywhere=TRIES_ANYWHERE,
            nearby=TRIES_NEARBY,
            touching=TRIES_TOUCHING,
            walks=self._walks,
            patience=self._patience,
            strikes=self._strikes,
            spots=min(MOST_AT_ONCE, most),
        )
        scene = Scene(self._fields, self._shapes, layout, self._weights)
        return int(separate(scene, self.least, self._totals, effort, self._state, self._tally))
