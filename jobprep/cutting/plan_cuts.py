"""From placed parts to the cuts of one sheet."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from jobprep.cutting.kerf import tool_paths
from jobprep.cutting.motion import film_motion
from jobprep.cutting.order import order_cuts
from jobprep.cutting.plan import Cut, CutPlan, Operation, PlacedPart, outer_order
from jobprep.cutting.route import KICKS_PER_STOP
from jobprep.geometry.outline import Path
from jobprep.model import Cutter, Film

NO_PART = -1
"""Instead of a part's index: a cut that goes round none."""


def plan_cuts(
    parts: Sequence[PlacedPart],
    kerf: float,
    cutter: Cutter,
    film: Film,
    kicks_per_stop: int = KICKS_PER_STOP,
) -> CutPlan:
    """Plan the cuts of one sheet: paths on the scrap side, their order, and the time they take.

    ``kerf`` is the full width of film the cutter removes, mm. ``kicks_per_stop`` says how long to
    search for short travel; the same parts always give the same plan.

    Raises
    ------
    CannotDoError
        When a hole or an opening is too narrow for the kerf, or the cutter has no cutting speed
        for the film.
    """
    parts = tuple(parts)
    paths = [tool_paths(part, kerf) for part in parts]
    cuts = order_cuts(parts, paths, kerf, kicks_per_stop)
    return CutPlan(
        parts=parts,
        cuts=cuts,
        freed=outer_order(cuts),
        kerf=kerf,
        motion=film_motion(cuts, cutter, film),
    )


def with_trims(plan: CutPlan, trims: Sequence[Path], cutter: Cutter, film: Film) -> CutPlan:
    """Return the plan with the length and time of straight cuts that follow all others."""
    if not trims:
        return plan
    return replace(plan, motion=film_motion(cuts_with_trims(plan, trims), cutter, film))


def cuts_with_trims(plan: CutPlan, trims: Sequence[Path]) -> tuple[Cut, ...]:
    """Return all that is cut of a sheet, in order: the straight cuts of its trims are the last."""
    if not trims:
        return plan.cuts
    return (*plan.cuts, Cut(operation=Operation.CUT_OUTER, part=NO_PART, strokes=tuple(trims)))
