"""The progress line of the terminal: one line of 80 columns, whatever a film is called."""

from __future__ import annotations

import io

import pytest

from jobprep.cli.progress import fill_line, progress, progress_line


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
