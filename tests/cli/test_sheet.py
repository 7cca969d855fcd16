"""The job sheet of a run, found and opened."""

import webbrowser
from pathlib import Path

import pytest
from commands import run


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    path = tmp_path / "a run"
    path.mkdir()
    for name in ("job-sheet.html", "run.toml"):
        (path / name).write_text("")
    return path


def test_it_says_where_the_sheet_is(folder: Path) -> None:
    for named in (folder, folder / "run.toml", folder / "job-sheet.html"):
        result = run("sheet", named)
        assert result.exit_code == 0, result.stderr
        assert result.stdout == f"{folder / 'job-sheet.html'}\n"


def test_it_opens_the_sheet(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened: list[str] = []
    monkeypatch.setattr(webbrowser, "open", lambda address: not opened.append(address))
    assert run("sheet", folder, "--open").exit_code == 0
    assert opened == [(folder / "job-sheet.html").as_uri()]


def test_without_a_browser_one_sentence(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(webbrowser, "open", lambda _: False)
    result = run("sheet", folder, "--open")
    assert result.exit_code == 1
    assert result.stderr.startswith("no browser can be started from here; open ")


def test_what_is_no_run_is_refused(tmp_path: Path) -> None:
    result = run("sheet", tmp_path)
    assert result.exit_code == 2
    assert result.stderr == (
        f"{tmp_path}: there is no job-sheet.html here; give the folder that jobprep plan has "
        "written\n"
    )
