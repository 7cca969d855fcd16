"""The program's entry, also for ``python -m jobprep``: Ctrl-C ends it in silence as it starts."""

from __future__ import annotations

import gc
import signal

YOUNG = 50_000
"""Objects made before the collector looks for those that are of no more use: a command keeps most
of what it makes, and with the usual 700 the looking takes a tenth of its time."""


def main() -> None:
    """Load the commands and run the one that is asked for."""
    gc.set_threshold(YOUNG)
    is_answered = signal.getsignal(signal.SIGINT) is signal.default_int_handler
    if is_answered:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
    from jobprep.cli import main as commands

    if is_answered:
        signal.signal(signal.SIGINT, signal.default_int_handler)  # from here on they answer it
    commands(prog_name="jobprep")


if __name__ == "__main__":
    main()
