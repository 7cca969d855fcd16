"""Random jobs, end to end; and those that once failed, made small, in ``night_cases/``."""

import shutil
from pathlib import Path

import pytest
from case_checks import check_case
from case_files import write_case
from random_jobs import random_case

CASES = sorted(path for path in (Path(__file__).parent / "night_cases").iterdir() if path.is_dir())


@pytest.mark.parametrize("seed", range(5))
def test_random_job_is_right_in_every_way(tmp_path: Path, seed: int) -> None:
    write_case(random_case(seed, most_parts=20), tmp_path)
    check_case(tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(5, 50))
def test_more_random_jobs_are_right_in_every_way(tmp_path: Path, seed: int) -> None:
    write_case(random_case(seed, most_parts=20), tmp_path)
    check_case(tmp_path)


@pytest.mark.parametrize("case", CASES, ids=lambda path: path.name)
def test_case_that_once_failed(tmp_path: Path, case: Path) -> None:
    folder = tmp_path / "case"
    shutil.copytree(case, folder)
    check_case(folder)
