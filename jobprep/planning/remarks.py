"""What is worth saying about a plan: what found no room, what is not cut quite as asked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from jobprep.disc.part import Part
from jobprep.errors import Finding, Source
from jobprep.geometry.measure import area
from jobprep.model import Job
from jobprep.nesting.nest import Nest
from jobprep.planning.film_task import FilmTask, NestedFilm
from jobprep.planning.plan import FilmPlan
from jobprep.planning.room import missing_area, more_film, part_words, size_words
from jobprep.units import to_cm2


def unplaced(nested: Iterable[NestedFilm]) -> Iterator[str]:
    """Yield for each film which parts found no room, and what is known of the reason."""
    for task, nest in nested:
        remaining = [
            (part, count) for part, count in zip(task.parts, nest.unplaced, strict=True) if count
        ]
        if remaining:
            named = ", ".join(f"{_of(part, count)}{part_words(part)}" for part, count in remaining)
            left = sum(count * area(part.region) for part, count in remaining)
            yield f"{task.film.name}: {_why_unplaced(task, nest, named, left)}"


def _why_unplaced(task: FilmTask, nest: Nest, named: str, left: float) -> str:
    """Say that ``named`` parts of the area ``left`` found no room, and only what is known."""
    if nest.is_interrupted or task.budget.is_over():
        return f"no room found for {named}; the search was ended early, more time may find some"
    endless = [piece.sheet for piece in task.shelf if piece.count is None]
    if endless:  # more film would not help
        sizes = " or ".join(dict.fromkeys(map(size_words, endless)))
        return f"no room for {named}; a new sheet is {sizes}, less its margins"
    if (missing := missing_area(task)) > 0.0:
        return f"no room for {named}; {more_film(missing)}"
    found = f"no room found for {named}, {to_cm2(left):.0f} cm²"
    return f"{found}; more film is needed, or a longer search"


def cutting_remarks(source: Source, films: Iterable[FilmPlan]) -> Iterator[Finding]:
    """Yield, film by film, what is not cut quite as the job asks."""
    for film_plan in films:
        name, count = film_plan.film.name, len(film_plan.sheets)
        for index, sheet in enumerate(film_plan.sheets, start=1):
            where = name if count == 1 else f"{name}, sheet {index}"
            for remark in sheet.cuts.remarks:
                yield source.caution("cutting", f"{where}: {remark}")


def assumed_times(job: Job, films: Iterable[FilmPlan]) -> Iterator[Finding]:
    """Say which values the times rest on that nobody has chosen for this cutter."""
    cutter = job.cutter
    names = (name for film_plan in films for name in cutter.assumed_for(film_plan.film))
    assumed = [name for name in dict.fromkeys(names) if not name.startswith("kerf.")]
    if assumed:
        yield job.source.caution(
            "cutter",
            f"times rest on values of {cutter.name} that nobody has chosen: {', '.join(assumed)}",
        )


def _of(part: Part, count: int) -> str:
    return "" if part.quantity == 1 else f"{count} of {part.quantity} copies of "
