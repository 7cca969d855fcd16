"""Random jobs, end to end: they plan, their nests are proven, their drawings cut right."""

from pathlib import Path

import pytest
from random_jobs import write_random_job
from runs import assert_run_cuts_right

from jobprep import pipeline
from jobprep.outputs import run_files


def plan_and_cut(folder: Path, seed: int) -> None:
    planned = pipeline.plan(pipeline.check(write_random_job(folder, seed)))
    asked = sum(part.quantity for part in planned.parts)
    placed = sum(len(film_plan.nest.placements) for film_plan in planned.films)
    assert placed == asked
    assert_run_cuts_right(planned, run_files(planned, pipeline.summary_of(planned)))


@pytest.mark.parametrize("seed", range(5))
def test_random_job_cuts_to_its_nominal_parts(tmp_path: Path, seed: int) -> None:
    plan_and_cut(tmp_path, seed)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(5, 50))
def test_more_random_jobs_cut_to_their_nominal_parts(tmp_path: Path, seed: int) -> None:
    plan_and_cut(tmp_path, seed)
