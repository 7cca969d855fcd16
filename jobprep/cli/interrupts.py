"""Remember that Ctrl-C was pressed: a library may swallow it and report something else.

Compiled code that is interrupted in a pattern or a comparison reports no match, or an error of its
own. Neither says anything about the user's input.
"""

from __future__ import annotations

import _thread
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

LATER = 0.01
"""Delay before a dropped interrupt is sent again, s: the code that dropped it must have gone on."""


class Interrupts:
    """Whether Ctrl-C was pressed while a command ran."""

    def __init__(self) -> None:
        self.came = False
        self.again: threading.Timer | None = None

    def note(self, number: int, frame: FrameType | None) -> None:
        """Answer the signal as Python does, and remember it."""
        self.came = True
        signal.default_int_handler(number, frame)

    def take(self, dropped: sys.UnraisableHookArgs) -> None:
        """Send an interrupt that compiled code could not pass on again, instead of printing it."""
        if dropped.exc_type is not KeyboardInterrupt:
            sys.__unraisablehook__(dropped)
            return
        # Not at once: it would end this very call, and be dropped again.
        self.again = threading.Timer(LATER, _thread.interrupt_main)
        self.again.daemon = True
        self.again.start()


@contextmanager
def noted_interrupts() -> Iterator[Interrupts]:
    """Remember interrupts inside the context, unless somebody else handles them."""
    noted = Interrupts()
    is_ours = (
        threading.current_thread() is threading.main_thread()
        and signal.getsignal(signal.SIGINT) is signal.default_int_handler
    )
    if not is_ours:
        yield noted
        return
    unraisable = sys.unraisablehook
    signal.signal(signal.SIGINT, noted.note)
    sys.unraisablehook = noted.take
    try:
        yield noted
    finally:
        if noted.again is not None:
            noted.again.cancel()
        sys.unraisablehook = unraisable
        signal.signal(signal.SIGINT, signal.default_int_handler)
