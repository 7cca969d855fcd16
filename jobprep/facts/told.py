"""What a fact gives to whoever shows it, and the words and digits that facts share."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from jobprep.disc.part import PieceNumbers
from jobprep.units import TURN, number, significant, to_degrees, to_dial

SMALL = 1e-3
"""Below this a number of g·mm, mm/s or N is shown as less than this: rounding of the drawing."""


NOT_TOLD = "not known"
"""Instead of a value that depends on a film to be chosen."""
UNTIL_CHOSEN = "until all films are chosen"


def numbers_at(numbers: PieceNumbers, layer: int, sector: int) -> str:
    """Return the numbers of the parts at a place of a disc, nothing where none is cut for it."""
    return "+".join(map(str, numbers.get((layer, sector), ())))


class FactLine(NamedTuple):
    """One line: its label, the value and its unit, and what to say beside it."""

    label: str
    value: str
    unit: str = ""
    note: str = ""

    @property
    def amount(self) -> str:
        """The value with its unit."""
        return f"{self.value} {self.unit}".rstrip()


class Grid(NamedTuple):
    """A table: the name of each column, its rows of cells, and a last row of totals.

    ``words`` are the columns, counted from 0, that hold words instead of numbers.
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    total: tuple[str, ...] = ()
    words: tuple[int, ...] = (0,)
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """All of one fact; ``data`` is for programs, each key names its unit."""

    lines: tuple[FactLine, ...] = ()
    grid: Grid | None = None
    data: Mapping[str, Any] = field(default_factory=dict)


def at_least(value: float) -> str:
    """Write a number with three digits, or that it is less than anything that matters."""
    return f"less than {SMALL:g}" if value < SMALL else significant(value)


def signed(value: float, decimals: int) -> str:
    """Write a difference with its sign."""
    return f"{value:+.{decimals}f}".replace("-", "−")


def share(part: float) -> str:
    """Write a share of a whole in per cent."""
    return f"{part:.1%}".replace("%", " %")


def signed_share(part: float) -> str:
    """Write a difference as a share of a whole, with its sign."""
    return f"{part:+.1%}".replace("%", " %").replace("-", "−")


def dial(direction: float, decimals: int = 1) -> str:
    """Write a direction as degrees on the dial."""
    return f"{round(to_dial(direction), decimals) % 360.0:.{decimals}f}°"


def radii(inner: float, outer: float) -> str:
    """Write a ring by its radii in mm."""
    return f"{number(inner, 2)}–{number(outer, 2)} mm"


def where(spans: Sequence[tuple[float, float]], same: float) -> str:
    """Say at which clockwise angles something lies; of many places, over how much of the turn."""
    total = sum(angle for _, angle in spans)
    if total > TURN - same:
        return "all round"
    if len(spans) == 1:
        start, end = from_to(*spans[0], same)
        return f"{number(start, 1)}–{number(end, 1)}°"
    return f"{share(total / TURN)} of the turn"


def from_to(start: float, angle: float, same: float) -> tuple[float, float]:
    """Return from where to where an angle lies on the dial, degrees from 0 to 360.

    What goes on past 12 o'clock ends at less than where it starts.
    """
    end = start + angle
    return to_degrees(start), to_degrees(end - TURN if end > TURN + same else min(end, TURN))
