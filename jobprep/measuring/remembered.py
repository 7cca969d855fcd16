"""Results kept by what they were worked out from, for who fits one reading again and again."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, TypeVar

Result = TypeVar("Result")

MOST = 400
"""Results that are kept; the largest take some 130 kB each."""


class Remembered:
    """Results of one reading; the oldest go first.

    What is kept must follow from its key and from the reading alone, so that it makes no difference
    whether it was kept or worked out again.
    """

    def __init__(self) -> None:
        self._results: dict[Hashable, Any] = {}

    def of(self, key: Hashable, work: Callable[[], Result]) -> Result:
        """Return the result of a key, worked out if it is not kept."""
        if key not in self._results:
            if len(self._results) >= MOST:
                del self._results[next(iter(self._results))]
            self._results[key] = work()
        result: Result = self._results[key]
        return result
