"""One film of a job: its parts nested on the shelf's pieces, its cuts in order."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from jobprep.cutting.plan import PlacedPart
from jobprep.disc.part import Part
from jobprep.geometry.outline import moved_path, moved_region
from jobprep.model import Film, Job
from jobprep.nesting.nest import Budget, Item, Nest, Sheet, Spacing
from jobprep.planning.bed import shelf_on_bed
from jobprep.planning.plan import FilmPlan, OpenedSheet, SheetPlan
from jobprep.planning.shelf import ShelfPiece, as_opened
from jobprep.planning.spacing import asked_spacing, kerf_of

Progress = Callable[[str, int, float, float], None]
"""Told a film, its opened sheets, their least possible number and their utilisation so far."""


class FilmTask(NamedTuple):
    """One film of a job: its parts, the pieces they may be cut from, and s to search for a nest."""

    film: Film
    parts: tuple[Part, ...]
    shelf: tuple[ShelfPiece, ...]
    seconds: float


class NestProblem(NamedTuple):
    """What is to be nested: the parts' items, the shelf's sheets, and how close parts may lie."""

    items: tuple[Item, ...]
    sheets: tuple[Sheet, ...]
    spacing: Spacing


def film_tasks(job: Job, parts: Sequence[Part]) -> Iterator[FilmTask]:
    """Yield the films of a job in the order of its parts; each gets its share of the time."""
    total = sum(part.quantity for part in parts)
    for name in dict.fromkeys(part.film for part in parts):
        own = tuple(part for part in parts if part.film == name)
        share = sum(part.quantity for part in own) / total
        film = job.films[name]
        yield FilmTask(film, own, shelf_on_bed(job, film), job.nesting.seconds * share)


def nest_problem(
    job: Job, film: Film, parts: Sequence[Part], shelf: Sequence[ShelfPiece]
) -> NestProblem:
    """Return the nesting problem of one film."""
    return NestProblem(
        items=tuple(
            Item(region=part.region, quantity=part.quantity, rotation_step=film.rotation_step)
            for part in parts
        ),
        sheets=tuple(
            Sheet(
                region=piece.sheet.region,
                count=piece.count,
                cost=piece.cost,
                leftover=bool(piece.sheet.label),
            )
            for piece in shelf
        ),
        spacing=asked_spacing(job, film),
    )


def nest_film(
    job: Job,
    film: Film,
    parts: Sequence[Part],
    shelf: Sequence[ShelfPiece],
    seconds: float,
    progress: Progress | None,
    old: Nest | None = None,
) -> Nest:
    """Nest the parts of one film and prove the nest before anybody uses it.

    ``old`` is a nest of them on this shelf, that may hold no longer, to start from. With no seconds
    at all the sheets are filled and no better nest is searched for.
    """
    # Compiled kernels load slowly, and a mere check needs none.
    from jobprep.nesting.check import check_nest
    from jobprep.nesting.first_use import compile_side_by_side
    from jobprep.nesting.search import nest_parts
    from jobprep.nesting.settle import settle

    problem = nest_problem(job, film, parts, shelf)
    evaluations = job.nesting.evaluations if seconds > 0.0 else None
    budget = Budget(seconds=seconds, evaluations=evaluations, seed=job.nesting.seed)

    def tell(nest: Nest, utilisation: float, bound: float) -> None:
        if progress is not None:
            progress(film.title, len(nest.sheets), bound, utilisation)

    compile_side_by_side()
    nest = nest_parts(*problem, budget, tell, old=old)
    if job.cutting.share_cuts:
        nest = settle(*problem, nest)
    check_nest(*problem, nest)
    return nest


def cut_film(
    job: Job, film: Film, parts: Sequence[Part], shelf: Sequence[ShelfPiece], nest: Nest
) -> FilmPlan:
    """Plan the cuts of a proven nest, sheet by sheet, and what is worth keeping of each."""
    kerf = kerf_of(job, film)
    sheets = [
        _cut_sheet(job, film, kerf, shelf[kind], _placed_parts(parts, nest, number))
        for number, kind in enumerate(nest.sheets)
    ]
    return FilmPlan(film=film, kerf=kerf, parts=tuple(parts), nest=nest, sheets=tuple(sheets))


def opened_sheets(
    job: Job, film: Film, parts: Sequence[Part], shelf: Sequence[ShelfPiece], nest: Nest
) -> list[OpenedSheet]:
    """Return the sheets that a nest opens; of a roll, the length it takes."""
    edge = asked_spacing(job, film).edge
    return [
        as_opened(shelf[kind], _placed_parts(parts, nest, number), edge)
        for number, kind in enumerate(nest.sheets)
    ]


def _cut_sheet(
    job: Job, film: Film, kerf: float, piece: ShelfPiece, parts: Sequence[PlacedPart]
) -> SheetPlan:
    from jobprep.cutting.leftovers import leftovers, trims
    from jobprep.cutting.plan_cuts import plan_cuts, with_trims
    from jobprep.cutting.refine import refine

    sheet = as_opened(piece, parts, asked_spacing(job, film).edge)
    rule = (kerf, job.leftovers, job.nesting)
    kept = leftovers(sheet.region, parts, *rule)
    trimmed = trims(sheet.region, parts, *rule)
    ordered = plan_cuts(parts, kerf, job.cutter, film)
    refined = refine(ordered, sheet.region, film, job.cutter, job.cutting)
    cuts = with_trims(refined, trimmed, job.cutter, film)
    return SheetPlan(sheet=sheet, cuts=cuts, leftovers=kept, trims=trimmed)


def _placed_parts(parts: Sequence[Part], nest: Nest, sheet: int) -> list[PlacedPart]:
    placed = []
    for placement in nest.placements:
        if placement.sheet == sheet:
            part = parts[placement.item]
            place = (placement.angle, placement.x, placement.y)
            placed.append(
                PlacedPart(
                    number=part.number,
                    name=part.name,
                    copy=placement.copy + 1,
                    region=moved_region(part.region, *place),
                    marks=tuple(moved_path(mark, *place) for mark in part.marks),
                )
            )
    return placed
