"""What holds each piece of a disc, and how hard it pulls there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from jobprep.disc.congruence import same_region
from jobprep.disc.facts import DiscFacts
from jobprep.disc.hold import By, Hold, disc_hold
from jobprep.disc.mass import piece_bodies
from jobprep.disc.part import Part
from jobprep.facts.told import (
    NOT_TOLD,
    SMALL,
    UNTIL_CHOSEN,
    FactLine,
    Grid,
    Told,
    at_least,
    numbers_at,
)
from jobprep.geometry.outline import moved_region
from jobprep.model import Job
from jobprep.units import number, significant, to_kpa

WAYS: dict[By, str] = {
    "hub": "the hub",
    "pin": "the axle or a tab",
    "glue": "glue",
    "covers": "covers alone",
    "nothing": "nothing",
}
"""How each way of holding is worded, the strongest first."""
COLUMNS = ("Layer", "Pieces", "Held by", "Least mm²", "Pull N", "kPa")
"""Area and pull are those of the piece that holds least and of the one that pulls hardest, the
pressure is the most of any piece; of two faces that are glued one counts."""
NOTE = "What glue and friction bear is not known: test behind a guard."


def told(disc: DiscFacts) -> Told:
    """Return who holds how many pieces, and of each layer the area that holds and the pull."""
    rows = [_row(disc, own) for own in _groups(disc.hold)]
    turns = disc.design.angular_speed is not None
    columns = COLUMNS if turns else COLUMNS[:4]
    grid = Grid(columns, tuple(rows), words=(0, 2), note=NOTE if turns else "") if rows else None
    return Told(
        lines=tuple(_lines(disc)), grid=grid, data={"hold": [_data(each) for each in disc.hold]}
    )


def parts_held(job: Job, parts: Sequence[Part]) -> dict[int, By]:
    """Return part number -> what holds its pieces in their disc, the weakest where they differ."""
    found: dict[int, By] = {}
    for index, order in enumerate(job.discs):
        holds = disc_hold(order.design, piece_bodies(order.design, job.films))
        dots = iter([hold for hold in holds if hold.dot])
        for part in parts:
            if part.disc == index:
                own = list(_pieces_of(part, holds)) if part.layer else [next(dots)]
                found[part.number] = max((hold.by for hold in own), key=list(WAYS).index)
    return found


def _pieces_of(part: Part, holds: Sequence[Hold]) -> Iterator[Hold]:
    for turn, sector in zip(part.turns, part.sectors, strict=True):
        place = (part.layer, sector)
        own = [each for each in holds if (each.piece.layer, each.piece.sector) == place]
        own = [each for each in own if not each.dot]
        if len(own) > 1:  # the sector falls into several pieces
            region = moved_region(part.region, turn, 0.0, 0.0)
            own = [each for each in own if same_region(region, each.piece.region)]
        yield from own


def _lines(disc: DiscFacts) -> Iterator[FactLine]:
    counts = {by: sum(hold.by == by for hold in disc.hold) for by in WAYS}
    said = [f"{count} by {WAYS[by]}" for by, count in counts.items() if count]
    if said:
        yield FactLine("Pieces held", ", ".join(said))
    pulling = [hold for hold in disc.hold if hold.pull is not None]
    left = len(disc.hold) - len(pulling)
    what = "1 piece" if left == 1 else f"{left} pieces"
    open_ = f"that of {what} whose film is to be chosen is {NOT_TOLD}"
    if not pulling:
        if disc.design.angular_speed is not None and disc.hold:
            yield FactLine("Pull", NOT_TOLD, "", UNTIL_CHOSEN)
        return
    hold = max(pulling, key=lambda each: each.pull or 0.0)
    where = f"m r ω² on {_place(disc, hold)} ({hold.piece.film}), the hardest"
    if hold.pressure is not None:
        pressure = f"{at_least(to_kpa(hold.pressure))} kPa"
        where += f"; {WAYS[hold.by]}: {number(hold.grip.area, 0)} mm² at {pressure}"
    elif not hold.is_held:
        where += "; nothing holds it"
    yield FactLine("Pull", at_least(hold.pull or 0.0), "N", f"{where}; {open_}" if left else where)


def _place(disc: DiscFacts, hold: Hold) -> str:
    piece = hold.piece
    if hold.dot:
        return f"the counterweight {hold.dot}"
    named = numbers_at(disc.numbers, piece.layer, piece.sector)
    return f"part {named}" if named else f"layer {piece.layer}"


def _groups(holds: Sequence[Hold]) -> Iterator[list[Hold]]:
    """Yield the pieces of a layer that are held in one way; counterweights come last."""
    groups: dict[tuple[bool, int, By], list[Hold]] = {}
    for hold in holds:
        layer = 0 if hold.dot else hold.piece.layer
        groups.setdefault((bool(hold.dot), layer, hold.by), []).append(hold)
    yield from groups.values()


def _row(disc: DiscFacts, own: Sequence[Hold]) -> tuple[str, ...]:
    first = own[0]
    layer = first.piece.layer
    name = "counterweight" if first.dot else f"{layer} {disc.design.layers[layer - 1].name}"
    least = min(hold.grip.area for hold in own)
    cells = (name, str(len(own)), WAYS[first.by], number(least, 0) if least else "")
    if disc.design.angular_speed is None:
        return cells
    pressures = [hold.pressure for hold in own if hold.pressure is not None]
    if any(hold.pull is None for hold in own):
        return (*cells, "?", "?")
    pull = _short(max(hold.pull or 0.0 for hold in own))
    return (*cells, pull, _short(to_kpa(max(pressures))) if pressures else "")


def _short(value: float) -> str:
    return f"< {SMALL:g}" if value < SMALL else significant(value)


def _data(hold: Hold) -> dict[str, Any]:
    return {
        "layer": hold.piece.layer,
        "sector": hold.piece.sector,
        "piece": hold.piece.piece,
        "counterweight": hold.dot or None,
        "film": hold.piece.film,
        "held_by": hold.by,
        "held_area_mm2": hold.grip.area,
        "pull_n": hold.pull,
        "pressure_kpa": None if hold.pressure is None else to_kpa(hold.pressure),
    }
