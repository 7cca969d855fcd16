"""A workshop for each test of faults."""

import shutil
from pathlib import Path

import pytest
from faults.warm_process import Warm
from faults.workshop import PLAN, furnish


@pytest.fixture(scope="session")
def furnished(warm: Warm, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a workshop with a run and a ledger, to be copied."""
    folder = tmp_path_factory.mktemp("furnished")
    furnish(folder)
    for film in ("amber", "green"):
        size = ("--size", "130x100", "--count", 2, "--date", "2026-11-24")
        ended = warm.run(folder, "stock", "add", film, *size)
        assert ended.code == 0, ended.err
    ended = warm.run(folder, *PLAN)
    assert ended.code == 0, ended.err
    return folder


@pytest.fixture
def shop(furnished: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(furnished, tmp_path / "shop"))
