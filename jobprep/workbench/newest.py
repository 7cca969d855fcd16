"""Questions to one warm process, one at a time: the newest about a thing is answered."""

from __future__ import annotations

import threading
import time

from jobprep.workbench.worker import Message, Worker

LONGEST = 20.0
"""Time after which an unanswered question is given up and its process ended, s."""


class _Question:
    def __init__(self, message: Message) -> None:
        self.message = message
        self.answer: Message | None = None
        self.is_done = False


class Newest:
    """A process that is asked again and again, begun with the first question.

    Of several questions about one thing that wait, only the last is answered.
    """

    def __init__(self, work: str, longest: float = LONGEST) -> None:
        self._work = work
        self._longest = longest
        self._changed = threading.Condition()
        self._worker: Worker | None = None
        self._is_ready = False
        self._asked: _Question | None = None
        self._waiting: dict[str, _Question] = {}

    def warm(self) -> None:
        """Begin the process, so that the first question is answered sooner."""
        with self._changed:
            if self._worker is None:
                self._begin()

    def ask(self, about: str, message: Message) -> Message | None:
        """Return the answer to a question; None where a newer one about the same took its place.

        Raises ``TimeoutError`` when no answer comes, ``ConnectionError`` when the process fails.
        """
        question = _Question(message)
        end = time.monotonic() + self._longest
        with self._changed:
            older = self._waiting.pop(about, None)
            if older is not None:
                older.is_done = True
                self._changed.notify_all()
            self._waiting[about] = question
            self._next()
            while not question.is_done:
                left = end - time.monotonic()
                if left <= 0.0:
                    self._give_up(about, question)
                    raise TimeoutError
                self._changed.wait(left)
        if question.answer is not None and "failed" in question.answer:
            raise ConnectionError
        return question.answer

    def end(self) -> None:
        """End the process."""
        with self._changed:
            if self._worker is not None:
                self._worker.kill()

    def _begin(self) -> None:
        self._is_ready = False
        box: list[Worker] = []
        worker = Worker(
            self._work,
            lambda message: self._hear(box, message),
            lambda: self._ended(box),
        )
        box.append(worker)
        self._worker = worker

    def _next(self) -> None:
        """Send the next question where the process is free for it; the caller holds the lock."""
        if self._worker is None:
            self._begin()
        if self._is_ready and self._asked is None and self._waiting and self._worker is not None:
            about = next(iter(self._waiting))
            self._asked = self._waiting.pop(about)
            self._worker.send(self._asked.message)

    def _hear(self, box: list[Worker], message: Message) -> None:
        with self._changed:
            if self._worker not in box:
                return
            if message.get("ready"):
                self._is_ready = True
            elif self._asked is not None:
                self._finish(message)
            self._next()

    def _ended(self, box: list[Worker]) -> None:
        with self._changed:
            if self._worker not in box:
                return
            self._worker = None
            if self._asked is not None:
                self._finish({"failed": True})
            if self._waiting and self._is_ready:  # the others may do better in a new process
                self._next()
            else:
                for each in self._waiting.values():
                    each.answer, each.is_done = {"failed": True}, True
                self._waiting.clear()
                self._changed.notify_all()

    def _finish(self, answer: Message) -> None:
        assert self._asked is not None
        self._asked.answer, self._asked.is_done = answer, True
        self._asked = None
        self._changed.notify_all()

    def _give_up(self, about: str, question: _Question) -> None:
        if self._waiting.get(about) is question:
            del self._waiting[about]
        if self._asked is question and self._worker is not None:
            self._worker.kill()
