"""Whether a recorded nest still holds with the kerf it is cut with now, and the film it leaves."""

from __future__ import annotations

from dataclasses import dataclass

from jobprep.nesting.check import TOLERANCE, NestError, check_nest, closest
from jobprep.planning.bed import fits_bed, too_large
from jobprep.planning.film_task import FilmTask, NestedFilm
from jobprep.units import number


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmLeft:
    """The narrowest strips that a kept nest leaves, mm, at most what the job asks for.

    ``web`` stands between two slots, ``margin`` between a slot and the edge of its sheet.
    """

    web: float
    margin: float


def film_left(nested: NestedFilm) -> FilmLeft:
    """Return what the slots of a nest leave of the web and the margin, less than 0 where they meet.

    The nest may have been made for another kerf, or by another rule; it lies on its sheets.
    """
    task, nesting = nested.task, nested.task.nesting
    items, sheets, asked = task.problem
    found = closest(items, sheets, asked, nested.nest)
    return FilmLeft(
        web=nesting.web - (asked.gap - found.gap),
        margin=nesting.margin - (asked.edge - found.edge),
    )


def why_not_kept(nested: NestedFilm) -> str:
    """Say why a nest cannot be kept, "" where it can."""
    task = nested.task
    for piece in task.shelf:
        if not fits_bed(piece.sheet, task.cutter):
            return too_large(piece.sheet, task.cutter)
    items, sheets, _ = task.problem
    try:
        check_nest(items, sheets, task.least_spacing, nested.nest)
    except NestError as error:
        return _too_near(task, film_left(nested)) or str(error)
    return ""


def _too_near(task: FilmTask, left: FilmLeft) -> str:
    """Say which strip of film would be too narrow, "" where none is."""
    asked, least, nesting = task.spacing, task.least_spacing, task.nesting
    web = nesting.web - (asked.gap - least.gap)
    margin = nesting.margin - (asked.edge - least.edge)
    would = f"with a kerf of {task.kerf:g} mm"
    is_too_near = left.web < web - TOLERANCE
    if is_too_near and task.cutting.share_cuts:
        return f"{would} parts would lie less than one kerf apart"
    if is_too_near:
        return f"{would} {_strip(left.web, web, 'between two slots')}"
    if left.margin < margin - TOLERANCE:
        return f"{would} {_strip(left.margin, margin, 'between a slot and the edge of its sheet')}"
    return ""


def _strip(left: float, least: float, where: str) -> str:
    is_left = f"only {number(left, 3)} mm" if left > 0.0 else "nothing"
    return f"{is_left} would be left {where}, {number(least, 3)} mm are needed"
