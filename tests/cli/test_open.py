"""``jobprep open``: which folder a page gets, what the terminal says, and whose browser opens."""

from __future__ import annotations

import threading
import urllib.request
import webbrowser
from pathlib import Path

import pytest
from click.testing import CliRunner

from jobprep.cli import main
from jobprep.cli import open as open_module
from jobprep.files.write import write_new

DESIGN = 'format = 1\nname = "Lamp"\nouter_diameter = 90\n[[layer]]\nname = "a"\nfilm = "clear"\n'


@pytest.fixture
def ended(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the command be interrupted as soon as it waits."""

    def interrupted() -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(open_module, "_wait", interrupted)


@pytest.mark.usefixtures("ended")
def test_the_browser_gets_an_address_of_its_own(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[str] = []
    came = threading.Event()
    monkeypatch.setattr(webbrowser, "open", lambda address: (opened.append(address), came.set()))
    (tmp_path / "lamp.toml").write_text(DESIGN)
    result = CliRunner().invoke(main, ["open", str(tmp_path / "lamp.toml")])
    assert came.wait(60)
    assert result.exit_code == 0
    first, second, last = result.output.splitlines()
    (own,) = opened
    printed = first.split()[1]
    assert own.partition("?key=")[0] == printed.partition("?key=")[0]
    assert own != printed  # it works once, see the guard's tests
    assert first.startswith("Page: http://127.0.0.1:")
    assert "Ctrl-C ends it" in second
    assert last == "Ended."


@pytest.mark.usefixtures("ended")
def test_no_browser_is_opened_where_none_is_wanted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(webbrowser, "open", lambda address: 1 / 0)
    keys = []
    for _ in range(2):
        said = CliRunner().invoke(main, ["open", str(tmp_path), "--no-browser"])
        assert said.exit_code == 0
        keys.append(said.output.splitlines()[0].partition("key=")[2])
    assert len(set(keys)) == 2
    with pytest.raises(OSError):  # nobody answers any more
        urllib.request.urlopen(said.output.split()[1], timeout=60)


def test_what_is_not_there_cannot_be_opened(tmp_path: Path) -> None:
    said = CliRunner().invoke(main, ["open", str(tmp_path / "no.toml")])
    assert said.exit_code == 2
    assert "there is no such file or folder" in said.stderr


def test_a_new_file_takes_no_place_that_is_taken(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    assert write_new(path, b"first")
    assert not write_new(path, b"second")
    assert path.read_bytes() == b"first"
    assert path.stat().st_nlink == 1
    (tmp_path / "link.toml").symlink_to(tmp_path / "nowhere.toml")
    assert not write_new(tmp_path / "link.toml", b"through a link")
    assert {each.name for each in tmp_path.iterdir()} == {"a.toml", "link.toml"}
