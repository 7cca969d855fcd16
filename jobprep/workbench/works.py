"""Longer work that goes on beside the page: one process each, its progress as events.

An event says of a work its ``id``, its ``state`` and what else belongs to it. It ends as ``done``,
``refused`` (the reason is said) or ``failed`` (its process ended without a word).
"""

from __future__ import annotations

import itertools
import threading
from dataclasses import dataclass, field

from jobprep.errors import CannotDoError
from jobprep.serving.events import Channel
from jobprep.workbench.worker import Message, Worker

MOST_AT_ONCE = 2
"""Works at a time: each keeps a processor busy."""

MOST_REMEMBERED = 20
"""Works that can still be asked for after they have ended."""

ENDS = ("done", "refused", "failed")


@dataclass(slots=True)
class Work:
    """One work: ``said`` is the last message of each state, oldest state first."""

    id: str
    kind: str
    about: str
    worker: Worker | None = None
    said: dict[str, Message] = field(default_factory=dict)

    @property
    def is_over(self) -> bool:
        """Whether nothing more comes from it."""
        return any(state in self.said for state in ENDS)


class Works:
    """All works of a server; what they say goes to everybody who listens."""

    def __init__(self, news: Channel) -> None:
        self._news = news
        self._lock = threading.Lock()
        self._works: dict[str, Work] = {}
        self._numbers = itertools.count(1)

    def start(self, kind: str, about: str, message: Message) -> str:
        """Begin a work ``about`` a file; return its id.

        Raises ``CannotDoError`` where ``MOST_AT_ONCE`` are going on.
        """
        with self._lock:
            going = [each for each in self._works.values() if not each.is_over]
            if len(going) >= MOST_AT_ONCE:
                names = " and ".join(each.about for each in going)
                raise CannotDoError(f"{names} go on already; stop one of them first")
            work = Work(str(next(self._numbers)), kind, about)
            self._works[work.id] = work
            self._forget_old()
            work.worker = Worker(
                kind,
                lambda said: self._hear(work, said),
                lambda: self._hear(work, {"state": "failed"}),
            )
            work.worker.send(message)
            return work.id

    def stop(self, number: str) -> None:
        """Ask a work to end soon with its best; raises ``CannotDoError`` where there is none."""
        worker = self.find(number).worker
        if worker is not None:
            worker.send({"stop": True})

    def find(self, number: str) -> Work:
        """Return a work; raises ``CannotDoError`` where there is none of that id."""
        with self._lock:
            if number not in self._works:
                raise CannotDoError("there is no such work")
            return self._works[number]

    def told(self, number: str) -> Message:
        """Return what a work has said last in each state."""
        work = self.find(number)
        with self._lock:
            return {"id": work.id, "kind": work.kind, "path": work.about, "said": dict(work.said)}

    def end(self) -> None:
        """End every process at once."""
        with self._lock:
            for each in self._works.values():
                if each.worker is not None and not each.is_over:
                    each.worker.kill()

    def _hear(self, work: Work, said: Message) -> None:
        with self._lock:
            if work.is_over:
                return
            work.said[said["state"]] = said
            event = {"id": work.id, "kind": work.kind, "path": work.about, **said}
            self._news.tell("work", event, keep=f"work {work.id}")

    def _forget_old(self) -> None:
        over = [each for each in self._works.values() if each.is_over]
        for each in over[:-MOST_REMEMBERED]:
            del self._works[each.id]
            self._news.forget(f"work {each.id}")
