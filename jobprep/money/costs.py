"""What a planned job costs, line by line, every figure with how it came about.

    film by whole sheets   what the opened sheets cost to buy; leftovers are there already
    film by area           each opened piece's price times the share of it that is used up
    cutter                 its time at the cutter's rate
    setup                  a person's time to lay on each sheet
    labour                 a person's time to assemble and glue each disc
    spoilage               a share of film by area and cutter, for pieces that must be cut again

Costs are in the job's own currency; None where a price that it needs is not given, so that what
nobody knows is never read as free.
"""

from __future__ import annotations

from dataclasses import dataclass

from jobprep.disc.part import Part
from jobprep.geometry.measure import area
from jobprep.model import Prices
from jobprep.planning.plan import Plan
from jobprep.summary import FilmSummary, SheetSummary, add_costs, film_summaries
from jobprep.units import to_minutes, to_per_hour, to_percent


@dataclass(frozen=True, slots=True)
class Figure:
    """An amount and, in words and numbers, how it came about."""

    amount: float | None
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmCosts:
    """What one film of a job costs. ``n_sheets`` counts whole sheets, leftovers apart."""

    film: str
    n_sheets: int
    n_leftovers: int
    bought: Figure
    used: Figure
    cutter: Figure
    setup: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class DiscCosts:
    """What one finished disc of a design costs.

    It bears of each film's costs the share that its parts have of all parts by area. ``total``
    counts film by area, ``total_bought`` by whole sheets.
    """

    design: str
    copies: int
    used: Figure
    bought: Figure
    cutter: Figure
    setup: Figure
    labour: Figure
    spoilage: Figure
    total: Figure
    total_bought: Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Costs:
    """What a job costs in all; ``loose`` is the loose parts' share of ``total``."""

    title: str
    currency: str
    films: tuple[FilmCosts, ...]
    discs: tuple[DiscCosts, ...]
    used: Figure
    bought: Figure
    cutter: Figure
    setup: Figure
    labour: Figure
    spoilage: Figure
    total: Figure
    total_bought: Figure
    loose: Figure

    @property
    def dearest_film(self) -> FilmCosts | None:
        """The film that costs most by area, None where not all prices are known."""
        if not self.films or any(film.used.amount is None for film in self.films):
            return None
        return max(self.films, key=lambda film: film.used.amount or 0.0)


def costs_of(plan: Plan) -> Costs:
    """Return what a plan costs."""
    prices, summaries = plan.job.prices, film_summaries(plan)
    films = tuple(_film_costs(film, prices) for film in summaries)
    discs = tuple(
        _disc_costs(plan, summaries, films, index) for index in range(len(plan.job.discs))
    )
    used = _sum([film.used for film in films])
    bought = _sum([film.bought for film in films])
    cutter = _sum([film.cutter for film in films])
    setup = _sum([film.setup for film in films])
    labour = _labour(prices, sum(disc.copies for disc in discs))
    spoilage = _spoilage(prices, used, cutter)
    total = _sum([used, cutter, setup, labour, spoilage])
    return Costs(
        title=plan.job.title,
        currency=prices.currency,
        films=films,
        discs=discs,
        used=used,
        bought=bought,
        cutter=cutter,
        setup=setup,
        labour=labour,
        spoilage=spoilage,
        total=total,
        total_bought=_sum([bought, cutter, setup, labour, spoilage]),
        loose=_rest(total, discs),
    )


def _film_costs(film: FilmSummary, prices: Prices) -> FilmCosts:
    whole = [sheet for sheet in film.sheets if not sheet.label]
    seconds, rate = film.use.seconds, prices.cutter_rate
    return FilmCosts(
        film=film.film,
        n_sheets=len(whole),
        n_leftovers=len(film.sheets) - len(whole),
        bought=Figure(film.opened_price, " + ".join(_price(sheet) for sheet in whole) or "none"),
        used=Figure(film.use.film_cost, " + ".join(_share_used(sheet) for sheet in film.sheets)),
        cutter=Figure(
            film.use.cutter_cost, f"{seconds:.2f} s × {_rate(rate, 'prices.cutter_per_hour')}"
        ),
        setup=_time_cost(
            len(film.sheets), prices.setup_time, prices.labour_rate, f"{film.film} sheets"
        ),
    )


