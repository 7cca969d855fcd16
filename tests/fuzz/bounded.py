"""A bound on the processor time that a reader may take; no clock on the wall is looked at."""

from __future__ import annotations

import signal
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

LONGEST = 10.0
"""Processor time of this process that one file may take, s."""


class TooLong(BaseException):
    """Raised where the reader stands when its time is over; no reader may catch it."""


@contextmanager
def bounded(most: float = LONGEST) -> Iterator[None]:
    """Raise ``TooLong`` when what runs inside takes more processor time than that, s."""

    def end(_number: int, _frame: FrameType | None) -> None:
        raise TooLong(f"more than {most:g} s of processor time")

    before = signal.signal(signal.SIGPROF, end)
    signal.setitimer(signal.ITIMER_PROF, most)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)
