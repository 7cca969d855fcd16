"""The largest number of complete discs that the stock yields.

Films do not touch each other: each is filled by itself, and the one that holds the fewest sets of
discs limits them all. Within a film the number is searched upwards: from what a first fit places,
and what the pieces of stock hold one by one, in growing and then shrinking steps; at last one set
more is tried as long as any of several searches places it, at most up to a bound that no nest can
exceed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from jobprep.disc.part import Part
from jobprep.errors import CannotDoError, InputError
from jobprep.model import Film, Job, Nesting, StockPiece, rectangle_points
from jobprep.money.capacity import most_sets
from jobprep.money.quantities import proportion, with_copies
from jobprep.nesting.nest import Nest
from jobprep.pipeline import Checked
from jobprep.planning.plan import Plan
from jobprep.planning.plan_film import Progress, cut_film, film_tasks, nest_film, nest_problem
from jobprep.planning.sheet_mix import nest_cheapest
from jobprep.planning.shelf import ShelfPiece, shelf_of, usual_sheet

SEARCHES = 10
"""Searches for one set more, each from another seed, before it is given up."""

Found = tuple[int, Nest | None]
"""A number of sets and the nest that holds them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmFill:
    """What one film holds. ``sets`` is as many as were asked for or found, ``bound`` the most.

    ``n_sheets`` counts the pieces of stock, None for a film that is bought as needed. ``failed``
    counts the searches that did not place one set more.
    """

    film: str
    n_sheets: int | None
    sets: int
    bound: int | None
    failed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class NextSheet:
    """What one more usual sheet of the limiting film would bring, and which film limits then."""

    film: str
    price: float | None
    sets: int
    limiting: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """The answer: ``sets`` of ``unit`` discs of each design, and the plan that cuts them."""

    unit: tuple[int, ...]
    sets: int
    limiting: FilmFill
    films: tuple[FilmFill, ...]
    plan: Plan

    @property
    def copies(self) -> tuple[int, ...]:
        """Discs of each design."""
        return tuple(self.sets * count for count in self.unit)


def fill(
    checked: Checked,
    sheets: Mapping[str, int],
    design: str | None = None,
    progress: Progress | None = None,
) -> Fill:
    """Find how many discs the stock yields, and plan them.

    Parameters
    ----------
    checked
        The job; its discs are cut in its proportion, its loose parts once.
    sheets
        So many usual sheets of a film instead of the stock there is of it.
    design
        One design alone.
    progress
        Told how the nests go.

    Raises
    ------
    InputError
        When there is no stock to fill, or a design or film is not of the job.
    CannotDoError
        When the stock does not even hold one set.
    """
    unit = proportion(checked.job, design)
    filler = _Filler(_with_sheets(checked, sheets), unit, progress)
    if not filler.shelves:
        message = "no film of these discs has stock; name some by [[stock]] or --sheets FILM=N"
        raise InputError([checked.job.source.problem("", message)])
    fills, nests = filler.fill_all()
    limiting = min(fills.values(), key=lambda each: each.sets)
    if not limiting.sets:
        raise CannotDoError(
            f"{limiting.film}: the stock does not hold the parts of one set of discs"
        )
    planned = filler.plan(limiting.sets, nests)
    bought = (
        FilmFill(film=name, n_sheets=None, sets=limiting.sets, bound=None, failed=0)
        for name in filler.films
        if name not in fills
    )
    return Fill(
        unit=unit,
        sets=limiting.sets,
        limiting=limiting,
        films=(*fills.values(), *bought),
        plan=planned,
    )


def one_more_sheet(
    checked: Checked, sheets: Mapping[str, int], found: Fill, progress: Progress | None = None
) -> NextSheet:
    """Return what one more usual sheet of the limiting film brings, by one search to a number."""
    filler = _Filler(_with_sheets(checked, sheets), found.unit, progress)
    name = found.limiting.film
    sheet = usual_sheet(filler.job, filler.job.films[name])
    filler.shelves[name] = (*filler.shelves[name], replace(sheet, count=1))
    most, which = filler.bound(name), name
    for film in (name, *(other for other in filler.shelves if other != name)):
        sets = filler.search(film, most, 1)[0]
        if sets < most or film == name:
            most, which = sets, film
    return NextSheet(film=name, price=sheet.sheet.price, sets=max(most, found.sets), limiting=which)


