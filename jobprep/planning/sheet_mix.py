"""The cheapest mix of sheets for one film, where it comes in several sizes or on a roll.

The nesting search fills sheets in a given order; which sizes to buy is decided here. What is on
hand is opened first in every trial. Each size is tried alone, which also shows how full a sheet of
it gets. Then come mixes of sizes that would cost less than the best found so far and hold all at
that, the cheapest first; of sheets cut up for the bed, with all the pieces of a few. Of equal cost,
fewer sheets win, then those with more film left over.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

from jobprep.geometry.measure import area
from jobprep.nesting.nest import Nest
from jobprep.planning.film_task import FilmTask, NestedFilm
from jobprep.planning.nest_so_far import Progress
from jobprep.planning.opening import opened
from jobprep.planning.plan import OpenedSheet
from jobprep.planning.plan_film import nest_film
from jobprep.planning.shelf import ShelfPiece, times

MOST_MIXES = 12
"""Mixes tried after each size alone; every trial takes a share of the time."""

MOST_SIZES, MOST_OF_ONE = 4, 30
"""Of sizes, and sheets of one size, in a mix: keeps the list of mixes short."""

FULLEST = 0.95
"""Share of a sheet's area that parts with odd outlines hardly ever exceed."""

HOPE = 0.98
"""Share of the parts that sheets as full as those seen must hold for a mix to be tried."""

SAME = 1e-9
"""Relative; costs this near are equal."""


def nest_films(tasks: Iterable[FilmTask], progress: Progress | None) -> Iterator[NestedFilm]:
    """Nest a job film by film; once a budget is over the rest is filled without any search."""
    is_hurried = False
    for task in tasks:
        nest = nest_cheapest(task.within(0.0) if is_hurried else task, progress)
        is_hurried = is_hurried or nest.is_interrupted or task.budget.is_over()
        yield NestedFilm(task, nest)


class _Rank(NamedTuple):
    """How good a nest is, the less the better; of as much film for the same, more is left over."""

    unplaced: int
    cost: float
    n_sheets: int
    minus_area: float


class _Trial(NamedTuple):
    rank: _Rank
    nest: Nest
    n_stock: int


class _Size(NamedTuple):
    """Equal pieces of stock to choose from, and the kinds of piece on the bed that each gives."""

    whole: ShelfPiece
    kinds: tuple[int, ...]


def nest_cheapest(task: FilmTask, progress: Progress | None) -> Nest:
    """Nest the parts of one film on the cheapest sheets found.

    With the clock as budget all trials together take the task's time; with an evaluation budget
    each takes that. Where there is but one size to choose from, and it is not cut up for the bed,
    the film is nested once.
    """
    sizes = list(_sizes(task.shelf))
    if len(sizes) < 2 and not any(size.whole.count != 1 and _is_cut_up(size) for size in sizes):
        return nest_film(task, progress)
    shelves = [_only(task.shelf, sizes, size) for size in sizes]
    if len(sizes) > 1 and any(size.whole.count is not None for size in sizes):
        shelves.append(task.shelf)
    task = task.within(task.budget.seconds / (len(shelves) + MOST_MIXES / 3))
    trials = []
    for shelf in shelves:
        trials.append(_trial(replace(task, shelf=shelf), progress))
        task = task.after(trials[-1].nest)
    best = min(trials, key=lambda each: each.rank)
    holds = [_holds(task, size, trial.nest) for size, trial in zip(sizes, trials, strict=False)]
    for mix in _mixes(task, sizes, holds, best):
        trial = _trial(replace(task, shelf=mix), progress)
        task = task.after(trial.nest)
        if trial.rank < best.rank:
            best = trial
            break  # they come cheapest first
    is_interrupted = best.nest.is_interrupted or task.budget.seconds == 0.0
    return replace(best.nest, is_interrupted=is_interrupted)


def _sizes(shelf: Sequence[ShelfPiece]) -> Iterator[_Size]:
    """Yield what there is to choose from: all but what is on hand and opened first as it is."""
    kinds: dict[int, list[int]] = {}
    for kind, piece in enumerate(shelf):
        is_opened_first = piece.sheet.piece and piece.cutting is None
        if not (piece.sheet.label or is_opened_first):
            kinds.setdefault(piece.stock, []).append(kind)
    for own in kinds.values():
        yield _Size(shelf[own[0]].whole, tuple(own))


def _is_cut_up(size: _Size) -> bool:
    """Whether a piece of this size gives several for the bed, some larger than others."""
    return len(size.kinds) > 1


