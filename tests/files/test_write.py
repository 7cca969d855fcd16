"""Files and run folders are written whole or not at all, and never over what is not ours."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
import tomllib
from hashlib import sha256
from pathlib import Path

import pytest

from jobprep.errors import CannotDoError, InputError
from jobprep.files import write
from jobprep.files.write import write_bytes_atomic, write_text_atomic
from jobprep.runs import outputs
from jobprep.runs.folder import output_folder
from jobprep.toml_values import toml_values

RECORD = 'format = 1\nversion = "0"\n'


def make_run(path: Path, drawing: str = "<svg/>") -> None:
    with output_folder(path) as folder:
        write_text_atomic(folder / "amber.svg", drawing)
        write_bytes_atomic(folder / "amber.pdf", b"%PDF")
        write_text_atomic(folder / "run.toml", RECORD)


def tree(folder: Path) -> dict[str, bytes]:
    return {
        entry.relative_to(folder).as_posix(): entry.read_bytes()
        for entry in sorted(folder.rglob("*"))
        if entry.is_file()
    }


def refusal(path: Path) -> str:
    before = tree(path.parent)
    with pytest.raises(InputError) as caught:
        make_run(path)
    assert tree(path.parent) == before
    return str(caught.value).removeprefix(f"{path}: ")


def test_folder_appears_when_all_is_written(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "run"
    with output_folder(path) as folder:
        assert not path.exists()
        write_text_atomic(folder / "run.toml", RECORD)
    assert [entry.name for entry in path.parent.iterdir()] == ["run"]
    assert list(tree(path)) == ["run.toml"]


def test_record_lists_what_was_written(tmp_path: Path) -> None:
    make_run(tmp_path / "run")
    outputs = tomllib.loads((tmp_path / "run" / "run.toml").read_text("utf-8"))["outputs"]
    assert outputs == [
        {"file": "amber.pdf", "sha256": sha256(b"%PDF").hexdigest()},
        {"file": "amber.svg", "sha256": sha256(b"<svg/>").hexdigest()},
        {"file": "run.toml", "sha256": sha256(RECORD.rstrip().encode()).hexdigest()},
    ]


def test_same_run_gives_same_bytes(tmp_path: Path) -> None:
    make_run(tmp_path / "one")
    make_run(tmp_path / "two")
    assert tree(tmp_path / "one") == tree(tmp_path / "two")


def test_earlier_run_is_replaced_whole(tmp_path: Path) -> None:
    path = tmp_path / "run"
    with output_folder(path) as folder:
        write_text_atomic(folder / "old.svg", "old")
        write_text_atomic(folder / "run.toml", RECORD)
    make_run(path)
    assert list(tree(path)) == ["amber.pdf", "amber.svg", "run.toml"]
    assert [entry.name for entry in tmp_path.iterdir()] == ["run"]


def test_empty_folder_is_used(tmp_path: Path) -> None:
    (tmp_path / "run").mkdir()
    make_run(tmp_path / "run")
    assert list(tree(tmp_path / "run")) == ["amber.pdf", "amber.svg", "run.toml"]


@pytest.mark.parametrize("stop", [KeyboardInterrupt(), ValueError(), InputError([])])
def test_failure_in_the_middle_leaves_nothing_behind(stop: BaseException, tmp_path: Path) -> None:
    with pytest.raises(type(stop)):
        with output_folder(tmp_path / "new" / "run") as folder:
            write_text_atomic(folder / "amber.svg", "half")
            raise stop
    assert list(tmp_path.iterdir()) == []


def test_failure_in_the_middle_keeps_the_earlier_run(tmp_path: Path) -> None:
    path = tmp_path / "run"
    make_run(path, "<old/>")
    before = tree(tmp_path)
    with pytest.raises(KeyboardInterrupt), output_folder(path) as folder:
        write_text_atomic(folder / "amber.svg", "half")
        raise KeyboardInterrupt
    assert tree(tmp_path) == before


def test_failure_while_moving_brings_the_earlier_run_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "run"
    make_run(path, "<old/>")
    before = tree(tmp_path)
    rename = Path.rename

    def failing(self: Path, target: Path) -> Path:
        if target == path and (self / "amber.svg").read_text() == "<svg/>":
            raise KeyboardInterrupt
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", failing)
    with pytest.raises(KeyboardInterrupt):
        make_run(path)
    assert tree(tmp_path) == before


def test_file_of_the_user_is_never_overwritten(tmp_path: Path) -> None:
    path = tmp_path / "run"
    make_run(path)
    (path / "notes.txt").write_text("mine")
    assert refusal(path) == (
        "it holds notes.txt, which is not of the earlier run; nothing was changed: name another"
        " folder"
    )


def test_file_in_a_subfolder_is_seen(tmp_path: Path) -> None:
    path = tmp_path / "run"
    make_run(path)
    (path / "photos").mkdir()
    (path / "photos" / "a.jpg").write_text("mine")
    assert "it holds photos/a.jpg" in refusal(path)


def test_drawing_that_the_user_changed_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "run"
    make_run(path)
    (path / "amber.svg").write_text("<svg>mine</svg>")
    assert refusal(path) == (
        "its amber.svg was changed after the earlier run; nothing was changed: name another folder"
    )


def test_record_that_the_user_changed_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "run"
    make_run(path)
    text = (path / "run.toml").read_text("utf-8")
    (path / "run.toml").write_text(text.replace("version", "# mine\nversion"))
    assert "its run.toml does not list what the run wrote" in refusal(path)


def test_folder_without_a_record_is_not_ours(tmp_path: Path) -> None:
    path = tmp_path / "run"
    path.mkdir()
    (path / "thesis.tex").write_text("mine")
    assert "it holds thesis.tex but no run.toml of an earlier run" in refusal(path)


def test_record_of_something_else_is_not_ours(tmp_path: Path) -> None:
    path = tmp_path / "run"
    path.mkdir()
    (path / "run.toml").write_text("outputs = 3")
    assert "its run.toml does not list what the run wrote" in refusal(path)


def test_record_with_keys_nested_too_deeply_is_not_parsed(tmp_path: Path) -> None:
    """A parser takes minutes and gigabytes for thousands of keys in a row."""
    make_run(tmp_path / "run")
    record = tmp_path / "run" / "run.toml"
    write_text_atomic(record, record.read_text("utf-8") + "a" + ".a" * 50 + " = 1\n")
    told = "its run.toml does not list what the run wrote; nothing was changed: name another folder"
    assert refusal(tmp_path / "run") == told


def test_of_a_long_record_only_the_list_is_parsed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "run"
    stock = "".join(f"\n[[stock]]\nlabel = {n}\n" for n in range(3000))
    with output_folder(path) as folder:
        write_text_atomic(folder / "run.toml", RECORD + stock)
    parsed = 0

    def counted(record: Path, text: str) -> dict[str, object]:
        nonlocal parsed
        parsed += len(text)
        return toml_values(record, text)

    monkeypatch.setattr(outputs, "toml_values", counted)
    make_run(path)
    assert 0 < parsed < 1000
    assert "amber.svg" in tree(path)


def test_link_in_place_of_a_drawing_is_not_ours(tmp_path: Path) -> None:
    path = tmp_path / "run"
    make_run(path)
    (tmp_path / "amber.svg").write_text("<svg/>")
    (path / "amber.svg").unlink()
    (path / "amber.svg").symlink_to(tmp_path / "amber.svg")
    assert "it holds amber.svg, which is not of the earlier run" in refusal(path)


def test_file_that_appears_meanwhile_is_kept(tmp_path: Path) -> None:
    path = tmp_path / "run"
    make_run(path)
    with pytest.raises(InputError, match=r"it holds notes\.txt"), output_folder(path) as folder:
        write_text_atomic(folder / "run.toml", RECORD)
        (path / "notes.txt").write_text("mine")
    assert sorted(tree(tmp_path)) == [
        "run/amber.pdf", "run/amber.svg", "run/notes.txt", "run/run.toml"
    ]  # fmt: skip


def test_file_in_place_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "run").write_text("mine")
    assert refusal(tmp_path / "run") == "is a file; name a folder for the run"


def test_folder_we_are_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(InputError, match="is the folder you are in, or one above it"):
        make_run(Path())


def test_folder_under_a_file(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("mine")
    with pytest.raises(CannotDoError, match="cannot be written: Not a directory"):
        make_run(tmp_path / "file" / "run")
    assert tree(tmp_path) == {"file": b"mine"}


def test_link_to_a_run_stays_a_link(tmp_path: Path) -> None:
    make_run(tmp_path / "monday", "<old/>")
    (tmp_path / "latest").symlink_to(tmp_path / "monday")
    make_run(tmp_path / "latest")
    assert (tmp_path / "latest").is_symlink()
    assert (tmp_path / "monday" / "amber.svg").read_text() == "<svg/>"


def test_two_processes_write_a_run_through_a_link_and_its_folder(tmp_path: Path) -> None:
    """Each run is whole, or refused in a sentence because the other was just put in place."""
    real, link, go = tmp_path / "monday", tmp_path / "latest", tmp_path / "go"
    make_run(real)
    link.symlink_to(real)
    code = (
        "import pathlib, sys, time\n"
        "from files.test_write import make_run\n"
        "from jobprep.errors import JobprepError\n"
        "path, go = map(pathlib.Path, sys.argv[1:3])\n"
        "while not go.exists(): time.sleep(0.001)\n"
        "for count in range(30):\n"
        "    try: make_run(path, f'<svg id=\"{sys.argv[3]}{count}\"/>')\n"
        "    except JobprepError as error: print(error)\n"
    )
    children = [
        subprocess.Popen(
            [sys.executable, "-c", code, str(path), str(go), name],
            cwd=Path(__file__).parents[1],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for path, name in ((real, "real"), (link, "link"))
    ]
    go.touch()
    for child in children:
        said, errors = child.communicate()
        assert errors == ""
        assert all(line.startswith((str(real), str(link))) for line in said.splitlines())
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["go", "latest", "monday"]
    assert link.is_symlink()
    make_run(link)  # it may be replaced, so it is as its record says
    assert (real / "amber.svg").read_text() == "<svg/>"


def test_link_to_a_file_stays_a_link(tmp_path: Path) -> None:
    (tmp_path / "shelf").mkdir()
    real, link = tmp_path / "shelf" / "window.toml", tmp_path / "window.toml"
    real.write_text("old")
    link.symlink_to(real)
    write_text_atomic(link, "new")
    assert link.is_symlink()
    assert real.read_text() == "new"
    assert [entry.name for entry in real.parent.iterdir()] == ["window.toml"]


@pytest.mark.parametrize("through", ["window.toml", "link.toml"])
def test_second_name_of_a_file_is_not_parted_from_it(tmp_path: Path, through: str) -> None:
    """A new file under one name would leave the old one under the other, and nobody would know."""
    path, other = tmp_path / "window.toml", tmp_path / "second.toml"
    path.write_text("old")
    other.hardlink_to(path)
    (tmp_path / "link.toml").symlink_to(path)
    with pytest.raises(CannotDoError, match=f"{through}: has another name on this disk"):
        write_text_atomic(tmp_path / through, "new")
    assert tree(tmp_path) == dict.fromkeys(["link.toml", "second.toml", "window.toml"], b"old")
    other.unlink()
    write_text_atomic(path, "new")
    assert path.read_text() == "new"


def test_file_is_replaced_and_keeps_its_mode(tmp_path: Path) -> None:
    path = tmp_path / "stock.toml"
    path.write_text("old")
    path.chmod(0o640)
    write_text_atomic(path, "new é\n")
    assert path.read_bytes() == "new é\n".encode()
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert [entry.name for entry in tmp_path.iterdir()] == ["stock.toml"]


def test_failed_write_keeps_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "stock.toml"
    path.write_text("old")

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(write.os, "fsync", full)
    with pytest.raises(CannotDoError, match="cannot be written: No space left on device"):
        write_text_atomic(path, "new")
    assert tree(tmp_path) == {"stock.toml": b"old"}


def test_folder_in_place_of_a_file(tmp_path: Path) -> None:
    with pytest.raises(CannotDoError, match="cannot be written: Is a directory"):
        write_text_atomic(tmp_path, "new")
    assert list(tmp_path.iterdir()) == []
    assert os.listdir(tmp_path.parent).count(tmp_path.name) == 1
