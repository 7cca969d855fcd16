"""What a planned job costs: two prices, and every line of them with how it came about.

    used                   film by area, cutter, setup, labour and spoilage
        film by area       each opened piece's price times the share of it that is used up
        cutter             its time at the cutter's rate
        setup              a person's time to lay on each sheet
        labour             a person's time to assemble and glue each disc
        spoilage           a share of film by area and cutter, for pieces that must be cut again
    to pay now             what whole sheets cost that are not on the shelf

Both are worked out here alone, for everything that shows them. Costs are in the job's own currency.
A piece of film without a price makes what needs it unknown. What else nobody gave is left out of
``used``, and its notes say so.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from jobprep.geometry.measure import area
from jobprep.model import Prices
from jobprep.money.figure import Figure, add_costs, added, in_full
from jobprep.money.lines import (
    SheetCosts,
    cut_up_costs,
    cutter_cost,
    sheet_costs,
    spoilage_cost,
    time_cost,
    to_buy,
)
from jobprep.planning.plan import FilmPlan, Plan

USED, TO_PAY_NOW = "used", "to pay now"
"""The names of the two prices, wherever they are shown."""
INCOMPLETE = "only some of the parts are cut"


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmCosts:
    """What one film of a job costs. ``n_sheets`` counts whole sheets, leftovers apart.

    ``cut_up`` are larger sheets of which some are cut, with what the cuts by hand waste.
    """

    film: str
    n_sheets: int
    n_leftovers: int
    sheets: tuple[SheetCosts, ...]
    cut_up: tuple[SheetCosts, ...]
    film_used: Figure
    cutter: Figure
    setup: Figure
    to_pay_now: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscCosts:
    """What one finished disc of a design uses: of each film's lines its parts' share by area."""

    design: str
    copies: int
    film_used: Figure
    cutter: Figure
    setup: Figure
    labour: Figure
    spoilage: Figure
    used: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What a job costs in all; ``loose`` is the loose parts' share of ``used``."""

    title: str
    currency: str
    films: tuple[FilmCosts, ...]
    discs: tuple[DiscCosts, ...]
    film_used: Figure
    cutter: Figure
    setup: Figure
    labour: Figure
    spoilage: Figure
    used: Figure
    to_pay_now: Figure
    loose: Figure

    @property
    def dearest_film(self) -> FilmCosts | None:
        """The film of which most is used by price, None where not all prices are known."""
        if not self.films or any(film.film_used.amount is None for film in self.films):
            return None
        return max(self.films, key=lambda film: film.film_used.amount or 0.0)

    @property
    def two_prices(self) -> tuple[tuple[str, Figure], tuple[str, Figure]]:
        """The two prices with their names."""
        return (USED, self.used), (TO_PAY_NOW, self.to_pay_now)


def costs_of(plan: Plan) -> Costs:
    """Return what a plan costs."""
    prices = plan.job.prices
    films = tuple(_film_costs(film, prices) for film in plan.films)
    discs = tuple(_disc_costs(plan, films, index) for index in range(len(plan.job.discs)))
    film_used = added(film.film_used for film in films)
    cutter = added(film.cutter for film in films)
    setup = added(film.setup for film in films)
    labour = _labour(plan, sum(disc.copies for disc in discs))
    spoilage = spoilage_cost(prices, film_used, cutter)
    used = _used(film_used, cutter, setup, labour, spoilage)
    to_pay = added(film.to_pay_now for film in films)
    return Costs(
        title=plan.job.title,
        currency=prices.currency,
        films=films,
        discs=discs,
        film_used=film_used,
        cutter=cutter,
        setup=setup,
        labour=labour,
        spoilage=spoilage,
        used=used,
        to_pay_now=Figure(to_pay.amount, to_pay.how, to_pay.notes or ("nothing to buy",)),
        loose=_rest(used, discs),
    )


def _used(film: Figure, cutter: Figure, setup: Figure, labour: Figure, spoilage: Figure) -> Figure:
    """Add up what is used: not known without the price of a film; else what is known of it."""
    if film.amount is None:
        return Figure(None, "film by area is unknown", film.notes)
    others = {"cutter time": cutter, "setup": setup, "labour": labour, "spoilage": spoilage}
    known = added(each for each in (film, *others.values()) if each.amount is not None)
    return Figure(known.amount, known.how, tuple(_left_out(others)))


