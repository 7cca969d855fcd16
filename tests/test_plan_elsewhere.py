"""A job planned in other processes is the one planned here, proven here, whatever they do."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import jobprep
from jobprep.nesting.check import NestError
from jobprep.nesting.nest import Nest
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
        except BrokenExecutor as error:
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


def test_a_film_whose_worker_is_lost_is_nested_here(checked: Checked) -> None:
    def lost(fn: Callable[..., Nest], task: Any) -> Nest:
        raise BrokenExecutor("gone")

    assert jobprep.plan(checked, executor=Instead(lost)) == jobprep.plan(checked)


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
