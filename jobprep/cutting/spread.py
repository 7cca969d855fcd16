"""Spread the heat: cut neighbours in space apart in time, as far as order and travel allow.

A short route goes from neighbour to neighbour, which is just where the film is still warm. From
there cuts are moved forwards and backwards in the order where that is worth the travel. One
setting trades the two: how many seconds of travel it is worth to keep a cut from being made
right on another one that is still hot. 0 leaves the short route as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from random import Random

from jobprep.cutting.heat import CutHeat, cut_heat
from jobprep.cutting.motion import HOME
from jobprep.cutting.order import choose_starts
from jobprep.cutting.plan import Cut, Operation, PlacedPart
from jobprep.model import Cutter, Film

SPREAD = 0.5
"""Seconds of travel for one crowding, for film of about 0.1 mm (common practice, no source)."""

FARTHEST = 16
"""How far a cut is moved in the order at most."""

CONTEXT = 16
"""How many cuts before and after a change are looked at for its effect."""

TRIALS_PER_CUT = 60
MOST_TRIALS = 20_000
"""Changes tried: the number for each cut, and in all."""

SEED = 1


def spread_heat(
    cuts: Sequence[Cut],
    parts: Sequence[PlacedPart],
    kerf: float,
    film: Film,
    cutter: Cutter,
    spread: float = SPREAD,
) -> tuple[Cut, ...]:
    """Return the cuts in an order that keeps hot neighbours apart; marks stay first.

    To be applied before shared cuts, tabs and leads. The same cuts give the same order.
    """
    marks = [cut for cut in cuts if cut.operation is Operation.MARK]
    contours = [cut for cut in cuts if cut.operation is not Operation.MARK]
    if spread <= 0.0 or len(contours) < 3:
        return tuple(cuts)
    home = marks[-1].strokes[-1][-1].end if marks else HOME
    heat = cut_heat(contours, parts, film, cutter, home)
    order = list(range(len(contours)))
    chance = Random(SEED)
    for _ in range(min(MOST_TRIALS, TRIALS_PER_CUT * len(contours))):
        _try_change(order, heat, spread, chance)
    return (*marks, *choose_starts([contours[index] for index in order], kerf, home))


def _try_change(order: list[int], heat: CutHeat, spread: float, chance: Random) -> None:
    """Swap, move or reverse a few cuts somewhere, if that is better and no release forbids it."""
    first = chance.randrange(len(order) - 1)
    last = min(first + 1 + chance.randrange(FARTHEST), len(order) - 1)
    old = order[first : last + 1]
    new = _changed(old, chance)
    if not _is_allowed(new, heat.release):
        return
    before = order[max(0, first - CONTEXT) : first]
    after = order[last + 1 : last + 1 + CONTEXT]
    cost = {
        name: heat.travel_seconds(run) + spread * heat.crowding(run)
        for name, run in (("old", [*before, *old, *after]), ("new", [*before, *new, *after]))
    }
    if not before:
        cost["old"] += heat.move_seconds(None, old[0])
        cost["new"] += heat.move_seconds(None, new[0])
    if cost["new"] < cost["old"]:
        order[first : last + 1] = new


def _changed(run: Sequence[int], chance: Random) -> list[int]:
    kind = chance.randrange(4)
    if kind == 0:
        return [run[-1], *run[1:-1], run[0]]
    if kind == 1:
        return [*run[1:], run[0]]
    if kind == 2:
        return [run[-1], *run[:-1]]
    return list(reversed(run))


def _is_allowed(run: Sequence[int], release: Sequence[int]) -> bool:
    """Return whether no cut of a run stands behind its release."""
    met: set[int] = set()
    for cut in run:
        if release[cut] in met:
            return False
        met.add(cut)
    return True
