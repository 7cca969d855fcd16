"""Commands are alike: values are named in words, sizes and next commands written one way."""

import json
import os
import shlex
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from commands import done, run

from jobprep.cli import main
from jobprep.cli.options import pasteable


def all_commands(at: click.Command = main, name: str = "jobprep") -> Iterator[click.Context]:
    """Yield every command with a context in which it shows its help."""
    context = click.Context(at, info_name=name)
    yield context
    if isinstance(at, click.Group):
        for inner in at.list_commands(context):
            command = at.get_command(context, inner)
            assert command is not None
            yield from all_commands(command, inner)


def test_no_help_names_a_value_by_its_type() -> None:
    shown = [context.command.get_help(context) for context in all_commands()]
    assert len(shown) > 25
    for text in shown:
        for kind in ("INTEGER", "FLOAT", "TEXT", "RANGE", "BOOLEAN"):
            assert kind not in text, text


def test_a_size_is_written_width_x_height(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    done("stock", "add", "amber", "--leftover", "--size", "330x115.5")
    assert "330 × 115.5 " in done("stock", "list").output
    for wrong in ("330", "330,115", "330x115x2", "axb", ""):
        refused = run("stock", "add", "amber", "--size", wrong)
        assert refused.exit_code == 2
        assert f'"{wrong}" is not width x height in mm, such as 330x115' in refused.output


def test_a_plan_without_a_folder_is_written_beside_its_job(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done("new", "my lamp")
    starter = (tmp_path / "my lamp" / "job.toml").read_text("utf-8")
    quick = starter.replace("seconds = 5 ", "evaluations = 200 #")
    for name in ("job.toml", "spring.toml"):
        (tmp_path / "my lamp" / name).write_text(quick, "utf-8")
    said = done("plan", "my lamp/job.toml").output
    assert (tmp_path / "my lamp" / "run" / "run.toml").exists()
    assert "Written to my lamp/run\n" in said.replace(os.sep, "/")
    shown = shlex.split(said.splitlines()[-1].removeprefix("Next: "))
    assert shown == ["jobprep", "sheet", str(Path("my lamp/run")), "--open"]
    done("plan", "my lamp/spring.toml")
    assert (tmp_path / "my lamp" / "spring-run" / "run.toml").exists()


@pytest.mark.skipif(os.name == "nt", reason="another shell quotes in another way")
def test_next_commands_can_be_pasted(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    said = done("new", "it's my $lamp").output
    (line,) = (line for line in said.splitlines() if line.startswith("Next: "))
    words = shlex.split(line.removeprefix("Next: "))
    assert words[:2] == ["jobprep", "plan"]
    assert Path(words[2]).exists()
    assert shlex.split(pasteable("sheet", Path("a b"))) == ["jobprep", "sheet", "a b"]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_shell_can_complete_commands(shell: str) -> None:
    """As the manual says: what the shell reads, and what it is answered while somebody types."""
    jobprep = [sys.executable, "-m", "jobprep"]
    asked = os.environ | {"_JOBPREP_COMPLETE": f"{shell}_source"}
    source = subprocess.run(jobprep, env=asked, capture_output=True, text=True, check=True)
    assert "_JOBPREP_COMPLETE=" in source.stdout
    typed = {"COMP_WORDS": "jobprep st", "COMP_CWORD": "1" if shell != "fish" else "st"}
    asked = os.environ | {"_JOBPREP_COMPLETE": f"{shell}_complete"} | typed
    answer = subprocess.run(jobprep, env=asked, capture_output=True, text=True, check=True)
    assert "stock" in answer.stdout
    assert "recut" not in answer.stdout


def test_the_shelf_shows_remarks_and_its_history(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    done("stock", "add", "amber", "--count", 2, "--date", "2026-11-30")
    assert "Remark" not in done("stock", "list").output
    done("stock", "add", "red", "--remark", "a scratch", "--date", "2026-11-30")
    listed = done("stock", "list").output
    assert "Remark" in listed
    assert "a scratch" in listed
    done("stock", "undo", "--date", "2026-12-01")
    told = [" ".join(line.split()) for line in done("stock", "history").output.splitlines()]
    assert "1 2026-11-30 added amber 2 × amber-1" in told
    assert "2 2026-11-30 added red red-1" in told
    assert "3 2026-12-01 added red (takes back 2) red-1" in told
    entries = json.loads(done("stock", "history", "--json").output)
    assert [entry["undoes"] for entry in entries] == [None, None, 2]
    assert entries[2]["off_the_shelf"] == {"red-1": 1}
    assert entries[2]["onto_the_shelf"] == {}