def _disc_costs(
    plan: Plan, summaries: tuple[FilmSummary, ...], films: tuple[FilmCosts, ...], index: int
) -> DiscCosts:
    prices, order = plan.job.prices, plan.job.discs[index]
    shares = [
        _part_share(film_plan.parts, film.use.part_area, index)
        for film_plan, film in zip(plan.films, summaries, strict=True)
    ]
    used = _shared([film.used for film in films], shares, films)
    bought = _shared([film.bought for film in films], shares, films)
    cutter = _shared([film.cutter for film in films], shares, films)
    setup = _shared([film.setup for film in films], shares, films)
    labour = _labour(prices, 1)
    spoilage = _spoilage(prices, used, cutter)
    return DiscCosts(
        design=order.design.name,
        copies=order.copies,
        used=used,
        bought=bought,
        cutter=cutter,
        setup=setup,
        labour=labour,
        spoilage=spoilage,
        total=_sum([used, cutter, setup, labour, spoilage]),
        total_bought=_sum([bought, cutter, setup, labour, spoilage]),
    )


def _part_share(parts: tuple[Part, ...], all_parts: float, disc: int) -> float:
    """Return the share that one disc's parts of a film have of all parts placed, by area."""
    own = sum(part.per_disc * area(part.region) for part in parts if part.disc == disc)
    return own / all_parts if own else 0.0


def _shared(costs: list[Figure], shares: list[float], films: tuple[FilmCosts, ...]) -> Figure:
    terms = [
        (cost.amount, share, film.film)
        for cost, share, film in zip(costs, shares, films, strict=True)
        if share
    ]
    return Figure(
        add_costs(None if amount is None else amount * share for amount, share, _ in terms),
        " + ".join(f"{share:.2%} of {film} {_money(amount)}" for amount, share, film in terms),
    )


def _labour(prices: Prices, copies: int) -> Figure:
    time = prices.assembly_time + prices.gluing_time
    return _time_cost(copies, time, prices.labour_rate, "discs")


def _time_cost(count: int, seconds: float, rate: float | None, what: str) -> Figure:
    if not seconds:
        return Figure(0.0, "no time given")
    amount = None if rate is None else count * seconds * rate
    text = f"{count} {what} × {to_minutes(seconds):g} min × {_rate(rate, 'prices.labour_per_hour')}"
    return Figure(amount, text)


def _spoilage(prices: Prices, film: Figure, cutter: Figure) -> Figure:
    if not prices.spoilage:
        return Figure(0.0, "none given")
    costs = add_costs((film.amount, cutter.amount))
    return Figure(
        None if costs is None else prices.spoilage * costs,
        f"{to_percent(prices.spoilage):g} % of film {_money(film.amount)} "
        f"and cutter {_money(cutter.amount)}",
    )


def _rest(total: Figure, discs: tuple[DiscCosts, ...]) -> Figure:
    all_discs = add_costs(
        None if disc.total.amount is None else disc.copies * disc.total.amount for disc in discs
    )
    if total.amount is None or all_discs is None:
        return Figure(None, "total less all discs")
    # What is left of a job without loose parts is rounding, not money.
    rest = total.amount - all_discs
    return Figure(
        rest if abs(rest) > 1e-9 else 0.0,
        f"total {_money(total.amount)} less all discs {_money(all_discs)}",
    )


def _sum(figures: list[Figure]) -> Figure:
    return Figure(
        add_costs(figure.amount for figure in figures),
        " + ".join(_money(figure.amount) for figure in figures),
    )


def _price(sheet: SheetSummary) -> str:
    return f"{sheet.width:.4g} × {sheet.height:.4g} mm at {_money(sheet.price)}"


def _share_used(sheet: SheetSummary) -> str:
    name = f"{sheet.label} at " if sheet.label else ""
    return f"{name}{_money(sheet.price)} × {sheet.use.film_area:.0f} of {sheet.area:.0f} mm²"


def _rate(rate: float | None, field: str) -> str:
    return f"unknown ({field})" if rate is None else f"{to_per_hour(rate):g} an hour"


def _money(amount: float | None) -> str:
    """Return an amount with two digits more than it is paid in, so that it can be added up."""
    return "unknown" if amount is None else f"{amount:.4f}"
