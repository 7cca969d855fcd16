"""Notice files that change, by looking at them again and again."""

from __future__ import annotations

import time
from collections.abc import Callable, Collection, Iterator
from pathlib import Path

from jobprep.files.stamps import PAUSE, stamps


def changes(files: Callable[[], Collection[Path]]) -> Iterator[None]:
    """Yield at once, and then each time one of the files has changed and come to rest.

    ``files`` is asked before each round. A change while the caller was busy counts.
    """
    while True:
        watched = files()
        seen = stamps(watched)
        yield
        while seen == (now := stamps(watched)):
            time.sleep(PAUSE)
        while now != seen:  # an editor may still be writing
            time.sleep(PAUSE)
            seen, now = now, stamps(watched)
