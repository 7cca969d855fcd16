"""A job planned in other processes is the one planned here, proven here, whatever they do."""

from __future__ import annotations

import multiprocessing
import os
import pickle
import re
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future, ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from starter import starter

import jobprep
from jobprep.errors import InputError, JobprepError, Source, StockShortError
from jobprep.nesting.check import NestError
from jobprep.nesting.nest import Nest
from jobprep.planning import elsewhere
from jobprep.planning.plan import Checked, Plan

JOB = Path(__file__).parents[1] / "examples" / "01-aurora-wheel" / "job.toml"


@pytest.fixture(scope="module")
def checked() -> Checked:
    return with_evaluations(2_000)


def with_evaluations(count: int) -> Checked:
    found = jobprep.check(JOB)
    nesting = replace(found.job.nesting, evaluations=count)
    return replace(found, job=replace(found.job, nesting=nesting))


@pytest.fixture
def pool() -> Iterator[ProcessPoolExecutor]:
    """Give one worker that shares nothing with this process, as on another machine."""
    with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as executor:
        yield executor


def nests(plan: Plan) -> list[Nest]:
    return [film.nest for film in plan.films]


class Instead(Executor):
    """Does something else than it is asked to."""

    def __init__(self, does: Callable[..., Nest]) -> None:
        self.does = does
        self.n_asked = 0

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        self.n_asked += 1
        future: Future[Any] = Future()
        try:
            future.set_result(self.does(fn, *args, **kwargs))
        except Exception as error:
            future.set_exception(error)
        return future


def test_another_process_plans_the_same(checked: Checked, pool: ProcessPoolExecutor) -> None:
    here = jobprep.plan(checked)
    there = jobprep.plan(checked, executor=pool)
    assert len(here.films) > 1
    assert nests(there) == nests(here)
    assert there == here


def test_each_film_is_sent_once(checked: Checked) -> None:
    executor = Instead(lambda fn, task: fn(task))
    assert len(jobprep.plan(checked, executor=executor).films) == executor.n_asked


def test_a_nest_from_elsewhere_is_proven(checked: Checked) -> None:
    """All parts lie on top of each other."""

    def piled(fn: Callable[..., Nest], task: Any) -> Nest:
        nest = fn(task)
        return replace(nest, placements=tuple(p._replace(x=99.0, y=99.0) for p in nest.placements))

    with pytest.raises(NestError, match="0 mm apart"):
        jobprep.plan(checked, executor=Instead(piled))


@pytest.mark.slow
@pytest.mark.parametrize("error", [BrokenExecutor, CancelledError, RuntimeError, TimeoutError])
def test_a_film_whose_worker_is_lost_is_nested_here(
    error: type[Exception], checked: Checked
) -> None:
    """Each kind of executor has its own word for that."""

    def lost(fn: Callable[..., Nest], task: Any) -> Nest:
        raise error("gone")

    assert jobprep.plan(checked, executor=Instead(lost)) == jobprep.plan(checked)


def test_what_goes_wrong_in_a_worker_goes_wrong_here(
    checked: Checked, monkeypatch: pytest.MonkeyPatch
) -> None:
    def wrong(task: Any) -> Nest:
        raise NestError(["two parts overlap"])

    monkeypatch.setattr(elsewhere, "nest_alone", wrong)
    with pytest.raises(NestError, match="two parts overlap"):
        jobprep.plan(checked, executor=Instead(lambda fn, task: fn(task)))


def test_a_worker_of_another_version_is_named(checked: Checked) -> None:
    def other(fn: Callable[..., Nest], task: Any) -> Nest:
        raise ModuleNotFoundError("No module named 'jobprep'")

    with pytest.raises(ModuleNotFoundError, match="jobprep"):
        jobprep.plan(checked, executor=Instead(other))


def test_an_executor_that_is_lost_takes_nothing_along(checked: Checked) -> None:
    class Lost(Instead):
        def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
            raise BrokenExecutor("gone")

    assert jobprep.plan(checked, executor=Lost(lambda: None)) == jobprep.plan(checked)


def test_who_does_not_want_to_wait_gets_filled_sheets(checked: Checked) -> None:
    """The workers never answer."""

    class Silent(Instead):
        def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
            return Future()

    plan = jobprep.plan(checked, executor=Silent(lambda: None), is_over=lambda: True)
    assert plan.is_complete
    assert all(film.nest.is_interrupted for film in plan.films)


@pytest.mark.slow
@pytest.mark.usefixtures("all_kicks")  # as there
def test_jobs_of_a_batch_are_planned_in_other_processes(
    checked: Checked, pool: ProcessPoolExecutor
) -> None:
    """All that a plan needs and all that comes of it travels, of each example."""
    for job in sorted(JOB.parents[1].glob("*/job.toml")):
        if "04-mistakes" not in job.parts:
            found = jobprep.check(job)
            assert pickle.loads(pickle.dumps(found)) == found
    plan = jobprep.plan(checked)
    assert pool.submit(jobprep.plan, checked).result() == plan
    files = jobprep.run_files(plan, jobprep.summary_of(plan))
    assert jobprep.run_files(pickle.loads(pickle.dumps(plan)), jobprep.summary_of(plan)) == files


@pytest.mark.parametrize(
    "error",
    [
        StockShortError("amber: too little"),
        InputError([Source("job.toml").error("web", "too wide")] * 2),
        NestError(["two parts overlap"]),
    ],
)
def test_an_error_comes_back_as_it_was(error: JobprepError) -> None:
    """One that another process could not read broke the pool of all."""
    back = pickle.loads(pickle.dumps(error))
    assert type(back) is type(error)
    assert (str(back), vars(back)) == (str(error), vars(error))


@pytest.mark.slow
def test_the_manual_plans_a_batch(tmp_path: Path) -> None:
    page = (JOB.parents[1] / "manual" / "4-plan.md").read_text(encoding="utf-8")
    batch = re.findall(r"```python\n(.*?)```", page, re.DOTALL)[1]
    (tmp_path / "batch.py").write_text(batch, encoding="utf-8")
    starter(tmp_path / "one")
    starter(tmp_path / "two")
    starter(tmp_path / "short", **{"copies = 2": "copies = 500"})
    starter(tmp_path / "wrong", **{"copies = 2": "copies = 0"})
    done = subprocess.run(
        [sys.executable, "batch.py"], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    one, short, two, wrong = done.stdout.splitlines()
    assert short.startswith("short/job.toml: amber: ")
    assert wrong.startswith("wrong/job.toml: wrong/job.toml:10: disc[1].copies: ")
    assert one.partition(": ")[2] == two.partition(": ")[2]
    assert re.fullmatch(r"one/job.toml: \d+ parts, \d+% of the film used", one)


def doomed(fn: Callable[..., Nest], task: Any) -> Nest:
    """Search, and be killed while doing so."""
    threading.Timer(1.0, os.kill, (os.getpid(), signal.SIGKILL)).start()
    while True:
        fn(task)


@pytest.mark.slow
def test_a_worker_killed_in_the_middle_of_its_search_costs_only_time(
    checked: Checked, pool: ProcessPoolExecutor
) -> None:
    class Doomed(Instead):
        def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
            self.n_asked += 1
            return pool.submit(doomed, fn, *args)

    executor = Doomed(doomed)
    assert jobprep.plan(checked, executor=executor) == jobprep.plan(checked)
    assert executor.n_asked > 1
