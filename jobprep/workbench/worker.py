"""Work that takes longer than a moment, in a process of its own.

Messages go both ways as lines of JSON. The process ends when its input does: with this one, however
this one ends. Ctrl-C is for the server alone, which ends its workers.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import IO, Any

import jobprep

Message = dict[str, Any]

_BEGIN = "import sys; sys.path.append({home!r}); from jobprep.workbench.at_work import main; main()"


class Worker:
    """A process that does one kind of work; a thread reads its messages.

    ``ended`` is called once, when nothing more comes from it.
    """

    def __init__(
        self, work: str, hear: Callable[[Message], None], ended: Callable[[], None]
    ) -> None:
        home = str(Path(jobprep.__file__).parents[1])
        # Neither the current folder nor what lies in it is looked through for modules (-P).
        self._process = subprocess.Popen(
            [sys.executable, "-P", "-c", _BEGIN.format(home=home), work],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            encoding="utf-8",
            **_apart(),
        )
        self._sending = threading.Lock()
        listener = threading.Thread(target=self._listen, args=(hear, ended), daemon=True)
        listener.start()

    def send(self, message: Message) -> None:
        """Send a message; nothing happens once the process has ended."""
        with self._sending, suppress(OSError, ValueError):
            stdin = self._stream(self._process.stdin)
            stdin.write(json.dumps(message) + "\n")
            stdin.flush()

    def kill(self) -> None:
        """End the process at once."""
        with suppress(OSError):
            self._process.kill()

    def _listen(self, hear: Callable[[Message], None], ended: Callable[[], None]) -> None:
        with self._process:
            for line in self._stream(self._process.stdout):
                with suppress(ValueError):  # half a line of one that was killed
                    hear(json.loads(line))
            self.kill()
        ended()

    def _stream(self, stream: IO[str] | None) -> IO[str]:
        assert stream is not None
        return stream


def _apart() -> dict[str, Any]:
    """Return what keeps the terminal's signals from a process."""
    if os.name == "nt":
        return {"creationflags": getattr(subprocess, "CREATE_NEW_PROCESS_GROUP", 0)}
    return {"start_new_session": True}
