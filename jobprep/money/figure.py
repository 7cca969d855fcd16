"""Amounts of money, each with how it came about; what nobody knows is never read as free."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Figure:
    """An amount and, in words and numbers, how it came about.

    It is None where nobody gave a price that it needs. ``notes`` stand beside it wherever it is
    shown: what it leaves out, or why it is not known.
    """

    amount: float | None
    how: str
    notes: tuple[str, ...] = ()


def add_costs(costs: Iterable[float | None]) -> float | None:
    """Add costs; one that nobody knows makes the sum unknown."""
    total = 0.0
    for cost in costs:
        if cost is None:
            return None
        total += cost
    return total


def added(figures: Iterable[Figure]) -> Figure:
    """Add figures; their notes are the sum's, each once."""
    rows = tuple(figures)
    return Figure(
        add_costs(each.amount for each in rows),
        " + ".join(in_full(each.amount) for each in rows) or "none",
        tuple(dict.fromkeys(note for each in rows for note in each.notes)),
    )


def in_full(amount: float | None) -> str:
    """Return an amount with two digits more than it is paid in, so that it can be added up."""
    return "unknown" if amount is None else f"{amount:.4f}"
