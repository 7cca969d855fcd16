"""News for everybody who listens: named events, and for a new listener the last of each kind."""

from __future__ import annotations

import json
import threading
import time
from collections import deque
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

MOST_WAITING = 500
"""Most events that wait for a slow listener; with more its connection ends, and it may come again.
"""


class Listening:
    """One listener: what was sent since it last took something."""

    def __init__(self, changed: threading.Condition, begin: Iterator[bytes]) -> None:
        self._changed = changed
        self._waiting = deque(begin)
        self.is_over = False

    def put(self, event: bytes) -> None:
        """Add an event; the caller holds the channel."""
        if len(self._waiting) >= MOST_WAITING:
            self.is_over = True
        else:
            self._waiting.append(event)

    def take(self, seconds: float) -> bytes:
        """Return all that waits, or what comes within ``seconds``; empty when nothing does."""
        end = time.monotonic() + seconds
        with self._changed:
            while not self._waiting and not self.is_over:
                left = end - time.monotonic()
                if left <= 0.0:
                    break
                self._changed.wait(left)
            found = b"".join(self._waiting)
            self._waiting.clear()
            return found


class Channel:
    """Events that every listener gets."""

    def __init__(self) -> None:
        self._changed = threading.Condition()
        self._listening: list[Listening] = []
        self._kept: dict[str, bytes] = {}
        self._is_closed = False

    def tell(self, name: str, data: Any, keep: str | None = None) -> None:
        """Send an event; the last one of each ``keep`` is what a new listener hears first.

        An event without a name is a plain message.
        """
        event = _written(name, data)
        with self._changed:
            if keep is not None:
                self._kept[keep] = event
            for each in self._listening:
                each.put(event)
            self._changed.notify_all()

    def forget(self, keep: str) -> None:
        """Keep the last event of a kind no longer."""
        with self._changed:
            self._kept.pop(keep, None)

    @contextmanager
    def listening(self) -> Iterator[Listening]:
        """Listen until the context ends."""
        with self._changed:
            listener = Listening(self._changed, iter(self._kept.values()))
            listener.is_over = self._is_closed
            self._listening.append(listener)
        try:
            yield listener
        finally:
            with self._changed:
                self._listening.remove(listener)
                self._changed.notify_all()

    def close(self, seconds: float) -> None:
        """Let every listener take what waits, then go; wait at most ``seconds`` for that."""
        end = time.monotonic() + seconds
        with self._changed:
            self._is_closed = True
            for each in self._listening:
                each.is_over = True
            self._changed.notify_all()
            while self._listening and time.monotonic() < end:
                self._changed.wait(max(0.0, end - time.monotonic()))


def _written(name: str, data: Any) -> bytes:
    head = f"event: {name}\n" if name else ""
    return f"{head}data: {json.dumps(data)}\n\n".encode()
