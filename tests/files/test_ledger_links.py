"""A ledger with more than one name is one ledger: through a link, too, nothing is lost."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from files.ledger_child import DAY, N_ADDED, add
from files.test_ledger_killed import CHILD, run_child

from jobprep.errors import CannotDoError
from jobprep.files.ledger.on_disk import (
    change_ledger,
    history,
    read_ledger,
    rebuild_from_journal,
    restart_journal,
    undo_last,
)

NAMES = ["stock.toml", "stock.toml.journal", "stock.toml.lock"]


@pytest.fixture
def linked(tmp_path: Path) -> tuple[Path, Path]:
    """Return a ledger with one piece in a folder of its own, and a link to it in another."""
    real, link = tmp_path / "shelf" / "stock.toml", tmp_path / "jobs" / "stock.toml"
    real.parent.mkdir()
    link.parent.mkdir()
    add(real, "amber", 1)
    link.symlink_to(Path("..", "shelf", "stock.toml"))
    return real, link


def assert_is_one(real: Path, link: Path) -> None:
    """Check that all that belongs to a ledger lies beside it, and nothing beside the link."""
    assert link.is_symlink()
    assert [each.name for each in link.parent.iterdir()] == [link.name]
    assert sorted(each.name for each in real.parent.iterdir()) == NAMES
    assert not real.is_symlink()
    assert read_ledger(link) == read_ledger(real)
    assert history(link) == history(real)


def test_two_processes_through_a_link_and_the_file_lose_nothing(linked: tuple[Path, Path]) -> None:
    go = linked[0].parent.parent / "go"
    children = [
        subprocess.Popen(
            [sys.executable, str(CHILD), str(path), "add", film, str(go)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for path, film in zip(linked, ("blue", "green"), strict=True)
    ]
    go.touch()
    said = [child.communicate() for child in children]
    assert said == [(f"{N_ADDED}\n", "")] * 2
    assert_is_one(*linked)
    assert len(read_ledger(linked[0]).pieces) == 1 + 2 * N_ADDED
    assert len(history(linked[0])) == 1 + 2 * N_ADDED


def test_everything_that_changes_a_ledger_goes_through_a_link(linked: tuple[Path, Path]) -> None:
    real, link = linked
    add(link, "blue", 2)
    assert [piece.film for piece in read_ledger(real).pieces] == ["amber", "blue"]
    undo_last(link, DAY)
    assert [piece.film for piece in read_ledger(real).pieces] == ["amber"]
    real.write_text("damaged")
    ledger, kept = rebuild_from_journal(link)
    assert kept == real.with_name("stock.toml.old-1")
    kept.unlink()
    assert read_ledger(real) == ledger
    _, kept = restart_journal(link, DAY)
    assert kept == real.with_name("stock.toml.journal.old-1")
    kept.unlink()
    assert_is_one(real, link)


def test_link_to_a_link_and_a_link_in_the_way(tmp_path: Path, linked: tuple[Path, Path]) -> None:
    real, link = linked
    second = tmp_path / "second.toml"
    second.symlink_to(link)
    folder = tmp_path / "other"
    folder.symlink_to(real.parent, target_is_directory=True)
    for number, path in enumerate((second, folder / "stock.toml"), 2):
        add(path, "blue", 1)
        assert len(read_ledger(real).pieces) == number
    assert second.is_symlink()
    assert folder.is_symlink()
    assert_is_one(real, link)


@pytest.mark.slow
def test_killed_while_writing_through_a_link(linked: tuple[Path, Path], tmp_path: Path) -> None:
    real, link = linked
    n_places = int(run_child(tmp_path / "counted.toml", "count").stdout)
    for place in range(1, n_places, n_places // 10):
        for path in real.parent.iterdir():
            path.unlink()
        real.touch()
        assert run_child(link, "kill", str(place)).returncode == -signal.SIGKILL
        add(link, "blue", 7)
        assert rebuild_from_journal(link) == (read_ledger(real), None)
        assert_is_one(real, link)


def test_link_that_leads_nowhere_begins_no_ledger(tmp_path: Path) -> None:
    link = tmp_path / "stock.toml"
    link.symlink_to(tmp_path / "unplugged" / "stock.toml")
    with pytest.raises(CannotDoError, match=r"is a link to .*unplugged.*, which is not there"):
        add(link, "blue", 1)
    assert list(tmp_path.iterdir()) == [link]


@pytest.mark.parametrize("second", ["stock.toml", "stock.toml.journal"])
def test_second_name_of_a_ledger_is_not_parted_from_it(tmp_path: Path, second: str) -> None:
    """A hard link looks like a file of its own, and would keep what the ledger held before."""
    path, other = tmp_path / "stock.toml", tmp_path / "other"
    add(path, "amber", 1)
    os.link(tmp_path / second, other)
    before = {each.name: each.read_bytes() for each in tmp_path.iterdir()}
    for change in (
        lambda: add(path, "blue", 1),
        lambda: undo_last(path, DAY),
        lambda: rebuild_from_journal(path),
        lambda: restart_journal(path, DAY),
    ):
        with pytest.raises(CannotDoError, match=f"{second}: has another name"):
            change()
    assert {each.name: each.read_bytes() for each in tmp_path.iterdir()} == before
    assert len(read_ledger(path).pieces) == 1  # it can be read as ever
    other.unlink()
    change_ledger(path, "add", "nothing", DAY, lambda ledger, _: ledger)
