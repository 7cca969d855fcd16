"""A command ends in silence when nobody reads what it prints any more, as shell commands do."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from jobprep.cli import UNREAD

EXAMPLES = Path(__file__).parents[2] / "examples"
JOB = EXAMPLES / "01-aurora-wheel" / "job.toml"
DESIGN = EXAMPLES / "01-aurora-wheel" / "aurora-wheel.toml"

COMMANDS = [
    ("--help",),
    ("--version",),
    ("films", "list"),
    ("films", "list", "--json"),
    ("check", JOB),
    ("disc", DESIGN),
    ("schema", "design"),
    ("stock", "add", "amber", "--help"),
]


def run(stream: str, *words: object) -> tuple[int, bytes]:
    """Run a command of which nobody reads a stream; return its exit code and the other stream."""
    reader, writer = os.pipe()
    os.close(reader)
    streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, stream: writer}
    try:
        process = subprocess.Popen([sys.executable, "-m", "jobprep", *map(str, words)], **streams)
        out, err = process.communicate(timeout=600)
    finally:
        os.close(writer)
    return process.returncode, out if stream == "stderr" else err


@pytest.mark.parametrize("words", COMMANDS, ids=lambda words: " ".join(map(str, words[:2])))
def test_nothing_is_said_where_the_output_is_not_read(words: tuple[object, ...]) -> None:
    assert run("stdout", *words) == (UNREAD, b"")


def test_an_error_that_nobody_reads_is_no_other_error(tmp_path: Path) -> None:
    assert run("stderr", "check", tmp_path / "none.toml") == (UNREAD, b"")
