"""Ctrl-C while a plan is made: whenever it comes, the best plan by then is written."""

from __future__ import annotations

import json
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from commands import done, run

import jobprep.cutting.plan_cuts
import jobprep.nesting.check
import jobprep.nesting.corner_search
import jobprep.nesting.first_use
import jobprep.nesting.improve
import jobprep.nesting.search
import jobprep.outputs
import jobprep.planning.sheet_mix
from jobprep import pipeline

JOB = """
format = 1
title = "Two films"
cutter = "bench-co2"

[[part]]
name = "lens plate"
film = "clear"
copies = 5
disc = { diameter = 60 }

[[part]]
name = "stop"
film = "black"
copies = 4
sector = { outer_diameter = 80, inner_diameter = 20, degrees = 75 }

[[stock]]
film = "clear"
size = [340, 80]

[nesting]
seconds = 0.2
"""

SAID = "Interrupted: this is the best plan found by then.\n"

MOMENTS = {
    "while the search is compiled": (jobprep.nesting.first_use, "compile_side_by_side"),
    "at the first fill": (jobprep.nesting.search, "fill_sheets"),
    "before the search": (jobprep.nesting.search, "build_chains"),
    "while searching": (jobprep.nesting.improve, "searched"),
    "before a corner is packed": (jobprep.nesting.search, "pack_corner"),
    "while a corner is packed": (jobprep.nesting.corner_search, "searched"),
    "at the proof": (jobprep.nesting.check, "check_nest"),
    "between the films": (jobprep.planning.sheet_mix, "nest_cheapest"),
    "while the cuts are ordered": (jobprep.cutting.plan_cuts, "order_cuts"),
    "while sums are made": (pipeline, "summary_of"),
    "while drawings are made": (jobprep.outputs, "run_files"),
}


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(JOB)
    return path


def interrupting(work: Callable[..., Any], times: int) -> Callable[..., Any]:
    """Return work during whose first calls Ctrl-C is pressed, once in each."""
    left = times

    def interrupted(*words: Any, **more: Any) -> Any:
        nonlocal left
        if left:
            left -= 1
            signal.raise_signal(signal.SIGINT)
        return work(*words, **more)

    return interrupted


def parts_of(out: Path) -> int:
    return int(json.loads((out / "summary.json").read_text())["totals"]["parts"])


@pytest.mark.parametrize("moment", MOMENTS)
def test_whenever_it_comes_all_parts_are_planned(
    moment: str, job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    home, name = MOMENTS[moment]
    monkeypatch.setattr(home, name, interrupting(getattr(home, name), 1))
    result = done("plan", job, "--out", job.parent / "run")
    assert result.stderr == SAID
    assert parts_of(job.parent / "run") == 9
    assert (job.parent / "run" / "black.svg").exists()


def test_it_ends_a_search_that_would_take_a_day(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job.write_text(JOB.replace("seconds = 0.2", "seconds = 86400"))
    module = jobprep.nesting.improve
    monkeypatch.setattr(module, "searched", interrupting(module.searched, 1))
    assert done("plan", job, "--out", job.parent / "run").stderr == SAID


def test_a_recut_that_is_nested_again_takes_the_best_by_then(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    first, again = job.parent / "run", job.parent / "again"
    assert done("plan", job, "--out", first).stderr == ""
    module = jobprep.nesting.search
    monkeypatch.setattr(module, "renest", interrupting(module.renest, 1))
    result = done("recut", first, "--kerf", "clear=1.4", "--out", again)
    assert SAID in result.stderr
    assert parts_of(again) == 9


def test_a_second_one_ends_the_command(job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    check = jobprep.nesting.check
    monkeypatch.setattr(check, "check_nest", interrupting(check.check_nest, 2))
    result = run("plan", job, "--out", job.parent / "run")
    assert (result.exit_code, result.stderr) == (130, "Interrupted; nothing was written.\n")
    assert not (job.parent / "run").exists()


def test_an_early_end_does_not_say_that_film_is_short(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By area the plates would fit, in one row they do not: what was not searched is not known."""
    job.write_text(JOB.replace("[340, 80]", "[300, 75]"))
    search = jobprep.nesting.search
    monkeypatch.setattr(search, "fill_sheets", interrupting(search.fill_sheets, 1))
    result = run("plan", job, "--out", job.parent / "run")
    assert result.exit_code == 1
    first = result.stderr.splitlines()[0]
    assert first.startswith("clear: no room found for ")
    assert first.endswith("; the search was ended early, more time may find some")


def test_it_is_not_said_where_nobody_pressed_it(job: Path) -> None:
    assert done("plan", job, "--out", job.parent / "run").stderr == ""
