"""The record of the lanterns, planned once, and a folder for each test to edit it in."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from case_files import Case, Tables, write_case
from commands import done
from recorded.lanterns import JOB, PLACES, WHEEL, text_of


@pytest.fixture(scope="session")
def values(tmp_path_factory: pytest.TempPathFactory) -> Tables:
    folder = tmp_path_factory.mktemp("lanterns")
    case: Case = {"job.toml": JOB, "wheel.toml": WHEEL}
    done("plan", write_case(case, folder), "--out", folder / "run")
    planned = tomllib.loads((folder / "run" / "run.toml").read_text())
    keys = ("part", "copy", "sheet", "x", "y")
    planned["placements"] = [dict(zip(keys, each, strict=True), angle=0.0) for each in PLACES]
    return planned


@pytest.fixture(scope="session")
def first() -> Tables:
    """Return the same record in format 1."""
    return tomllib.loads(Path(__file__).with_name("first.toml").read_text(encoding="utf-8"))


@pytest.fixture
def shop(values: Tables, tmp_path: Path) -> Path:
    """Return a folder with a job and, in ``run``, its record as if it had been written so."""
    case: Case = {"job.toml": JOB, "wheel.toml": WHEEL}
    write_case(case, tmp_path)
    (tmp_path / "run").mkdir()
    (tmp_path / "run" / "run.toml").write_text(text_of(values))
    return tmp_path
