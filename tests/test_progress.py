"""The progress line of the terminal: one line of 80 columns, whatever a film is called."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from jobprep.cli.progress import _say_nothing_is_kept, fill_line, progress, progress_line
from jobprep.nesting.kernel_place import NAMED

ROOT = Path(__file__).parent.parent


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


def test_nobody_is_told_where_nobody_watches(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stderr", io.StringIO())
    with progress() as tell:
        assert tell is None


def test_that_nothing_can_be_kept_is_said_once(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "jobprep").mkdir()
    (tmp_path / "jobprep").chmod(0o777)
    monkeypatch.setenv(NAMED, str(tmp_path))
    _say_nothing_is_kept.cache_clear()
    for _ in range(2):
        with progress():
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
    with progress():
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
