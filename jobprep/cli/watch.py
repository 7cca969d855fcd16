"""Files that change: looked at again and again, without any further program."""

from __future__ import annotations

import signal
import time
from collections.abc import Callable, Collection, Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

PAUSE = 0.4
"""How long to wait before looking again, s."""

Stamp = tuple[int, int] | None
"""When a file was written (ns) and how large it is; None where there is none."""


def changes(files: Callable[[], Collection[Path]]) -> Iterator[None]:
    """Yield at once, and then each time one of the files has changed and come to rest.

    ``files`` is asked anew before each round. A change while the caller was busy counts.
    """
    while True:
        watched = files()
        seen = _stamps(watched)
        yield
        while seen == (now := _stamps(watched)):
            time.sleep(PAUSE)
        while now != seen:  # an editor may still be writing
            time.sleep(PAUSE)
            seen, now = now, _stamps(watched)


@contextmanager
def interrupts() -> Iterator[Callable[[], bool]]:
    """Give a function that tells whether the user has interrupted since.

    The interrupt is raised as ever, but a search takes it for its own end and goes on with the best
    it has found.
    """
    has_come = False

    def note(_number: int, _frame: FrameType | None) -> None:
        nonlocal has_come
        has_come = True
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, note)
    try:
        yield lambda: has_come
    finally:
        signal.signal(signal.SIGINT, before)


def _stamps(files: Collection[Path]) -> dict[Path, Stamp]:
    return {path: _stamp(path) for path in files}


def _stamp(path: Path) -> Stamp:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size
