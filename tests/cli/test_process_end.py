"""A process ends at once, but not before all is written and all that others want is done."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

PROGRAM = """\
import atexit, threading, time
import jobprep.cli
from jobprep.__main__ import main

commands = jobprep.cli.main

def watched(**options):
    atexit.register(print, "handler")
    threading.Thread(target=lambda: (time.sleep(0.2), print("thread"))).start()
    commands(**options)

jobprep.cli.main = watched
main()
"""


def run(*words: str, out: int = subprocess.PIPE) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", PROGRAM, *words],
        stdout=out,
        stderr=subprocess.PIPE,
        text=True,
        check=False,
    )


@pytest.mark.parametrize(
    ("words", "code"), [(("--version",), 0), (("check", "none.toml"), 2), (("--none",), 2)]
)
def test_the_exit_code_is_that_of_the_command(words: tuple[str, ...], code: int) -> None:
    assert run(*words).returncode == code


def test_what_others_do_at_the_end_is_done() -> None:
    """Threads go on to their end, and handlers are called."""
    assert run("--version").stdout.splitlines()[1:] == ["thread", "handler"]


def test_what_could_not_be_written_is_no_success() -> None:
    """A full disk is noticed when what was printed is flushed."""
    with Path("/dev/full").open("w") as full:
        done = run("--version", out=full.fileno())
    assert done.returncode != 0
    assert "No space left" in done.stderr
