"""Run the chains of a search side by side, in threads or wherever an executor runs them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future, wait
from typing import TypeVar

ChainT = TypeVar("ChainT")

NAP = 0.2
"""Seconds after which whoever waits wakes up, to let an interrupt through."""


def searched(
    executor: Executor | None, searches: Sequence[Callable[..., ChainT]], *words: object
) -> list[ChainT]:
    """Call all searches with the same words and return the chains that come back."""
    if executor is None or len(searches) == 1:
        return [search(*words) for search in searches]
    running: list[Future[ChainT]] = [executor.submit(search, *words) for search in searches]
    while wait(running, timeout=NAP).not_done:
        pass
    return [each.result() for each in running]
