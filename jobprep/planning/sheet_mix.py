"""The cheapest mix of sheets for one film, where it comes in several sizes or on a roll.

The nesting search fills sheets in a given order; which sizes to buy is decided here. What is on
hand is opened first in every trial. Each size is tried alone, then mixes of sizes that would cost
less than the best found so far and are large enough by area, the cheapest first.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product
from typing import NamedTuple

from jobprep.disc.part import Part
from jobprep.geometry.measure import area
from jobprep.model import Job
from jobprep.nesting.nest import Nest
from jobprep.planning.plan_film import (
    FilmTask,
    Progress,
    film_tasks,
    nest_film,
    opened_sheets,
)
from jobprep.planning.shelf import ShelfPiece

MOST_MIXES = 12
"""Mixes tried after each size alone; every trial takes a share of the time."""

MOST_SIZES, MOST_OF_ONE = 4, 8
"""Of sizes, and sheets of one size, in a mix: keeps the list of mixes short."""

FULLEST = 0.95
"""Share of a sheet's area that parts with odd outlines hardly ever exceed."""


def nest_films(
    job: Job, parts: Sequence[Part], progress: Progress | None
) -> Iterator[tuple[FilmTask, Nest]]:
    """Nest a job film by film; after an interrupt the rest is filled without any search."""
    is_hurried = False
    for task in film_tasks(job, parts):
        nest = nest_cheapest(job, task._replace(seconds=0.0) if is_hurried else task, progress)
        is_hurried = is_hurried or nest.is_interrupted
        yield task, nest


class _Rank(NamedTuple):
    """How good a nest is, the less the better."""

    unplaced: int
    cost: float
    n_sheets: int


class _Trial(NamedTuple):
    rank: _Rank
    nest: Nest


def nest_cheapest(job: Job, task: FilmTask, progress: Progress | None) -> Nest:
    """Nest the parts of one film on the cheapest sheets found.

    With the clock as budget all trials together take the task's time; with an evaluation budget
    each takes that. Where there is but one size to choose from, the film is nested once.
    """
    sizes = [
        index
        for index, piece in enumerate(task.shelf)
        if not piece.sheet.label and not piece.sheet.piece
    ]
    if len(sizes) < 2:
        return nest_film(job, *task, progress)
    shelves = [_only(task.shelf, sizes, size) for size in sizes]
    if any(task.shelf[size].count is not None for size in sizes):
        shelves.append(task.shelf)
    task = task._replace(seconds=task.seconds / (len(shelves) + MOST_MIXES / 3))
    trials = []
    for shelf in shelves:
        trials.append(_trial(job, task, shelf, progress))
        task = _hurried(task, trials[-1].nest)
    best = min(trials, key=lambda each: each.rank)
    for mix in _mixes(task, sizes, best.rank):
        trial = _trial(job, task, mix, progress)
        task = _hurried(task, trial.nest)
        if trial.rank < best.rank:
            best = trial
            break  # they come cheapest first
    return replace(best.nest, is_interrupted=best.nest.is_interrupted or task.seconds == 0.0)


def _hurried(task: FilmTask, nest: Nest) -> FilmTask:
    """Leave a task no time once the search for one of its nests was interrupted."""
    return task._replace(seconds=0.0) if nest.is_interrupted else task


def _trial(
    job: Job, task: FilmTask, shelf: tuple[ShelfPiece, ...], progress: Progress | None
) -> _Trial:
    nest = nest_film(job, *task._replace(shelf=shelf), progress)
    opened = opened_sheets(job, task.film, task.parts, shelf, nest)
    cost = sum(
        sheet.price if shelf[kind].is_roll and sheet.price is not None else shelf[kind].cost
        for kind, sheet in zip(nest.sheets, opened, strict=True)
    )
    return _Trial(_Rank(sum(nest.unplaced), cost, len(nest.sheets)), nest)


def _only(shelf: Sequence[ShelfPiece], sizes: Sequence[int], size: int) -> tuple[ShelfPiece, ...]:
    """Return a shelf on which, of all sizes, there is one alone."""
    return tuple(
        replace(piece, count=0) if index in sizes and index != size else piece
        for index, piece in enumerate(shelf)
    )


def _mixes(task: FilmTask, sizes: Sequence[int], best: _Rank) -> Iterator[tuple[ShelfPiece, ...]]:
    """Yield shelves with fixed numbers of each size, large enough and cheaper than the best."""
    pieces = [task.shelf[size] for size in sizes[:MOST_SIZES]]
    on_hand = sum(
        (piece.count or 0) * area(piece.sheet.region)
        for index, piece in enumerate(task.shelf)
        if index not in sizes
    )
    need = sum(part.quantity * area(part.region) for part in task.parts) / FULLEST - on_hand
    mixes = []
    for counts in product(*(range(_most(piece, best) + 1) for piece in pieces)):
        cost = sum(n * piece.cost for n, piece in zip(counts, pieces, strict=True))
        held = sum(n * area(each.sheet.region) for n, each in zip(counts, pieces, strict=True))
        if held >= need and cost < best.cost * (1.0 - 1e-9) and sum(map(bool, counts)) > 1:
            mixes.append((cost, sum(counts), counts))
    for _, _, counts in sorted(mixes)[:MOST_MIXES]:
        shelf = list(_only(task.shelf, sizes, -1))
        for size, count in zip(sizes, counts, strict=False):
            shelf[size] = replace(shelf[size], count=count)
        yield tuple(shelf)


def _most(piece: ShelfPiece, best: _Rank) -> int:
    """Return how many of a size a mix cheaper than the best may hold."""
    most = min(MOST_OF_ONE, int(best.cost / piece.cost) if piece.cost else MOST_OF_ONE)
    return most if piece.count is None else min(most, piece.count)
