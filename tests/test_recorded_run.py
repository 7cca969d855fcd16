"""A run is named by its folder or its record, in the same way in every command."""

from pathlib import Path

import pytest
from click.testing import CliRunner

from jobprep.cli import main
from jobprep.runs.recorded_run import record_path


def test_a_folder_and_its_record_name_the_same_run(tmp_path: Path) -> None:
    run = tmp_path / "run"
    run.mkdir()
    (run / "run.toml").touch()
    assert record_path(run) == record_path(run / "run.toml") == run / "run.toml"


def test_a_folder_may_be_called_like_a_file_and_a_record_anything(tmp_path: Path) -> None:
    (tmp_path / "june.toml").mkdir()
    (tmp_path / "record").touch()
    assert record_path(tmp_path / "june.toml") == tmp_path / "june.toml" / "run.toml"
    assert record_path(tmp_path / "record") == tmp_path / "record"


@pytest.mark.parametrize("command", [("recut", "--out", "new"), ("stock", "book")])
def test_every_command_looks_for_a_missing_run_in_the_same_place(
    command: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for named, file in (("gone", "gone/run.toml"), ("gone.toml", "gone.toml")):
        told = CliRunner().invoke(main, [*command, named])
        assert (told.exit_code, told.stderr) == (2, f"{file}: there is no such file\n")