def _trial(task: FilmTask, progress: Progress | None) -> _Trial:
    nest = nest_film(task, progress)
    cost, whole = 0.0, 0.0
    stock = list(_opened_stock(task, nest))
    for piece, sheet in stock:
        cost += sheet.price if piece.is_roll and sheet.price is not None else piece.cost
        whole += area(piece.sheet.region)
    rank = _Rank(sum(nest.unplaced), round(cost, 9), len(nest.sheets), -round(whole, 3))
    return _Trial(rank, nest, len(stock))


def _opened_stock(task: FilmTask, nest: Nest) -> Iterator[tuple[ShelfPiece, OpenedSheet]]:
    """Yield each piece of stock that a nest opens, and what is opened of it."""
    sheets, cut_up = opened(task, nest)
    is_counted = [False] * len(cut_up)
    for kind, sheet in zip(nest.sheets, sheets, strict=True):
        if sheet.cut_from is None:
            yield task.shelf[kind], sheet
        elif not is_counted[sheet.cut_from.sheet]:
            is_counted[sheet.cut_from.sheet] = True
            yield task.shelf[kind].whole, cut_up[sheet.cut_from.sheet].sheet


def _holds(task: FilmTask, size: _Size, nest: Nest) -> float:
    """Return what area of parts one piece of a size holds, all kinds that it gives together."""
    return sum(task.shelf[kind].per_whole * _kind_holds(task, kind, nest) for kind in size.kinds)


def _kind_holds(task: FilmTask, kind: int, nest: Nest) -> float:
    """Return what area of parts a sheet of a kind holds: as the fullest one of several in a nest.

    One that holds all that is left for it need not be full.
    """
    whole = FULLEST * area(task.shelf[kind].sheet.region)
    if nest.sheets.count(kind) < 2:
        return whole
    loads = [0.0] * len(nest.sheets)
    for place in nest.placements:
        loads[place.sheet] += area(task.parts[place.item].region)
    return max(load for load, each in zip(loads, nest.sheets, strict=True) if each == kind)


def _only(
    shelf: Sequence[ShelfPiece], sizes: Sequence[_Size], only: _Size | None
) -> tuple[ShelfPiece, ...]:
    """Return a shelf on which, of all sizes, there is one alone."""
    out = {kind for size in sizes if size is not only for kind in size.kinds}
    return tuple(
        replace(piece, count=0) if kind in out else piece for kind, piece in enumerate(shelf)
    )


def _mixes(
    task: FilmTask, sizes: Sequence[_Size], holds: Sequence[float], best: _Trial
) -> Iterator[tuple[ShelfPiece, ...]]:
    """Yield shelves with fixed numbers of each size that may hold all and beat the best."""
    choices = sizes[:MOST_SIZES]
    pieces = [size.whole for size in choices]
    least = 0 if any(map(_is_cut_up, choices)) else 1
    others = {kind for size in sizes for kind in size.kinds}
    need = sum(part.quantity * area(part.region) for part in task.parts) - FULLEST * sum(
        (piece.count or 0) * area(piece.sheet.region)
        for kind, piece in enumerate(task.shelf)
        if kind not in others
    )
    mixes = []
    for counts in _counts(pieces, best.rank.cost * (1.0 + SAME)):
        cost = sum(n * piece.cost for n, piece in zip(counts, pieces, strict=True))
        is_cheaper = cost < best.rank.cost * (1.0 - SAME) or sum(counts) < best.n_stock
        held = sum(n * each for n, each in zip(counts, holds, strict=False))
        if is_cheaper and held >= HOPE * need and sum(map(bool, counts)) > least:
            mixes.append((round(cost, 9), sum(counts), counts))
    for _, _, counts in sorted(mixes)[:MOST_MIXES]:
        shelf = list(_only(task.shelf, sizes, None))
        for size, count in zip(choices, counts, strict=True):
            for kind in size.kinds:
                shelf[kind] = times(shelf[kind], count)
        yield tuple(shelf)


def _counts(pieces: Sequence[ShelfPiece], cost: float) -> Iterator[tuple[int, ...]]:
    """Yield numbers of each size that together cost no more than so much."""
    if not pieces:
        yield ()
        return
    first, *others = pieces
    most = MOST_OF_ONE if first.count is None else min(MOST_OF_ONE, first.count)
    if first.cost:
        most = min(most, int(cost / first.cost))
    for count in range(most + 1):
        for rest in _counts(others, cost - count * first.cost):
            yield (count, *rest)
