"""What a job costs before it is cut, for its own and for other numbers of discs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from jobprep.money.costs import Costs, costs_of
from jobprep.planning.other_quantities import Quantity
from jobprep.planning.plan import Plan


@dataclass(frozen=True, slots=True, kw_only=True)
class QuantityRow:
    """What a number of discs costs. ``opened`` maps each film to the pieces opened, in all.

    ``further`` names the films of which one set less needs a piece fewer.
    """

    copies: tuple[int, ...]
    n_discs: int
    opened: dict[str, int]
    further: tuple[str, ...]
    costs: Costs


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A job's costs, and a table of what other quantities would cost."""

    costs: Costs
    rows: tuple[QuantityRow, ...]


def estimate_of(planned: Plan, quantities: Iterable[Quantity]) -> Estimate:
    """Return what a plan costs, and what those of other quantities do."""
    costs = costs_of(planned)
    rows = (
        QuantityRow(
            copies=each.copies,
            n_discs=sum(each.copies),
            opened=each.opened,
            further=each.further,
            costs=costs if each.plan is planned else costs_of(each.plan),
        )
        for each in quantities
    )
    return Estimate(costs=costs, rows=tuple(rows))
