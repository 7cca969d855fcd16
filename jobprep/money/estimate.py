"""What a job costs before it is cut, for its own and for other numbers of discs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from jobprep import pipeline
from jobprep.money.costs import Costs, costs_of
from jobprep.money.quantities import proportion, with_copies
from jobprep.pipeline import Checked
from jobprep.planning.assemble import plan_of
from jobprep.planning.film_task import NestedFilm, film_tasks
from jobprep.planning.plan_film import Progress
from jobprep.planning.sheet_mix import nest_films


@dataclass(frozen=True, slots=True, kw_only=True)
class QuantityRow:
    """What so many discs cost. ``opened`` maps each film to the pieces opened, in all.

    ``further`` names the films of which one set less needs a piece fewer.
    """

    copies: tuple[int, ...]
    n_discs: int
    opened: dict[str, int]
    further: tuple[str, ...]
    costs: Costs


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A job's costs, and a table of what other quantities would cost."""

    costs: Costs
    rows: tuple[QuantityRow, ...]


def estimate(checked: Checked, up_to: int, progress: Progress | None = None) -> Estimate:
    """Plan a job and count what it costs, then the same for other numbers of discs.

    The table has rows for 1, 2, 4, ... sets of discs in the job's proportion, for the job's own,
    and for every number up to ``up_to`` at which a further sheet must be opened.

    Raises
    ------
    StockShortError
        When the stock cannot hold the job's own parts.
    """
    planned = pipeline.plan(checked, progress=progress)
    costs = costs_of(planned, pipeline.summary_of(planned))
    if not checked.job.discs or up_to < 1:
        return Estimate(costs=costs, rows=())
    return Estimate(costs=costs, rows=tuple(_rows(checked, costs, up_to, progress)))


def _rows(
    checked: Checked, costs: Costs, up_to: int, progress: Progress | None
) -> Iterator[QuantityRow]:
    unit = proportion(checked.job)
    own = checked.job.discs[0].copies // unit[0]
    counts = _Quantities(checked, unit, progress)
    wanted = {1 << power for power in range(up_to.bit_length())} | {own}
    wanted |= set(counts.changes(up_to))
    for sets in sorted(number for number in wanted if number <= max(up_to, own)):
        now, before = counts.opened(sets), counts.opened(sets - 1)
        if now is None:  # the stock is short from here on
            return
        yield QuantityRow(
            copies=tuple(sets * count for count in unit),
            n_discs=sets * sum(unit),
            opened=now,
            further=tuple(film for film, count in now.items() if count > (before or {})[film]),
            costs=costs if sets == own else counts.costs(sets),
        )


class _Quantities:
    """Nests of other numbers of sets, each made once."""

    def __init__(self, checked: Checked, unit: tuple[int, ...], progress: Progress | None) -> None:
        self.checked = checked
        self.unit = unit
        self.progress = progress
        self._known: dict[int, list[NestedFilm]] = {}

    def opened(self, sets: int) -> dict[str, int] | None:
        """Return film -> opened pieces for so many sets, None where the stock is short."""
        opened = dict.fromkeys((part.film for part in self.checked.parts), 0)
        for task, nest in self._nests(sets):
            if any(nest.unplaced):
                return None
            opened[task.film.name] = len(nest.sheets)
        return opened

    def costs(self, sets: int) -> Costs:
        """Return what so many sets cost."""
        job = self._job(sets)
        planned = plan_of(job.job, job.parts, self._nests(sets))
        return costs_of(planned, pipeline.summary_of(planned))

    def changes(self, up_to: int) -> Iterator[int]:
        """Yield the numbers of sets at which a further piece is opened, by bisection."""
        pending = [(0, up_to)]
        while pending:
            low, high = pending.pop()
            if self.opened(low) == self.opened(high):
                continue
            if high - low == 1:
                yield high
            else:
                middle = (low + high) // 2
                pending += [(low, middle), (middle, high)]

    def _job(self, sets: int) -> Checked:
        return with_copies(self.checked, tuple(sets * count for count in self.unit))

    def _nests(self, sets: int) -> list[NestedFilm]:
        if sets not in self._known:
            job = self._job(sets)
            self._known[sets] = list(nest_films(film_tasks(job.job, job.parts), self.progress))
        return self._known[sets]
