"""What killed programs left is told from what others write, and from what is not ours."""

import fcntl
import os
from pathlib import Path

from jobprep.files.unfinished import clear_away, held, held_part, hidden_beside


def folder_with(path: Path, name: str = "amber.svg") -> Path:
    path.mkdir()
    (path / name).write_text("half")
    return path


def is_whole(path: Path) -> bool:
    return (path / "run.toml").exists()


def test_what_was_left_beside_a_target_is_removed(tmp_path: Path) -> None:
    target = tmp_path / "run"
    folder_with(hidden_beside(target))
    hidden_beside(target).write_text("half")
    clear_away(target)
    assert list(tmp_path.iterdir()) == []


def test_other_names_are_let_be(tmp_path: Path) -> None:
    names = [".run2.0123abcd.part", ".run.0123abcd.partly", ".run.0123.part", "run.0123abcd.part"]
    for name in names:
        folder_with(tmp_path / name)
    (tmp_path / ".run.0123abcd.part").symlink_to(tmp_path / names[0])
    before = sorted(tmp_path.rglob("*"))
    clear_away(tmp_path / "run")
    assert sorted(tmp_path.rglob("*")) == before


def test_a_name_is_no_pattern(tmp_path: Path) -> None:
    folder_with(tmp_path / ".run1.0123abcd.part")
    clear_away(tmp_path / "run.")
    clear_away(tmp_path / "*")
    assert (tmp_path / ".run1.0123abcd.part").exists()


def test_what_is_held_is_let_be(tmp_path: Path) -> None:
    target = tmp_path / "run"
    with held_part(target, Path.mkdir) as part:
        clear_away(target)
        assert part.exists()
    assert not part.exists()


def test_an_earlier_run_that_stepped_aside_is_put_back(tmp_path: Path) -> None:
    target = tmp_path / "run"
    folder_with(hidden_beside(target, "old"), "run.toml")
    clear_away(target, is_whole)
    assert [path.name for path in tmp_path.iterdir()] == ["run"]
    assert (target / "run.toml").read_text() == "half"


def test_an_earlier_run_whose_place_is_taken_goes(tmp_path: Path) -> None:
    target = folder_with(tmp_path / "run", "new.svg")
    folder_with(hidden_beside(target, "old"), "run.toml")
    clear_away(target, is_whole)
    assert [path.name for path in tmp_path.rglob("*")] == ["run", "new.svg"]


def test_a_part_that_vanishes_before_it_is_held_is_begun_again(tmp_path: Path) -> None:
    begun: list[Path] = []

    def begin(part: Path) -> None:
        part.mkdir()
        begun.append(part)
        if len(begun) == 1:  # another has cleared it away at once
            part.rmdir()

    with held_part(tmp_path / "run", begin) as part:
        assert part == begun[1]
        assert part.is_dir()


def test_a_lock_ends_with_its_holder(tmp_path: Path) -> None:
    path = folder_with(tmp_path / "run")
    with held(path) as is_there:
        assert is_there
    descriptor = os.open(path, os.O_RDONLY)
    fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    os.close(descriptor)