def _left_out(lines: Mapping[str, Figure]) -> Iterator[str]:
    """Yield what a price does without, lines with the same reason together."""
    reasons: dict[str, list[str]] = {}
    for name, line in lines.items():
        for reason in line.notes:
            reasons.setdefault(reason, []).append(name)
    for reason, names in reasons.items():
        yield f"without {' and '.join(names)}: {reason}"


def _film_costs(planned: FilmPlan, prices: Prices) -> FilmCosts:
    sheets = tuple(sheet_costs(each, prices) for each in planned.sheets)
    cut_up = tuple(cut_up_costs(each) for each in planned.cut_up)
    n_leftovers = sum(bool(sheet.label) for sheet in planned.opened)
    name = planned.film.name
    return FilmCosts(
        film=name,
        n_sheets=len(planned.opened) - n_leftovers,
        n_leftovers=n_leftovers,
        sheets=sheets,
        cut_up=cut_up,
        film_used=replace(
            added(each.film_used for each in (*sheets, *cut_up)),
            how=" + ".join(
                each.film_used.how for each in (*sheets, *cut_up) if each.film_used.amount != 0.0
            ),
        ),
        cutter=cutter_cost(sum(each.cuts.motion.seconds for each in planned.sheets), prices),
        setup=time_cost(len(sheets), f"{name} sheets", prices.setup_time, prices, "setup_minutes"),
        to_pay_now=to_buy(planned),
    )


def _disc_costs(plan: Plan, films: tuple[FilmCosts, ...], index: int) -> DiscCosts:
    prices, order = plan.job.prices, plan.job.discs[index]
    shares = [_part_share(film_plan, index) for film_plan in plan.films]
    film_used = _shared([film.film_used for film in films], shares, films)
    cutter = _shared([film.cutter for film in films], shares, films)
    setup = _shared([film.setup for film in films], shares, films)
    labour = _labour(plan, 1)
    spoilage = spoilage_cost(prices, film_used, cutter)
    used = _used(film_used, cutter, setup, labour, spoilage)
    return DiscCosts(
        design=order.design.name,
        copies=order.copies,
        film_used=film_used,
        cutter=cutter,
        setup=setup,
        labour=labour,
        spoilage=spoilage,
        used=used if plan.is_complete else Figure(None, INCOMPLETE, (INCOMPLETE,)),
    )


def _part_share(planned: FilmPlan, disc: int) -> float:
    """Return the share that one disc's parts of a film have of all parts placed, by area."""
    own = sum(part.per_disc * area(part.region) for part in planned.parts if part.disc == disc)
    placed = sum(area(part.region) for sheet in planned.sheets for part in sheet.cuts.parts)
    return own / placed if own else 0.0


def _shared(costs: list[Figure], shares: list[float], films: tuple[FilmCosts, ...]) -> Figure:
    terms = [
        (cost, share, film.film)
        for cost, share, film in zip(costs, shares, films, strict=True)
        if share
    ]
    return Figure(
        add_costs(None if cost.amount is None else cost.amount * share for cost, share, _ in terms),
        " + ".join(f"{share:.2%} of {film} {in_full(cost.amount)}" for cost, share, film in terms),
        tuple(dict.fromkeys(note for cost, _, _ in terms for note in cost.notes)),
    )


def _labour(plan: Plan, copies: int) -> Figure:
    prices = plan.job.prices
    if copies and not plan.is_complete:
        return Figure(None, INCOMPLETE, (INCOMPLETE,))
    time = prices.assembly_time + prices.gluing_time
    return time_cost(copies, "discs", time, prices, "assembly_minutes")


def _rest(used: Figure, discs: tuple[DiscCosts, ...]) -> Figure:
    all_discs = add_costs(
        None if disc.used.amount is None else disc.copies * disc.used.amount for disc in discs
    )
    if used.amount is None or all_discs is None:
        return Figure(None, "used less all discs")
    # What is left of a job without loose parts is rounding, not money.
    rest = used.amount - all_discs
    return Figure(
        rest if abs(rest) > 1e-9 else 0.0,
        f"used {in_full(used.amount)} less all discs {in_full(all_discs)}",
    )
