"""Files that change: looked at again and again, without any further program."""

from __future__ import annotations

import time
from collections.abc import Callable, Collection, Iterator
from pathlib import Path

PAUSE = 0.4
"""How long to wait before looking again, s."""

Stamp = tuple[int, int] | None
"""When a file was written (ns) and how large it is; None where there is none."""


def changes(files: Callable[[], Collection[Path]]) -> Iterator[None]:
    """Yield at once, and then each time one of the files has changed and come to rest.

    ``files`` is asked before each round. A change while the caller was busy counts.
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


def _stamps(files: Collection[Path]) -> dict[Path, Stamp]:
    return {path: _stamp(path) for path in files}


def _stamp(path: Path) -> Stamp:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size
