"""The largest number of complete discs that the stock yields.

Films do not touch each other: each is filled by itself, and the one that holds the fewest sets of
discs limits them all. The scarcest is searched first: the others need hold no more than it.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from jobprep.errors import CannotDoError, InputError
from jobprep.model import Film, Job, StockPiece, rectangle_points
from jobprep.planning.bed import shelf_on_bed, usual_sheet_on_bed
from jobprep.planning.fill_film import FilmStock, Held, Patience, thinned, told_in
from jobprep.planning.film_task import NestedFilm, film_task, film_tasks
from jobprep.planning.nest_so_far import Progress
from jobprep.planning.opening import wholes_opened
from jobprep.planning.plan import Checked
from jobprep.planning.quantities import proportion, with_copies
from jobprep.planning.sheet_mix import nest_cheapest
from jobprep.planning.shelf import ShelfPiece, times, usual_sheet

TIMES = 3.0
"""How many times the job's time all films may be searched, where the clock decides."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmFill:
    """What one film holds. ``sets`` is as many as were asked for or found, ``bound`` the most.

    ``n_sheets`` counts the pieces of stock, None for a film that is bought as needed; ``opened``
    are those that the discs found take. ``failed`` counts the searches that did not place one set
    more, and ``is_cut_short`` says that time ended before all of those.
    """

    film: str
    n_sheets: int | None
    opened: int
    sets: int
    bound: int | None
    failed: int
    is_cut_short: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NextSheet:
    """What one more usual sheet of the limiting film would bring, and which film limits then."""

    film: str
    price: float | None
    sets: int
    limiting: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Filling:
    """The answer: ``sets`` of ``unit`` discs of each design, and the nests that hold them.

    ``wanted`` is the job of that number of discs. ``is_interrupted``: somebody did not want to wait
    for the end of the search, and ``sets`` is what was known by then.
    """

    unit: tuple[int, ...]
    sets: int
    limiting: FilmFill
    films: tuple[FilmFill, ...]
    wanted: Checked
    nests: tuple[NestedFilm, ...]
    is_interrupted: bool = False

    @property
    def copies(self) -> tuple[int, ...]:
        """Discs of each design."""
        return tuple(self.sets * count for count in self.unit)


def fill(
    checked: Checked,
    sheets: Mapping[str, int],
    design: str | None = None,
    progress: Progress | None = None,
) -> Filling:
    """Find how many discs the stock yields.

    An interrupt (Ctrl-C) ends the search with the number known by then; films that were not
    searched yet, and those to be bought, get a first fit alone.

    Parameters
    ----------
    checked
        The job; its discs are cut in its proportion, its loose parts once.
    sheets
        The number of usual sheets of a film, instead of the stock there is of it.
    design
        One design alone.
    progress
        Told each nest that holds more discs.

    Raises
    ------
    InputError
        When there is no stock to fill, or a design or film is not of the job.
    CannotDoError
        When the stock does not even hold one set.
    KeyboardInterrupt
        When an interrupt comes before anything is known of the first film, or a second one.
    """
    unit = proportion(checked.job, design)
    checked = _with_sheets(checked, sheets)
    patience = Patience()
    stocks = _stocks(checked, unit, progress, patience)
    if not stocks:
        message = "no film of these discs has stock; name some by [[stock]] or --sheets FILM=N"
        raise InputError([checked.job.source.error("", message)])
    found = _fill_all(stocks, checked.job.nesting.seconds * TIMES, patience)
    limiting = min(found, key=lambda name: found[name].sets)
    sets = found[limiting].sets
    if not sets and patience.is_over:
        raise KeyboardInterrupt
    if not sets:
        raise CannotDoError(f"{limiting}: the stock does not hold the parts of one set of discs")
    wanted = with_copies(checked, tuple(sets * count for count in unit))
    nests = {
        each.task.film.name: each for each in _nests(wanted, stocks, found, progress, patience)
    }
    fills = {
        name: FilmFill(
            film=name,
            n_sheets=stocks[name].n_stock,
            opened=_n_opened(nests[name]),
            sets=held.sets,
            bound=stocks[name].bound(),
            failed=held.failed,
            is_cut_short=held.is_cut_short,
        )
        for name, held in found.items()
    }
    bought = (
        FilmFill(
            film=name,
            n_sheets=None,
            opened=_n_opened(nested),
            sets=sets,
            bound=None,
            failed=0,
            is_cut_short=False,
        )
        for name, nested in nests.items()
        if name not in fills
    )
    return Filling(
        unit=unit,
        sets=sets,
        limiting=fills[limiting],
        films=(*fills.values(), *bought),
        wanted=wanted,
        nests=tuple(nests.values()),
        is_interrupted=patience.is_over,
    )


def one_more_sheet(
    checked: Checked, sheets: Mapping[str, int], found: Filling, progress: Progress | None = None
) -> NextSheet | None:
    """Return what one more usual sheet of the limiting film brings, by one search to a number.

    None when somebody did not want to wait for it.
    """
    if found.is_interrupted:
        return None
    patience = Patience()
    try:
        further = _one_more_sheet(_with_sheets(checked, sheets), found, progress, patience)
    except KeyboardInterrupt:
        return None
    return None if patience.is_over else further


