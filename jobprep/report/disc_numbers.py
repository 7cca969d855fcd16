"""What a page says of one disc as a machine part, in words and rows."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.disc.correction import SMALL
from jobprep.disc.facts import BalanceFacts, Comparison, DiscFacts
from jobprep.disc.machine_checks import UNITS
from jobprep.model.design import NO_FILM
from jobprep.units import TURN, number, significant, to_degrees, to_dial, to_ms

TIMING_COLUMNS = ("Sector", "Film", "Degrees", "Start ms", "End ms", "Shows ms", "Turn")


def machine_facts(facts: DiscFacts) -> Iterator[tuple[str, str]]:
    """Yield how a disc compares with its original, balances and turns, as name and value."""
    mass = facts.mass
    for comparison in facts.comparison:
        yield f"Against the original's {comparison.what}", _difference(comparison)
    if mass.heavy_direction is not None and mass.unbalance >= SMALL:
        dial = round(to_dial(mass.heavy_direction), 1) % 360.0
        yield "Heavy side", f"{number(dial, 1)}°"
    if facts.balance is not None:
        yield from _balance(facts.balance)


def timing_rows(facts: DiscFacts) -> list[tuple[str, ...]]:
    """Return a row for each sector in the order of ``TIMING_COLUMNS``, none for a still disc."""
    if facts.timing is None:
        return []
    return [
        (
            f"{each.layer}.{each.sector}{f' {each.name}' if each.name else ''}",
            "open" if each.film == NO_FILM else each.film,
            number(to_degrees(each.share * TURN), 2),
            f"{to_ms(each.start):.3f}",
            f"{to_ms(each.end):.3f}",
            f"{to_ms(each.duration):.3f}",
            f"{each.share:.1%}".replace("%", " %"),
        )
        for each in facts.timing.sectors
    ]


def timing_note(facts: DiscFacts) -> str:
    """Say where the times of the rows begin."""
    timing = facts.timing
    if timing is None or timing.index is None:
        start = "the design's zero at 12 o'clock"
    else:
        start = f"the {timing.index.edge} edge of the hole {timing.index.hole}"
    turn = "" if timing is None else f" One turn takes {to_ms(timing.turn):.3f} ms."
    return f"Times count from {start}; an end after one turn lies in the next.{turn}"


def _difference(comparison: Comparison) -> str:
    unit = UNITS[comparison.what]
    digits = 0 if comparison.what == "inertia" else 3
    share = f"{comparison.share:+.1%}".replace("%", " %")
    return f"{comparison.difference:+.{digits}f} {unit} ({share})".replace("-", "−")


def _balance(balance: BalanceFacts) -> Iterator[tuple[str, str]]:
    reached = balance.reached_grade
    grade = "beyond all standard grades" if reached is None else f"G {reached:g}"
    yield f"Balance grade at {number(balance.speed, 1)} r/min", grade
    if balance.grade is not None and balance.permissible is not None:
        met = "met as drawn" if balance.is_within else "not met"
        yield f"G {balance.grade:g} permits", f"{significant(balance.permissible)} g·mm: {met}"
    if balance.centring_error is not None:
        yield "Used up when off centre by", f"{significant(balance.centring_error)} mm"
    if balance.heaviest is not None:
        yield "Strongest pull on a sector's glue", f"{significant(balance.heaviest.force)} N"
