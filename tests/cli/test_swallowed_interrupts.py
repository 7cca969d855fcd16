"""Ctrl-C that a library swallows is Ctrl-C all the same, not what the library makes of it."""

from __future__ import annotations

import contextlib
import signal
import time
from pathlib import Path

import pytest
from commands import run

from jobprep import pipeline
from jobprep.errors import CannotDoError, Finding, InputError, Place


def swallowing(error: Exception):
    """Return what is interrupted, takes no notice, and ends with an error of its own."""

    def work(*_: object, **__: object) -> None:
        with contextlib.suppress(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
        raise error

    return work


@pytest.mark.parametrize(
    "error",
    [
        InputError([Finding(Place("job.toml", 3, "title"), "is not one line of text")]),
        TypeError("Cannot compare structured arrays"),
    ],
)
def test_what_is_reported_after_it_is_the_interrupt(
    error: Exception, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(pipeline, "check", swallowing(error))
    result = run("check", tmp_path / "job.toml")
    assert (result.exit_code, result.stderr) == (130, "Interrupted; nothing was written.\n")


def test_what_cannot_be_done_is_said_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A search answers the interrupt and goes on; what then cannot be done has its own reason."""
    monkeypatch.setattr(pipeline, "check", swallowing(CannotDoError("no room")))
    result = run("check", tmp_path / "job.toml")
    assert (result.exit_code, result.stderr) == (1, "no room\n")


def test_an_interrupt_that_compiled_code_drops_is_sent_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A finaliser cannot pass an exception on; Python would print it and go on."""
    went_on = []

    class Dropping:
        def __del__(self) -> None:
            signal.raise_signal(signal.SIGINT)

    def work(*_: object, **__: object) -> None:
        Dropping()
        went_on.append(1)
        for _ in range(6000):
            time.sleep(0.01)
        went_on.append(2)

    monkeypatch.setattr(pipeline, "check", work)
    result = run("check", tmp_path / "job.toml")
    assert (result.exit_code, result.stderr) == (130, "Interrupted; nothing was written.\n")
    assert 2 not in went_on


def test_without_an_interrupt_a_fault_of_ours_stays_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise TypeError("ours")

    monkeypatch.setattr(pipeline, "check", broken)
    assert isinstance(run("check", tmp_path / "job.toml").exception, TypeError)
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
