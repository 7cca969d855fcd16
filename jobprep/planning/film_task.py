"""One film of a job with all that its nest and its cuts are made from.

The job is looked into here alone; every later step is handed a task.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from jobprep.disc.part import Part
from jobprep.model import Cutter, Cutting, Film, Job, Leftovers, Nesting
from jobprep.nesting.nest import Budget, Item, Keeping, Nest, Sheet, Spacing, never
from jobprep.planning.bed import shelf_on_bed
from jobprep.planning.shelf import ShelfPiece
from jobprep.planning.spacing import asked_spacing, least_spacing


class NestProblem(NamedTuple):
    """What is to be nested: the parts' items, the shelf's sheets, and how close parts may lie."""

    items: tuple[Item, ...]
    sheets: tuple[Sheet, ...]
    spacing: Spacing


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmTask:
    """One film: its parts, the pieces they may be cut from, how to nest and how to cut them.

    ``budget`` is what may be spent on the search for a nest, without seconds nothing.
    """

    film: Film
    parts: tuple[Part, ...]
    shelf: tuple[ShelfPiece, ...]
    budget: Budget
    kerf: float
    nesting: Nesting
    cutting: Cutting
    cutter: Cutter
    leftovers: Leftovers

    @property
    def spacing(self) -> Spacing:
        """How near each other and the edge the job lets parts lie."""
        return asked_spacing(self.kerf, self.nesting, self.cutting)

    @property
    def least_spacing(self) -> Spacing:
        """How near they may come before a recorded nest is given up."""
        return least_spacing(self.kerf, self.nesting, self.cutting, self.film)

    @property
    def keeping(self) -> Keeping:
        """What straight cuts beyond the parts leave worth keeping, as the nest is to see it.

        Of an outline with bites the nest sees what such cuts would leave of it.
        """
        rule = self.leftovers
        disc = rule.disc_diameter
        room = 0.0 if disc is None else disc + 2.0 * (self.kerf + self.nesting.margin)
        return Keeping(
            least_side=max(rule.smallest_side, room),
            least_area=rule.smallest_area,
            beyond=2.0 * self.kerf + self.nesting.web,
            slot=self.kerf,
            n_cuts=1 if rule.shape == "trim" else 2,
        )

    @property
    def problem(self) -> NestProblem:
        """What is to be nested."""
        step = self.film.rotation_step
        return NestProblem(
            items=tuple(
                Item(region=part.region, quantity=part.quantity, rotation_step=step)
                for part in self.parts
            ),
            sheets=tuple(
                Sheet(
                    region=piece.sheet.region,
                    count=piece.count,
                    cost=piece.cost,
                    leftover=bool(piece.sheet.label),
                    keeping=None if piece.is_roll else self.keeping,
                )
                for piece in self.shelf
            ),
            spacing=self.spacing,
        )

    def within(self, seconds: float) -> FilmTask:
        """Return the task with this number of seconds to search."""
        return replace(self, budget=replace(self.budget, seconds=seconds))

    def after(self, nest: Nest) -> FilmTask:
        """Return the task that is left once a nest was made: hurried if that was interrupted."""
        return self.within(0.0) if nest.is_interrupted else self


class NestedFilm(NamedTuple):
    """A film and the nest of its parts on the pieces of its shelf."""

    task: FilmTask
    nest: Nest


def film_task(
    job: Job,
    film: Film,
    parts: Sequence[Part],
    shelf: Sequence[ShelfPiece],
    seconds: float = 0.0,
    is_over: Callable[[], bool] = never,
) -> FilmTask:
    """Return what a job says of one film, with a number of seconds to search.

    Once ``is_over`` holds, the best nest so far is taken.
    """
    kerf = job.kerf_for(film.name)
    if kerf is None:  # the reader of the job makes sure there is one
        raise ValueError(f"no kerf for {film.name}")
    return FilmTask(
        film=film,
        parts=tuple(parts),
        shelf=tuple(shelf),
        budget=Budget(
            seconds=seconds,
            evaluations=job.nesting.evaluations,
            seed=job.nesting.seed,
            is_over=is_over,
        ),
        kerf=kerf,
        nesting=job.nesting,
        cutting=job.cutting,
        cutter=job.cutter,
        leftovers=job.leftovers,
    )


def film_tasks(
    job: Job, parts: Sequence[Part], is_over: Callable[[], bool] = never
) -> Iterator[FilmTask]:
    """Yield the films of a job in the order of its parts; each gets its share of the time."""
    total = sum(part.quantity for part in parts)
    for name in dict.fromkeys(part.film for part in parts):
        own = [part for part in parts if part.film == name]
        share = sum(part.quantity for part in own) / total
        film = job.films[name]
        seconds = job.nesting.seconds * share
        yield film_task(job, film, own, shelf_on_bed(job, film), seconds, is_over)
