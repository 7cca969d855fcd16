"""Run the chains of a search side by side, in threads or wherever an executor runs them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor, Future, wait
from typing import TypeVar

ChainT = TypeVar("ChainT")

NAP = 0.2
"""Time after which a waiting thread wakes up, to let an interrupt through, s."""


def searched(
    executor: Executor | None, searches: Sequence[Callable[..., ChainT]], *words: object
) -> list[ChainT]:
    """Call all searches with the same arguments and return the chains that they return."""
    if executor is None or len(searches) == 1:
        return [search(*words) for search in searches]
    running: list[Future[ChainT]] = [executor.submit(search, *words) for search in searches]
    while wait(running, timeout=NAP).not_done:
        pass
    return [each.result() for each in running]
