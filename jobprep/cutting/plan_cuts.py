"""From placed parts to the cuts of one sheet."""

from __future__ import annotations

from collections.abc import Sequence

from jobprep.cutting.kerf import tool_paths
from jobprep.cutting.motion import motion
from jobprep.cutting.order import order_cuts
from jobprep.cutting.plan import CutPlan, PlacedPart
from jobprep.cutting.route import KICKS_PER_STOP
from jobprep.errors import CannotDoError
from jobprep.model import Cutter, Film


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
    speed = cutter.cut_speed_for(film)
    if speed is None:
        raise CannotDoError(f"the cutter {cutter.name} has no cutting speed for {film.name}")
    parts = tuple(parts)
    paths = [tool_paths(part, kerf) for part in parts]
    cuts = order_cuts(parts, paths, kerf, kicks_per_stop)
    return CutPlan(parts=parts, cuts=cuts, kerf=kerf, motion=motion(cuts, cutter, speed))
