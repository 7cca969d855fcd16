"""Ctrl-C while a plan is made: the first asks for the best so far, the second ends the command."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

import click


class Hurry:
    """Whether Ctrl-C was pressed since planning began."""

    def __init__(self) -> None:
        self.is_asked = False
        self.before = signal.getsignal(signal.SIGINT)

    def __call__(self) -> bool:
        """Return whether the best so far is to be taken."""
        return self.is_asked

    def note(self, number: int, frame: FrameType | None) -> None:
        """Remember the first; pass the second on to the handler of before."""
        if self.is_asked and callable(self.before):
            self.before(number, frame)
        self.is_asked = True


@contextmanager
def hurry() -> Iterator[Hurry]:
    """Take Ctrl-C, while a plan is made and written, as a request for the best nest so far.

    Everything after the search is still done, so a run is written whenever Ctrl-C comes.
    """
    asked = Hurry()
    is_main = threading.current_thread() is threading.main_thread()
    if not is_main or asked.before == signal.SIG_IGN:  # as in a script's background
        yield asked
        return
    signal.signal(signal.SIGINT, asked.note)
    try:
        yield asked
    finally:
        signal.signal(signal.SIGINT, asked.before)
    if asked.is_asked:
        click.echo("Interrupted: this is the best plan found by then.", err=True)
