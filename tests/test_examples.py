"""Every folder in examples/ does what it says."""

import functools
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from click.testing import CliRunner
from runs import assert_run_cuts_right
from second.asked import asked_of
from second_cut import second_cut
from virtual_cut import read_cut_drawing, shape_counts

from jobprep import pipeline
from jobprep.cli import main
from jobprep.outputs import run_files
from jobprep.planning.plan import Plan

EXAMPLES = Path(__file__).parent.parent / "examples"
JOBS = sorted(path for path in EXAMPLES.glob("*/job.toml") if "mistakes" not in path.parent.name)
LONG = "03-tide-strobe"
"""Its rings of six hundred slots are cut among the slow tests."""


@functools.cache
def planned(job: Path) -> tuple[Plan, dict[str, str]]:
    """Plan an example, by evaluations instead of by its clock, and return the files of its run."""
    checked = pipeline.check(job)
    nesting = replace(checked.job.nesting, evaluations=300)
    plan = pipeline.plan(replace(checked, job=replace(checked.job, nesting=nesting)))
    return plan, run_files(plan, pipeline.summary_of(plan))


@pytest.mark.parametrize(
    "job",
    [
        pytest.param(job, id=job.parent.name, marks=[pytest.mark.slow] * (job.parent.name == LONG))
        for job in JOBS
    ],
)
def test_example_plans_and_cuts_right(job: Path) -> None:
    plan, files = planned(job)
    assert_run_cuts_right(plan, files)
    second_cut(asked_of(job), files)


def test_sectors_are_cut_with_two_arcs_two_sides_and_four_round_corners() -> None:
    _, files = planned(EXAMPLES / "01-aurora-wheel" / "job.toml")
    for film in ("amber", "green", "violet", "black"):
        paths = [
            path
            for path in read_cut_drawing(files[f"{film}.svg"]).paths
            if path.operation == "cut-outer"
        ]
        assert len(paths) == 4
        for path in paths:
            assert shape_counts(path) == (2 + 4, 2), path.data


@pytest.mark.parametrize("example", sorted(EXAMPLES.glob("0*")), ids=lambda path: path.name)
def test_every_example_says_that_it_is_invented(example: Path) -> None:
    """In its own page, and in the job that people copy."""
    for page in (example / "README.md", example / "job.toml"):
        assert re.search("invented|computed", page.read_text("utf-8")), page


def test_mistakes_are_all_named_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(EXAMPLES / "04-mistakes")
    result = CliRunner().invoke(main, ["check", "job.toml"])
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr == Path("expected/messages.txt").read_text(encoding="utf-8")


def test_storm_shutters_fit_one_sheet_where_squares_around_them_would_not() -> None:
    """Twelve discs of 160 mm: a 508 x 610 sheet holds 3 x 3 squares of that size."""
    _, files = planned(EXAMPLES / "02-storm-shutter" / "job.toml")
    (film,) = json.loads(files["summary.json"])["films"]
    assert len(film["sheets"]) == 1
    assert film["parts"] == 12
    margin, kerf, web, side = 5.0, film["kerf_mm"], 1.5, 160.0
    squares = [
        int((extent - 2 * (margin + kerf) + 2 * kerf + web) // (side + 2 * kerf + web))
        for extent in (film["sheets"][0]["width_mm"], film["sheets"][0]["height_mm"])
    ]
    assert squares == [3, 3]
