"""One film of a job: its parts nested on the shelf's pieces, its cuts in order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from jobprep.cutting.plan import PlacedPart
from jobprep.nesting.nest import Nest
from jobprep.planning.film_task import FilmTask
from jobprep.planning.nest_so_far import Progress, nest_so_far
from jobprep.planning.opening import opened, placed_parts
from jobprep.planning.plan import FilmPlan, OpenedSheet, SheetPlan


def nest_film(task: FilmTask, progress: Progress | None, old: Nest | None = None) -> Nest:
    """Nest the parts of one film and prove the nest before anybody uses it.

    ``old`` is a nest of them on this shelf, that may hold no longer, to start from. With no seconds
    at all the sheets are filled and no better nest is searched for.
    """
    # Compiled kernels load slowly, and a mere check needs none.
    from jobprep.nesting.check import check_nest
    from jobprep.nesting.first_use import compile_side_by_side
    from jobprep.nesting.search import nest_parts
    from jobprep.nesting.shared_nest import nest_shared

    problem, budget = task.problem, task.budget
    if budget.seconds <= 0.0:
        budget = replace(budget, evaluations=None)

    def tell(nest: Nest, last_used: float) -> None:
        if progress is not None:
            progress(nest_so_far(task, nest, last_used))

    compile_side_by_side()
    search = nest_shared if task.cutting.share_cuts else nest_parts
    nest = search(*problem, budget, None if progress is None else tell, old=old)
    check_nest(*problem, nest)
    return nest


def cut_film(task: FilmTask, nest: Nest) -> FilmPlan:
    """Plan the cuts of a proven nest, sheet by sheet, and what is worth keeping of each."""
    sheets, cut_up = opened(task, nest)
    return FilmPlan(
        film=task.film,
        kerf=task.kerf,
        parts=task.parts,
        nest=nest,
        sheets=tuple(
            _cut_sheet(task, sheet, placed_parts(task.parts, nest, number))
            for number, sheet in enumerate(sheets)
        ),
        cut_up=cut_up,
    )


def _cut_sheet(task: FilmTask, sheet: OpenedSheet, parts: Sequence[PlacedPart]) -> SheetPlan:
    from jobprep.cutting.leftovers import leftovers
    from jobprep.cutting.plan_cuts import plan_cuts, with_trims
    from jobprep.cutting.refine import refine
    from jobprep.cutting.straight_cuts import trims

    film, cutter = task.film, task.cutter
    rule = (task.kerf, task.leftovers, task.nesting)
    kept = leftovers(sheet.region, parts, *rule)
    trimmed = trims(sheet.region, parts, *rule)
    no_search = (0,) if task.budget.is_over() else ()
    ordered = plan_cuts(parts, task.kerf, cutter, film, *no_search)
    refined = refine(ordered, sheet.region, film, cutter, task.cutting, trimmed)
    cuts = with_trims(refined, trimmed, cutter, film)
    return SheetPlan(sheet=sheet, cuts=cuts, leftovers=kept, trims=trimmed)
