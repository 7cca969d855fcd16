"""What is worth telling of a plan: what is too large, found no room, is cut not quite as asked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from jobprep.disc.part import Part
from jobprep.errors import Finding, Source
from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.turned_box import fits_rectangle
from jobprep.nesting.nest import Nest
from jobprep.planning.film_task import FilmTask, NestedFilm
from jobprep.planning.plan import FilmPlan, OpenedSheet
from jobprep.units import number, to_cm2


def oversize_remarks(source: Source, tasks: Iterable[FilmTask]) -> Iterator[Finding]:
    """Say which parts are too large for every piece of their film, as far as their boxes tell."""
    for task in tasks:
        edges = 2.0 * task.spacing.edge
        sheets = [piece.sheet for piece in task.shelf]
        for part in task.parts:
            if not any(
                fits_rectangle(part.region.outer, sheet.width - edges, sheet.height - edges)
                for sheet in sheets
            ):
                sizes = " or ".join(dict.fromkeys(map(_size, sheets)))
                large = f"{_named(part)} looks too large for any sheet"
                yield source.caution(
                    "stock", f"{task.film.name}: {large}: {sizes}, less its margins"
                )


def unplaced(nested: Iterable[NestedFilm]) -> Iterator[str]:
    """Say of each film which parts found no room, and what is known of the reason."""
    for task, nest in nested:
        remaining = [
            (part, count) for part, count in zip(task.parts, nest.unplaced, strict=True) if count
        ]
        if remaining:
            named = ", ".join(f"{_of(part, count)}{_named(part)}" for part, count in remaining)
            left = sum(count * area(part.region) for part, count in remaining)
            yield f"{task.film.name}: {_why_unplaced(task, nest, named, left)}"


def _why_unplaced(task: FilmTask, nest: Nest, named: str, left: float) -> str:
    """Say that ``named`` parts of the area ``left`` found no room, and no more than is known."""
    if nest.is_interrupted or task.budget.is_over():
        return f"no room found for {named}; the search was ended early, more time may find some"
    endless = [piece.sheet for piece in task.shelf if piece.count is None]
    if endless:  # more film would not help
        sizes = " or ".join(map(_size, endless))
        return f"no room for {named}; a new sheet is {sizes}, less its margins"
    wanted = sum(part.quantity * area(part.region) for part in task.parts)
    missing = wanted - sum((piece.count or 0) * area(piece.sheet.region) for piece in task.shelf)
    if missing > 0.0:
        return f"no room for {named}; at least {to_cm2(missing):.0f} cm² more film is needed"
    found = f"no room found for {named}, {to_cm2(left):.0f} cm²"
    return f"{found}; more film is needed, or a longer search"


def cutting_remarks(source: Source, films: Iterable[FilmPlan]) -> Iterator[Finding]:
    """Say what of the job's wishes for the cuts is not quite as asked, film by film."""
    for film_plan in films:
        name, count = film_plan.film.name, len(film_plan.sheets)
        for index, sheet in enumerate(film_plan.sheets, start=1):
            where = name if count == 1 else f"{name}, sheet {index}"
            for remark in sheet.cuts.remarks:
                yield source.caution("cutting", f"{where}: {remark}")


def _size(sheet: OpenedSheet) -> str:
    return f"{number(sheet.width, 1)} × {number(sheet.height, 1)} mm"


def _of(part: Part, count: int) -> str:
    return "" if part.quantity == 1 else f"{count} of {part.quantity} copies of "


def _named(part: Part) -> str:
    box = region_bounds(part.region)
    width, height = (number(side, 1) for side in (box.width, box.height))
    return f"part {part.number} ({part.name}, {width} × {height} mm)"
