"""What an interrupted command says it has written."""

from __future__ import annotations

from pathlib import Path

import pytest
from click import Context
from commands import done, run
from starter import starter

from jobprep.cli import main
from jobprep.files import placed, write
from jobprep.runs import folder

INTERRUPTED = 130


def interrupt(*_: object, **__: object) -> None:
    raise KeyboardInterrupt


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    starter(tmp_path / "lamp")
    return tmp_path


def test_before_anything_is_in_place(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(folder, "_put_in_place", interrupt)
    result = run("plan", "lamp/job.toml", "--out", "run")
    assert (result.exit_code, result.stderr) == (
        INTERRUPTED,
        "Interrupted; nothing was written.\n",
    )
    assert not (shop / "run").exists()


def test_while_the_arguments_are_read(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for command in (main, main.get_command(Context(main), "plan")):
        with monkeypatch.context() as patched:
            patched.setattr(command, "parse_args", interrupt)
            result = run("plan", "lamp/job.toml", "--out", "run")
        assert (result.exit_code, result.stdout, result.stderr) == (
            INTERRUPTED,
            "",
            "Interrupted; nothing was written.\n",
        )


def test_while_the_tables_are_printed(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("jobprep.cli.tables.print_summary", interrupt)
    result = run("plan", "lamp/job.toml", "--out", "run")
    assert (result.exit_code, result.stderr) == (INTERRUPTED, "Interrupted; run was written.\n")
    assert (shop / "run" / "run.toml").is_file()


def test_after_two_of_three_files(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write_bytes, written = write.write_bytes_atomic, []

    def third(path: Path, data: bytes) -> None:
        if len(written) == 2:
            raise KeyboardInterrupt
        written.append(path)
        write_bytes(path, data)

    monkeypatch.setattr(write, "write_bytes_atomic", third)
    result = run("print", "lamp/job.toml", "--out", "printed")
    assert result.exit_code == INTERRUPTED
    one, two = written
    assert result.stderr == f"Interrupted; {one} and {two} were written.\n"
    assert sorted(Path("printed").iterdir()) == sorted(written)


def test_what_was_written_before_is_not_told_again(shop: Path) -> None:
    done("plan", "lamp/job.toml", "--out", "run")
    assert placed.placed() == [Path("run")]
    done("check", "lamp/job.toml")
    assert placed.placed() == []


def test_what_was_taken_away_again_is_not_told(tmp_path: Path) -> None:
    placed.forget()
    write.write_text_atomic(tmp_path / "one", "1")
    write.write_text_atomic(tmp_path / "two", "2")
    (tmp_path / "one").unlink()
    assert placed.placed() == [tmp_path / "two"]


def test_while_the_disk_is_waited_for(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    done("plan", "lamp/job.toml", "--out", "run")
    monkeypatch.setattr("jobprep.files.ledger.journal.os.fsync", interrupt)
    result = run("stock", "book", "run", "--stock", "stock.toml")
    assert result.exit_code == INTERRUPTED
    assert result.stderr == "Interrupted; stock.toml.journal was written.\n"
    assert (shop / "stock.toml.journal").is_file()
