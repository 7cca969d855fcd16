"""Whether a recorded nest still holds with the kerf it is cut with now, and the film it leaves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from jobprep.disc.part import Part
from jobprep.model import Film, Job
from jobprep.nesting.check import TOLERANCE, NestError, check_nest, closest
from jobprep.nesting.nest import Nest
from jobprep.planning.bed import fits_bed, too_large
from jobprep.planning.plan_film import nest_problem
from jobprep.planning.shelf import ShelfPiece
from jobprep.planning.spacing import asked_spacing, kerf_of, least_spacing
from jobprep.units import number


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmLeft:
    """The narrowest strips that a kept nest leaves, mm, at most what the job asks for.

    ``web`` stands between two slots, ``margin`` between a slot and the edge of its sheet.
    """

    web: float
    margin: float


def film_left(
    job: Job, film: Film, parts: Sequence[Part], shelf: Sequence[ShelfPiece], nest: Nest
) -> FilmLeft:
    """Return what the slots of a nest leave of the web and the margin, less than 0 where they meet.

    The nest may have been made for another kerf, or by another rule; it lies on its sheets.
    """
    asked = asked_spacing(job, film)
    problem = nest_problem(job, film, parts, shelf)
    found = closest(problem.items, problem.sheets, asked, nest)
    return FilmLeft(
        web=job.nesting.web - (asked.gap - found.gap),
        margin=job.nesting.margin - (asked.edge - found.edge),
    )


def why_not_kept(
    job: Job, film: Film, parts: Sequence[Part], shelf: Sequence[ShelfPiece], nest: Nest
) -> str:
    """Say why a nest cannot be kept, "" where it can."""
    for piece in shelf:
        if not fits_bed(piece.sheet, job.cutter):
            return too_large(piece.sheet, job.cutter)
    problem = nest_problem(job, film, parts, shelf)
    try:
        check_nest(problem.items, problem.sheets, least_spacing(job, film), nest)
    except NestError as error:
        left = film_left(job, film, parts, shelf, nest)
        return _too_near(job, film, left) or str(error)
    return ""


def _too_near(job: Job, film: Film, left: FilmLeft) -> str:
    """Say which strip of film would be too narrow, "" where none is."""
    asked, least = asked_spacing(job, film), least_spacing(job, film)
    web = job.nesting.web - (asked.gap - least.gap)
    margin = job.nesting.margin - (asked.edge - least.edge)
    would = f"with a kerf of {kerf_of(job, film):g} mm"
    is_too_near = left.web < web - TOLERANCE
    if is_too_near and job.cutting.share_cuts:
        return f"{would} parts would lie less than one kerf apart"
    if is_too_near:
        return f"{would} {_strip(left.web, web, 'between two slots')}"
    if left.margin < margin - TOLERANCE:
        return f"{would} {_strip(left.margin, margin, 'between a slot and the edge of its sheet')}"
    return ""


def _strip(left: float, least: float, where: str) -> str:
    is_left = f"only {number(left, 3)} mm" if left > 0.0 else "nothing"
    return f"{is_left} would be left {where}, {number(least, 3)} mm are needed"
