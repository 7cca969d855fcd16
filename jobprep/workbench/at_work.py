"""The other side of a worker: the word that its process is started with says what it does."""

from __future__ import annotations

import gc
import json
import os
import sys
import threading
from collections import deque
from collections.abc import Callable, Mapping
from importlib import import_module
from typing import IO, Any

Message = dict[str, Any]
YOUNG = 50_000
"""Objects made before the garbage collector runs, as for any command."""

Tell = Callable[[Message], None]

WORKS: Mapping[str, str] = {
    "facts": "jobprep.workbench.facts_work",
    "photo": "jobprep.workbench.photo_work",
    "plan": "jobprep.workbench.plan_work",
    "recut": "jobprep.workbench.recut_work",
    "run": "jobprep.workbench.run_work",
    "rough": "jobprep.workbench.rough_work",
}
"""Each kind of work and the module whose ``work`` does it."""


class Inbox:
    """The messages that came, and whether one of them asked to stop."""

    def __init__(self) -> None:
        self._came = threading.Condition()
        self._messages: deque[Message] = deque()
        self.is_stopped = False

    def put(self, message: Message) -> None:
        """Add a message."""
        with self._came:
            if message.get("stop"):
                self.is_stopped = True
            else:
                self._messages.append(message)
            self._came.notify_all()

    def take(self) -> Message:
        """Return the next message, as soon as there is one."""
        with self._came:
            while not self._messages:
                self._came.wait()
            return self._messages.popleft()


def main() -> None:
    """Do the work that the command line names until no more messages come."""
    gc.set_threshold(YOUNG)
    saying = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # whatever a library prints must not come between the messages
    inbox = Inbox()
    reading = threading.Thread(target=_read, args=(sys.stdin.buffer, inbox), daemon=True)
    reading.start()
    lock = threading.Lock()

    def tell(message: Message) -> None:
        with lock:
            saying.write(json.dumps(message) + "\n")
            saying.flush()

    import_module(WORKS[sys.argv[1]]).work(inbox, tell)
    saying.flush()
    os._exit(0)  # the thread that reads would be waited for


def _read(stream: IO[bytes], inbox: Inbox) -> None:
    for line in stream:
        inbox.put(json.loads(line))
    os._exit(0)  # nobody listens any more
