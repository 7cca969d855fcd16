"""The program's entry, also for ``python -m jobprep``: Ctrl-C ends it in silence as it starts.

It ends at once, too: to take apart all that a plan has loaded takes a quarter of its time, and the
operating system does it anyway.
"""

from __future__ import annotations

import atexit
import gc
import os
import signal
import sys

YOUNG = 50_000
"""Objects made before the collector looks for those that are of no more use: a command keeps most
of what it makes, and with the usual 700 the looking takes a tenth of its time."""


def main() -> None:
    """Load the commands and run the one that is asked for."""
    gc.set_threshold(YOUNG)
    is_answered = signal.getsignal(signal.SIGINT) is signal.default_int_handler
    if is_answered:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    ending = _Ending()
    atexit.register(ending.end)  # the first that is registered is called last
    from jobprep.cli import main as commands

    if is_answered:
        signal.signal(signal.SIGINT, signal.default_int_handler)  # from here on they answer it
    try:
        commands(prog_name="jobprep")
    except SystemExit as done:
        ending.code = done.code
        raise


class _Ending:
    """Ends the process once all that others want to do at its end is done."""

    def __init__(self) -> None:
        self.code: object = None

    def end(self) -> None:
        """End with the exit code, where there is one and all that was printed has been written."""
        if not isinstance(self.code, int):
            return
        for stream in (sys.stdout, sys.stderr):
            try:
                stream.flush()
            except (OSError, ValueError, AttributeError):
                return  # Python says so
        os._exit(self.code)


if __name__ == "__main__":
    main()
