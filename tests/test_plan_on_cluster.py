"""Films and jobs planned by a cluster: a scheduler and its workers, each a process of its own."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import jobprep
from jobprep.nesting.nest import Nest
from jobprep.planning.plan import Checked, Plan

distributed = pytest.importorskip("distributed")
pytestmark = pytest.mark.slow

JOB = Path(__file__).parents[1] / "examples" / "01-aurora-wheel" / "job.toml"


@pytest.fixture(scope="module")
def checked() -> Checked:
    found = jobprep.check(JOB)
    nesting = replace(found.job.nesting, evaluations=2_000)
    return replace(found, job=replace(found.job, nesting=nesting))


@pytest.fixture
def client() -> Iterator[Any]:
    """Give a client of two workers; the scheduler starts another for each that is lost."""
    cluster = distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
    )
    with cluster, distributed.Client(cluster) as client:
        yield client


class Passing(Executor):
    """Hands on to another executor, wrapped in something that happens in its worker."""

    def __init__(self, other: Executor, wrap: Callable[..., Nest], *words: str) -> None:
        self.other, self.wrap, self.words = other, wrap, words

    def submit(self, fn: Callable[..., Any], /, *args: Any, **kwargs: Any) -> Future[Any]:
        return self.other.submit(self.wrap, *self.words, fn, *args)


def doomed_once(marks: str, fn: Callable[..., Nest], task: Any) -> Nest:
    """Search, and be killed while doing so the first time that a film is tried."""
    try:
        Path(marks, task.film.name).touch(exist_ok=False)
    except FileExistsError:
        return fn(task)
    threading.Timer(0.5, os.kill, (os.getpid(), signal.SIGKILL)).start()
    while True:
        fn(task)


def give_up_at_once(dask_scheduler: Any) -> None:
    """Let no task be tried again whose worker was lost."""
    dask_scheduler.allowed_failures = 0


def nests(plan: Plan) -> list[Nest]:
    return [film.nest for film in plan.films]


def test_a_cluster_plans_the_same(checked: Checked, client: Any) -> None:
    here = jobprep.plan(checked)
    assert jobprep.plan(checked, executor=client.get_executor()) == here
    jobs = [client.get_executor().submit(jobprep.plan, checked) for _ in range(3)]
    assert all(nests(job.result()) == nests(here) for job in jobs)


def test_workers_killed_in_the_middle_of_their_search_cost_only_time(
    checked: Checked, client: Any, tmp_path: Path
) -> None:
    executor = Passing(client.get_executor(), doomed_once, str(tmp_path))
    assert jobprep.plan(checked, executor=executor) == jobprep.plan(checked)
    assert len(list(tmp_path.iterdir())) > 1, "no worker was killed"


def test_a_film_whose_worker_is_given_up_is_nested_here(
    checked: Checked, client: Any, tmp_path: Path
) -> None:
    """The scheduler says so with an exception of its own."""
    client.run_on_scheduler(give_up_at_once)
    executor = Passing(client.get_executor(), doomed_once, str(tmp_path))
    assert jobprep.plan(checked, executor=executor) == jobprep.plan(checked)
    assert len(list(tmp_path.iterdir())) > 1, "no worker was killed"
