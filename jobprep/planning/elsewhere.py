"""Nest whole films in an executor's workers, which may be other processes or other machines.

What travels is a film's task, with its budget as a duration or a count, and back comes a nest. The
clock of a worker counts for itself, and no nest is used before it is proven here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, wait
from dataclasses import replace

from jobprep.nesting.nest import Nest, never
from jobprep.planning.film_task import FilmTask, NestedFilm
from jobprep.planning.sheet_mix import nest_cheapest

WAKE = 0.2
"""Seconds after which it is asked again whether anybody still wants to wait."""


def nest_films_elsewhere(tasks: Iterable[FilmTask], executor: Executor) -> Iterator[NestedFilm]:
    """Nest all films of a job at once, one a worker; yield them in the order of the tasks.

    A film whose worker is lost is nested here instead. Once a budget is over, what has not ended
    is not waited for: those films are filled here without any search.

    Raises
    ------
    NestError
        When a worker's nest is not what was asked for.
    """
    sent = [(task, _sent(executor, task)) for task in tasks]
    try:
        for task, future in sent:
            yield NestedFilm(task, _proven(task, _awaited(task, future)))
    finally:
        for _, future in sent:
            future.cancel()


def nest_alone(task: FilmTask) -> Nest:
    """Nest one film, in a worker that nobody watches."""
    return nest_cheapest(task, None)


def _sent(executor: Executor, task: FilmTask) -> Future[Nest]:
    """Send a task, without what it asks of this process; an executor may be lost by now."""
    try:
        budget = replace(task.budget, is_over=never)
        return executor.submit(nest_alone, replace(task, budget=budget))
    except BrokenExecutor as error:
        lost: Future[Nest] = Future()
        lost.set_exception(error)
        return lost


def _awaited(task: FilmTask, future: Future[Nest]) -> Nest:
    is_over: Callable[[], bool] = task.budget.is_over
    while not wait([future], timeout=WAKE).done:
        if is_over():
            return replace(nest_alone(task.within(0.0)), is_interrupted=True)
    try:
        return future.result()
    except BrokenExecutor:
        return nest_alone(task)


def _proven(task: FilmTask, nest: Nest) -> Nest:
    from jobprep.nesting.check import check_nest

    check_nest(*task.problem, nest)
    return nest
