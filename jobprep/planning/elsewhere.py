"""Nest whole films in an executor's workers, which may be other processes or other machines.

What travels is a film's task, with its budget as a duration or a count, and back comes a nest. The
clock of a worker counts for itself, and no nest is used before it is proven here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, wait
from dataclasses import replace
from pickle import PicklingError

from jobprep.nesting.nest import Nest, never
from jobprep.planning.film_task import FilmTask, NestedFilm
from jobprep.planning.sheet_mix import nest_cheapest

WAKE = 0.2
"""Seconds after which it is asked again whether anybody still wants to wait."""

NOT_UNDERSTOOD = (ImportError, AttributeError, TypeError, PicklingError)
"""What comes of a task that a worker cannot read, since it lacks this version of jobprep."""


def nest_films_elsewhere(tasks: Iterable[FilmTask], executor: Executor) -> Iterator[NestedFilm]:
    """Nest all films of a job at once, one a worker; yield them in the order of the tasks.

    A film whose worker is lost is nested here instead, whatever its executor calls that. Once a
    budget is over, what has not ended is not waited for: those films are filled here without any
    search.

    Raises
    ------
    NestError
        When a worker's nest is not what was asked for.
    ImportError, AttributeError, TypeError, PicklingError
        When a worker cannot read what it is sent: it needs the same version of jobprep.
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


def nest_or_error(task: FilmTask) -> Nest | Exception:
    """Nest one film; return what goes wrong in that, so that all else is the executor's."""
    try:
        return nest_alone(task)
    except Exception as error:
        return error


def _sent(executor: Executor, task: FilmTask) -> Future[Nest | Exception]:
    """Send a task, without what it asks of this process; an executor may be lost by now."""
    try:
        budget = replace(task.budget, is_over=never)
        return executor.submit(nest_or_error, replace(task, budget=budget))
    except BrokenExecutor as error:
        lost: Future[Nest | Exception] = Future()
        lost.set_exception(error)
        return lost


def _awaited(task: FilmTask, future: Future[Nest | Exception]) -> Nest:
    is_over: Callable[[], bool] = task.budget.is_over
    while not wait([future], timeout=WAKE).done:
        if is_over():
            return replace(nest_alone(task.within(0.0)), is_interrupted=True)
    try:
        nest = future.result()
    except NOT_UNDERSTOOD:
        raise
    except Exception:  # each kind of executor has its own for a worker that is lost
        return nest_alone(task)
    if isinstance(nest, Exception):
        raise nest
    return nest


def _proven(task: FilmTask, nest: Nest) -> Nest:
    from jobprep.nesting.check import check_nest

    check_nest(*task.problem, nest)
    return nest