def _one_more_sheet(
    checked: Checked, found: Filling, progress: Progress | None, patience: Patience
) -> NextSheet:
    stocks = _stocks(checked, found.unit, progress, patience)
    name = found.limiting.film
    film = checked.job.films[name]
    another = max(piece.stock for piece in stocks[name].task.shelf) + 1
    more = tuple(
        replace(times(piece, 1), stock=another) for piece in usual_sheet_on_bed(checked.job, film)
    )
    stocks[name] = stocks[name].on((*stocks[name].task.shelf, *more))
    seconds = checked.job.nesting.seconds / len(stocks)
    most, which = stocks[name].bound(), name
    for each in (name, *(other for other in stocks if other != name)):
        stock = replace(stocks[each], searches=1, seconds=seconds)
        sets = stock.search(most).sets
        if each == name:
            own = tuple(part for part in stock.task.parts if part.disc is not None)
            task = replace(stock.task, parts=own, shelf=more)
            alone = replace(stock, task=task).search(most).sets
            sets = max(sets, min(most, found.sets + alone))
        if sets < most or each == name:
            most, which = sets, each
    price = usual_sheet(checked.job, film).sheet.price
    return NextSheet(film=name, price=price, sets=max(most, found.sets), limiting=which)


def _stocks(
    checked: Checked, unit: tuple[int, ...], progress: Progress | None, patience: Patience
) -> dict[str, FilmStock]:
    """Return the stock of every film that discs are cut from and that has any."""
    job, parts = checked.job, with_copies(checked, unit).parts
    stocks = {}
    for name in dict.fromkeys(part.film for part in parts):
        own = tuple(part for part in parts if part.film == name)
        shelf = _on_hand(job, job.films[name])
        if shelf and any(part.disc is not None for part in own):
            stocks[name] = FilmStock(
                task=film_task(job, job.films[name], own, shelf),
                progress=None if progress is None else told_in(progress, sum(unit), 1),
                patience=patience,
            )
    return stocks


def _fill_all(
    stocks: Mapping[str, FilmStock], seconds: float, patience: Patience
) -> dict[str, Held]:
    """Fill every film that has stock, the scarcest first: the others need hold no more."""
    end = time.monotonic() + seconds
    bounds = {name: stock.bound() for name, stock in stocks.items()}
    found: dict[str, Held] = {}
    most = max(bounds.values())
    for name in sorted(bounds, key=lambda name: bounds[name]):
        share = max(0.0, end - time.monotonic()) / (len(stocks) - len(found))
        stock = replace(stocks[name], seconds=share)
        try:
            found[name] = stock.search(most)
        except KeyboardInterrupt:  # it came in a first fit, of which nothing is known
            if not found:
                raise  # it may even have come while the search was loaded
            patience.end()
            found[name] = stock.search(most)
        most = min(most, found[name].sets)
    return found


def _nests(
    wanted: Checked,
    stocks: Mapping[str, FilmStock],
    found: Mapping[str, Held],
    progress: Progress | None,
    patience: Patience,
) -> Iterator[NestedFilm]:
    """Yield the nest of every film: of those found as much as is wanted, others are made now."""
    for task in film_tasks(wanted.job, wanted.parts):
        name = task.film.name
        nest = found[name].nest if name in found else None
        if nest is None:
            bought = task.within(0.0) if patience.is_over else task
            nest = nest_cheapest(bought, progress)
            patience.is_over = patience.is_over or nest.is_interrupted
            yield NestedFilm(task, nest)
        else:
            wanted_parts = [part.quantity for part in task.parts]
            filled = replace(task, shelf=stocks[name].task.shelf)
            yield NestedFilm(filled, thinned(nest, wanted_parts))


def _with_sheets(checked: Checked, sheets: Mapping[str, int]) -> Checked:
    """Return the job with a number of usual sheets of some films as their stock."""
    job = checked.job
    used = {part.film for part in checked.parts}
    for name in sheets:
        if name not in used:
            cut = ", ".join(sorted(used))
            message = f'--sheets: the job cuts no "{name}"; it cuts {cut}'
            raise InputError([job.source.error("", message)])
    others = tuple(piece for piece in job.stock if piece.film not in sheets)
    given = tuple(
        StockPiece(
            film=name,
            outline=rectangle_points(
                job.films[name].sheets[0].width, job.films[name].sheets[0].height
            ),
            count=count,
        )
        for name, count in sheets.items()
    )
    return replace(checked, job=replace(job, stock=(*others, *given)))


def _n_opened(nested: NestedFilm) -> int:
    """Return how many pieces of stock a nest opens."""
    return sum(wholes_opened(nested.task.shelf, nested.nest).values())


def _on_hand(job: Job, film: Film) -> tuple[ShelfPiece, ...]:
    """Return the pieces of a film that need not be bought."""
    return tuple(piece for piece in shelf_on_bed(job, film) if piece.count is not None)
