"""The progress line of the terminal: one line of 80 columns, whatever a film is called."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from jobprep import pipeline
from jobprep.cli.progress import (
    _say_nothing_is_kept,
    fill_line,
    fill_words,
    nest_line,
    progress,
    progress_line,
    search_words,
)
from jobprep.nesting.kernel_place import NAMED
from jobprep.nesting.nest import Nest
from jobprep.planning.nest_so_far import DiscsHeld, NestSoFar
from jobprep.planning.shelf import usual_sheet

ROOT = Path(__file__).parent.parent
JOB = ROOT / "examples" / "01-aurora-wheel" / "job.toml"


def test_a_line_says_how_good_the_nest_is_and_how_to_take_it() -> None:
    assert progress_line("Amber colour film", 2, 1.0, 0.714, 78) == (
        "Amber colour film: 2 sheets (at least 1), 71% used; Ctrl-C takes this ..."
    )
    assert ": 1 sheet (" in progress_line("Amber colour film", 1, 1.0, 0.714, 78)


@pytest.mark.parametrize("film", ["A", "Film " * 30])
def test_a_line_fits_80_columns(film: str) -> None:
    line = progress_line(film, 123, 120.0, 1.0, 78)
    assert len(line) <= 78
    assert line.endswith("123 sheets (at least 120), 100% used; Ctrl-C takes this ...")


@pytest.mark.parametrize("film", ["A", "Film " * 30])
def test_a_line_says_how_much_a_film_holds_so_far(film: str) -> None:
    line = fill_line(film, 812, 930, 78)
    assert len(line) <= 78
    assert line.endswith(": room for 812 discs, at most 930; Ctrl-C ends the search ...")


def test_a_nest_gets_the_line_of_its_search() -> None:
    """A fill has an interest in how many discs there are, any other search in how full they lie."""
    job = pipeline.check(JOB).job
    film = replace(job.films["amber"], title="Amber")
    sheet = usual_sheet(job, film).sheet
    nest = Nest(sheets=(0, 0), placements=(), unplaced=(), bound=1.0)
    found = NestSoFar(film=film, parts=(), sheets=(sheet, sheet), nest=nest)
    assert nest_line(found, 78).startswith("Amber: 2 sheets (at least 1), 0% used;")
    held = replace(found, held=DiscsHeld(8, 9))
    assert nest_line(held, 78).startswith("Amber: room for 8 discs, at most 9;")


def test_the_search_says_beforehand_how_long_it_takes() -> None:
    nesting = replace(pipeline.check(JOB).job.nesting, seconds=5.0, evaluations=None)
    counted = replace(nesting, evaluations=100_000)
    early = "and ends early without gain."
    said = [search_words(nesting), search_words(counted)]
    assert said == [
        f"The search takes at most 5 s {early}",
        f"The search tries up to 100,000 places a film {early}",
    ]
    assert max(map(len, said)) < 80
    assert fill_words(nesting, 3.0) == f"The search takes some 15 s {early}"
    assert fill_words(counted, 3.0) == f"Each search tries up to 100,000 places {early}"


def test_that_is_said_on_a_terminal_alone(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with progress("It takes long."):
        pass
    assert capsys.readouterr().err == ""
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    with progress("It takes long."):
        pass
    assert capsys.readouterr().err.startswith("It takes long.\n")


def test_nobody_is_told_where_nobody_watches(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stderr", io.StringIO())
    with progress("") as tell:
        assert tell is None


def test_that_nothing_can_be_kept_is_said_once(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "jobprep").mkdir()
    (tmp_path / "jobprep").chmod(0o777)
    monkeypatch.setenv(NAMED, str(tmp_path))
    _say_nothing_is_kept.cache_clear()
    for _ in range(2):
        with progress(""):
            pass
    assert capsys.readouterr().err == (
        f"The compiled search cannot be kept: {tmp_path}/jobprep can be written by other users. "
        "Every start compiles it, 10 s or more, unless NUMBA_CACHE_DIR names a folder that only "
        "you can write.\n"
    )


def test_nothing_is_said_where_the_search_can_be_kept(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv(NAMED, str(tmp_path))
    _say_nothing_is_kept.cache_clear()
    with progress(""):
        pass
    assert capsys.readouterr().err == ""


@pytest.mark.slow
def test_a_plan_is_made_where_nothing_can_be_kept(tmp_path: Path) -> None:
    """The search is compiled in memory."""
    home = tmp_path / "file"
    home.touch()  # no folder can be made in a file, whoever asks
    environment = {**os.environ, "HOME": str(home), "XDG_CACHE_HOME": "", "NUMBA_CACHE_DIR": ""}
    code = "from jobprep.__main__ import main; main()"
    words = ["plan", str(ROOT / "examples" / "01-aurora-wheel" / "job.toml")]
    done = subprocess.run(
        [sys.executable, "-c", code, *words, "--out", str(tmp_path / "run")],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=600,
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr.startswith("The compiled search cannot be kept: ")
    assert done.stderr.count("\n") == 1, "once, though several films are nested"
    assert (tmp_path / "run" / "summary.json").exists()
