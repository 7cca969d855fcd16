"""A job planned for other numbers of discs, where they open another number of sheets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from jobprep.planning.assemble import plan_of
from jobprep.planning.film_task import NestedFilm, film_tasks
from jobprep.planning.nest_so_far import Progress
from jobprep.planning.opening import wholes_opened
from jobprep.planning.plan import Checked, Plan
from jobprep.planning.quantities import proportion, with_copies
from jobprep.planning.sheet_mix import nest_films


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """Another number of copies of each design. ``opened`` maps films to the pieces opened, in all.

    ``further`` names the films of which one set less needs a piece fewer.
    """

    copies: tuple[int, ...]
    opened: dict[str, int]
    further: tuple[str, ...]
    plan: Plan


def other_quantities(
    checked: Checked, planned: Plan, up_to: int, progress: Progress | None
) -> Iterator[Quantity]:
    """Yield the plans for 1, 2, 4, ... sets of discs, and where a further sheet must be opened.

    The job's own number is among them, with the plan ``planned``. A job without discs yields
    none, and nothing follows once the stock is short.
    """
    if not checked.job.discs or up_to < 1:
        return
    unit = proportion(checked.job)
    own = checked.job.discs[0].copies // unit[0]
    nests = _Quantities(checked, unit, progress)
    wanted = {1 << power for power in range(up_to.bit_length())} | {own}
    wanted |= set(nests.changes(up_to))
    for sets in sorted(number for number in wanted if number <= max(up_to, own)):
        now, before = nests.opened(sets), nests.opened(sets - 1)
        if now is None:  # the stock is short from here on
            return
        yield Quantity(
            copies=tuple(sets * count for count in unit),
            opened=now,
            further=tuple(film for film, count in now.items() if count > (before or {})[film]),
            plan=planned if sets == own else nests.plan(sets),
        )


class _Quantities:
    """Nests of other numbers of sets, each made once."""

    def __init__(self, checked: Checked, unit: tuple[int, ...], progress: Progress | None) -> None:
        self.checked = checked
        self.unit = unit
        self.progress = progress
        self._known: dict[int, list[NestedFilm]] = {}

    def opened(self, sets: int) -> dict[str, int] | None:
        """Return film -> opened pieces for a number of sets, None where the stock is short."""
        opened = dict.fromkeys((part.film for part in self.checked.parts), 0)
        for task, nest in self._nests(sets):
            if any(nest.unplaced):
                return None
            opened[task.film.name] = sum(wholes_opened(task.shelf, nest).values())
        return opened

    def plan(self, sets: int) -> Plan:
        """Return the plan of a number of sets."""
        job = self._job(sets)
        return plan_of(job.job, job.parts, self._nests(sets))

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
