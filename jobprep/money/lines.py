"""The lines that a price is added up from, of one piece of film and of a person's time."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from jobprep.geometry.measure import area
from jobprep.model import Film, Prices
from jobprep.money.figure import Figure, add_costs, in_full
from jobprep.planning.plan import CutUpSheet, FilmPlan, OpenedSheet, SheetPlan
from jobprep.units import number, to_m, to_minutes, to_per_hour, to_percent


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetCosts:
    """What is used of one opened piece of film, and the cutter's time on it."""

    film_used: Figure
    cutter: Figure


def sheet_costs(planned: SheetPlan, prices: Prices) -> SheetCosts:
    """Return what one opened piece costs: its price times the share that is used up; its time."""
    return SheetCosts(
        film_used=_film_used(planned.sheet, planned.film_area),
        cutter=cutter_cost(planned.cuts.motion.seconds, prices),
    )


def cut_up_costs(cut_up: CutUpSheet) -> SheetCosts:
    """Return what the cuts by hand waste of a larger sheet; they take none of the cutter's time."""
    return SheetCosts(
        film_used=_film_used(cut_up.sheet, cut_up.film_area), cutter=Figure(0.0, "cut by hand")
    )


def _film_used(sheet: OpenedSheet, used: float) -> Figure:
    whole = area(sheet.region)
    name = f"{sheet.label} at " if sheet.label else ""
    return Figure(
        None if sheet.price is None else sheet.price * used / whole,
        f"{name}{in_full(sheet.price)} × {used:.0f} of {whole:.0f} mm²",
        (f"no price of {sheet.film}",) if sheet.price is None else (),
    )


def cutter_cost(seconds: float, prices: Prices) -> Figure:
    """Return what the cutter's time costs."""
    rate = prices.cutter_rate
    return Figure(
        None if rate is None else seconds * rate,
        f"{seconds:.2f} s × {_rate(rate, 'cutter_per_hour')}",
        ("no cutter_per_hour",) if rate is None else (),
    )


def to_buy(planned: FilmPlan) -> Figure:
    """Return what the pieces of one film cost that are not on the shelf; of a roll, its length."""
    bought = [sheet for sheet in planned.opened if sheet.is_bought]
    unknown = any(sheet.price is None for sheet in bought)
    return Figure(
        add_costs(sheet.price for sheet in bought),
        " + ".join(f"{_size(sheet)} at {in_full(sheet.price)}" for sheet in bought) or "none",
        (
            *((f"no price of {planned.film.name}",) if unknown else ()),
            *_pieces(bought, planned.film),
        ),
    )


def time_cost(count: int, what: str, seconds: float, prices: Prices, key: str) -> Figure:
    """Return what a person's time costs; ``key`` of the prices would give its ``seconds``."""
    rate = prices.labour_rate
    missing = "no labour_per_hour" if rate is None else f"no {key}"
    if not count:
        return Figure(0.0, f"no {what}")
    if not seconds:
        return Figure(None, "no time given", (missing,))
    text = f"{count} {what} × {to_minutes(seconds):g} min × {_rate(rate, 'labour_per_hour')}"
    if rate is None:
        return Figure(None, text, (missing,))
    return Figure(count * seconds * rate, text)


def spoilage_cost(prices: Prices, film: Figure, cutter: Figure) -> Figure:
    """Return the share of film and cutter that is added for pieces to be cut again."""
    if not prices.spoilage:
        return Figure(None, "none given", ("no spoilage_percent",))
    known = film.amount
    told = f"film {in_full(film.amount)}"
    if cutter.amount is not None:
        known = add_costs((film.amount, cutter.amount))
        told += f" and cutter {in_full(cutter.amount)}"
    return Figure(
        None if known is None else prices.spoilage * known,
        f"{to_percent(prices.spoilage):g} % of {told}",
    )


def _pieces(bought: Sequence[OpenedSheet], film: Film) -> Iterator[str]:
    """Yield what is to be bought of one film: whole sheets, or how much of a roll."""
    lengths = [_off_the_roll(sheet, film) for sheet in bought]
    n_sheets, off = lengths.count(None), [each for each in lengths if each is not None]
    if n_sheets:
        yield f"{n_sheets} {'sheet' if n_sheets == 1 else 'sheets'} of {film.name}"
    if off:
        yield f"{number(to_m(sum(off)), 2)} m of {film.name} off the roll"


def _off_the_roll(sheet: OpenedSheet, film: Film) -> float | None:
    """Return the length of a roll that a sheet is, which may lie turned; None if it is none."""
    lying = ((sheet.width, sheet.height), (sheet.height, sheet.width))
    if any(not size.is_roll and (size.width, size.height) in lying for size in film.sheets):
        return None
    for along, across in lying:
        if any(size.is_roll and math.isclose(across, size.height) for size in film.sheets):
            return along
    return None


def _size(sheet: OpenedSheet) -> str:
    return f"{sheet.width:.4g} × {sheet.height:.4g} mm"


def _rate(rate: float | None, key: str) -> str:
    return f"unknown (prices.{key})" if rate is None else f"{to_per_hour(rate):g} an hour"