def _with_sheets(checked: Checked, sheets: Mapping[str, int]) -> Checked:
    """Return the job with so many usual sheets of some films as their stock."""
    job = checked.job
    used = {part.film for part in checked.parts}
    for name in sheets:
        if name not in used:
            cut = ", ".join(sorted(used))
            message = f'--sheets: the job cuts no "{name}"; it cuts {cut}'
            raise InputError([job.source.problem("", message)])
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


class _Filler:
    """Fills films one by one with sets of discs."""

    def __init__(self, checked: Checked, unit: tuple[int, ...], progress: Progress | None) -> None:
        self.checked = checked
        self.job = checked.job
        self.unit = unit
        self.progress = progress
        one = with_copies(checked, unit).parts
        self.films = tuple(dict.fromkeys(part.film for part in one))
        per_disc = {part.film for part in one if part.disc is not None}
        shelves = {name: _on_hand(self.job, self.job.films[name]) for name in self.films}
        self.shelves = {
            name: shelf for name, shelf in shelves.items() if shelf and name in per_disc
        }

    def fill_all(self) -> tuple[dict[str, FilmFill], dict[str, Nest]]:
        """Fill every film that has stock, the scarcest first: the others need hold no more."""
        bounds = {name: self.bound(name) for name in self.shelves}
        fills: dict[str, FilmFill] = {}
        nests: dict[str, tuple[int, Nest]] = {}
        most = max(bounds.values())
        for name in sorted(bounds, key=lambda name: bounds[name]):
            sets, nest, failed = self.search(name, min(most, bounds[name]), SEARCHES)
            most = min(most, sets)
            fills[name] = FilmFill(
                film=name,
                n_sheets=_n_pieces(self.shelves[name]),
                sets=sets,
                bound=bounds[name],
                failed=failed,
            )
            if nest is not None:
                nests[name] = (sets, nest)
        return fills, {name: nest for name, (sets, nest) in nests.items() if sets == most}

    def plan(self, sets: int, nests: Mapping[str, Nest]) -> Plan:
        """Plan the cuts of so many sets, with nests that were found, and others made now."""
        wanted = with_copies(self.checked, tuple(sets * count for count in self.unit))
        films = []
        for task in film_tasks(wanted.job, wanted.parts):
            name = task.film.name
            if name in self.shelves:
                task = task._replace(shelf=self.shelves[name])
            nest = nests.get(name)
            if nest is None and name in self.shelves:
                nest = self._nest(name, self.shelves[name], sets, SEARCHES)[0]
            if nest is None:
                nest = nest_cheapest(wanted.job, task, self.progress)
            films.append(cut_film(wanted.job, task.film, task.parts, task.shelf, nest))
        return Plan(
            job=wanted.job,
            parts=wanted.parts,
            films=tuple(films),
            cautions=wanted.cautions,
        )

    def bound(self, name: str) -> int:
        """Return how many sets a film's stock can hold at most."""
        return self._bound(name, self.shelves[name])

    def search(self, name: str, goal: int, searches: int) -> tuple[int, Nest | None, int]:
        """Return the most sets found up to a goal, their nest, and how many searches failed.

        ``searches`` are tried for the last set more; 1 leaves that out.
        """
        shelf = self.shelves[name]
        best = self._first_fit(name, shelf, goal)
        if _n_pieces(shelf) > 1 and not any(part.disc is None for part in self._parts(name, 1)):
            alone = self._one_by_one(name, shelf, goal, searches)
            best = max(best, alone, key=lambda each: each[0])
        return self._search_up(name, shelf, goal, best, searches)

    def _search_up(
        self, name: str, shelf: Sequence[ShelfPiece], goal: int, best: Found, searches: int
    ) -> tuple[int, Nest | None, int]:
        """Go up from what is known, at last one set at a time with several searches for each."""
        best = self._step_up(name, shelf, goal, best)
        failed = 0
        while searches > 1 and best[0] < goal and not failed:
            nest, failed = self._nest(name, shelf, best[0] + 1, searches)
            if nest is not None:
                best, failed = (best[0] + 1, nest), 0
        return *best, failed

    def _bound(self, name: str, shelf: Sequence[ShelfPiece]) -> int:
        parts = self._parts(name, 1)
        once = [part for part in parts if part.disc is None]
        per_set = [part for part in parts if part.disc is not None]
        problem = nest_problem(self.job, self.job.films[name], once + per_set, shelf)
        n = len(once)
        return most_sets(problem.items[:n], problem.items[n:], problem.sheets, problem.spacing)

    def _first_fit(self, name: str, shelf: Sequence[ShelfPiece], goal: int) -> Found:
        """Return what the first nest places, without any search, by bisection."""
        best: Found = (0, None)
        low, high, probe = 0, goal + 1, goal
        while high - low > 1:
            nest = self._nest(name, shelf, probe, 0)[0]
            if nest is None:
                high = probe
            else:
                low, best = probe, (probe, nest)
            probe = (low + high) // 2
        return best

    def _one_by_one(
        self, name: str, shelf: Sequence[ShelfPiece], goal: int, searches: int
    ) -> Found:
        """Return what the pieces of stock hold each for itself, in one nest.

        Each is searched as hard as a single one would be, so that two pieces never hold less than
        twice what one of them is said to hold.
        """
        sets, nests = 0, []
        for index, piece in enumerate(shelf):
            alone = tuple(
                replace(each, count=int(number == index)) for number, each in enumerate(shelf)
            )
            most = min(self._bound(name, alone), goal)
            first = self._first_fit(name, alone, most)
            each, nest, _ = self._search_up(name, alone, most, first, searches)
            for _ in range(piece.count or 0):
                if nest is not None and sets + each <= goal:
                    sets += each
                    nests.append(nest)
        return sets, joined(nests) if nests else None

    def _step_up(self, name: str, shelf: Sequence[ShelfPiece], goal: int, best: Found) -> Found:
        """Return the most sets that one search to a number places, from what is known up."""
        high, step = goal + 1, 1
        while best[0] < goal and high - best[0] > 1:
            probe = min(best[0] + step, high - 1)
            nest = self._nest(name, shelf, probe, 1)[0]
            if nest is None:
                high, step = probe, max(1, (probe - best[0]) // 2)
            else:
                best = (probe, nest)
                step = 2 * step if high > goal else max(1, (high - probe) // 2)
        return best

    def _nest(
        self, name: str, shelf: Sequence[ShelfPiece], sets: int, searches: int
    ) -> tuple[Nest | None, int]:
        """Return a nest of so many sets, None if no search finds one, and how many did not.

        With no searches the first fit alone is asked.
        """
        job, parts = self.job, self._parts(name, sets)
        wanted = with_copies(self.checked, tuple(sets * count for count in self.unit)).parts
        share = sum(part.quantity for part in parts) / sum(part.quantity for part in wanted)
        seconds = job.nesting.seconds * share
        for search in range(searches):
            seeded = replace(job.nesting, seed=job.nesting.seed + search)
            nest = self._try(name, parts, shelf, seeded, seconds)
            if nest is not None:
                return nest, search
        if not searches:
            return self._try(name, parts, shelf, job.nesting, 0.0), 0
        return None, searches

    def _try(
        self,
        name: str,
        parts: Sequence[Part],
        shelf: Sequence[ShelfPiece],
        nesting: Nesting,
        seconds: float,
    ) -> Nest | None:
        job = replace(self.job, nesting=nesting)
        nest = nest_film(job, job.films[name], parts, shelf, seconds, self.progress)
        if any(nest.unplaced) and nest.is_interrupted:
            raise KeyboardInterrupt  # not searched to the end, so it says nothing of the stock
        return None if any(nest.unplaced) else nest

    def _parts(self, name: str, sets: int) -> list[Part]:
        wanted = with_copies(self.checked, tuple(sets * count for count in self.unit))
        return [part for part in wanted.parts if part.film == name]


def joined(nests: Sequence[Nest]) -> Nest:
    """Return nests of the same parts and sheets as one; copies and sheets are counted on."""
    n_sheets, copies = 0, [0] * len(nests[0].unplaced)
    placements = []
    for nest in nests:
        for placed in nest.placements:
            placements.append(
                placed._replace(
                    copy=placed.copy + copies[placed.item], sheet=placed.sheet + n_sheets
                )
            )
        n_sheets += len(nest.sheets)
        for placed in nest.placements:
            copies[placed.item] += 1
    return Nest(
        sheets=tuple(sheet for nest in nests for sheet in nest.sheets),
        placements=tuple(placements),
        unplaced=nests[0].unplaced,
        evaluations=sum(nest.evaluations for nest in nests),
    )


def _n_pieces(shelf: Sequence[ShelfPiece]) -> int:
    return sum(piece.count or 0 for piece in shelf)


def _on_hand(job: Job, film: Film) -> tuple[ShelfPiece, ...]:
    """Return the pieces of a film that need not be bought."""
    return tuple(piece for piece in shelf_of(job, film) if piece.count is not None)
