"""What cannot be planned whatever nest is found, known before any search.

A check and a plan ask the same here, so that no job passes the one and is refused by the other
for what both could know:

    a part that is too large for every piece of its film, on this bed
    more film wanted by area than there is
    an outline that takes too long to grow by the distance that parts keep

All else that stops a plan is found when its files are read, or by the checks of its parts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from jobprep.disc.part import Part
from jobprep.errors import CannotDoError
from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.offset import offset
from jobprep.geometry.turned_box import fits_nowhere
from jobprep.model import Film
from jobprep.planning.film_task import FilmTask
from jobprep.planning.plan import OpenedSheet
from jobprep.planning.shelf import ShelfPiece
from jobprep.units import TURN, number, to_cm2

MOST_TURNS = 3600
"""In more steps than that a film is taken to let its parts be turned as they like."""


def no_room(tasks: Iterable[FilmTask]) -> Iterator[str]:
    """Say of each film, in one sentence each, what no nest can ever hold."""
    for task in tasks:
        name = task.film.name
        too_large = [part for part in task.parts if _is_too_large(task, part)]
        yield from (
            f"{name}: {part_words(part)} {_too_large_for(task, part)}" for part in too_large
        )
        yield from (f"{name}: {said}" for said in _cannot_be_grown(task))
        missing = missing_area(task)
        if missing > 0.0 and not too_large:
            yield f"{name}: no room for all parts; {more_film(missing)}"


def missing_area(task: FilmTask) -> float:
    """Return how much more film the parts take by area than there is, mm²; 0 if it is bought."""
    if any(piece.count is None for piece in task.shelf):
        return 0.0
    wanted = sum(part.quantity * area(part.region) for part in task.parts)
    there = sum((piece.count or 0) * area(piece.sheet.region) for piece in task.shelf)
    return max(0.0, wanted - there)


def more_film(missing: float) -> str:
    """Say that so much more film is needed, mm²."""
    return f"at least {to_cm2(missing):.0f} cm² more film is needed"


def part_words(part: Part) -> str:
    """Return a part by its number, name and size."""
    box = region_bounds(part.region)
    width, height = (number(side, 1) for side in (box.width, box.height))
    return f"part {part.number} ({part.name}, {width} × {height} mm)"


def size_words(sheet: OpenedSheet) -> str:
    """Return the sides of a sheet."""
    return f"{number(sheet.width, 1)} × {number(sheet.height, 1)} mm"


def _stock_size(piece: ShelfPiece) -> str:
    """Return the sides of a piece of stock as it stands in the job, not as it lies on the bed."""
    if not piece.is_turned:
        return size_words(piece.sheet)
    return size_words(replace(piece.sheet, width=piece.sheet.height, height=piece.sheet.width))


def _is_too_large(task: FilmTask, part: Part) -> bool:
    return _fits_none(task, part, [piece.sheet for piece in task.shelf])


def _fits_none(task: FilmTask, part: Part, sheets: Iterable[OpenedSheet]) -> bool:
    """Whether the box of a part is proven to fit on no sheet, less its margins."""
    edges = 2.0 * task.spacing.edge
    rooms = {(sheet.width - edges, sheet.height - edges) for sheet in sheets}
    turns = _turns(task.film)
    return all(
        min(room) <= 0.0 or fits_nowhere(part.region.outer, *room, turns)
        for room in sorted(rooms, reverse=True)
    )


def _turns(film: Film) -> Sequence[float] | None:
    """Return the angles that a film lets its parts be turned by, None where all are allowed."""
    step = film.rotation_step
    if step is None or step * MOST_TURNS < TURN:
        return None
    most = math.floor(TURN / 2.0 / step * (1.0 + 1e-9))
    return [number * step for number in range(-most, most + 1)]


def _too_large_for(task: FilmTask, part: Part) -> str:
    wholes = [piece.whole for piece in task.shelf]
    if _fits_none(task, part, [piece.sheet for piece in wholes]):
        sizes = " or ".join(dict.fromkeys(map(_stock_size, wholes)))
        return f"is too large for every sheet: {sizes}, less its margins"
    width, height = task.cutter.bed
    bed = f"{number(width, 1)} × {number(height, 1)} mm"
    return f"is too large for the bed of {task.cutter.name}, {bed}, less the margins of a sheet"


def _cannot_be_grown(task: FilmTask) -> Iterator[str]:
    for part in task.parts:
        try:
            offset(part.region, 0.5 * task.spacing.gap)
        except CannotDoError as problem:
            yield f"part {part.number} ({part.name}): {problem}"
