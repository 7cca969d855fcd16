"""The two prices of a run worked out again: from its areas and times, and the files' own prices.

Nothing here asks the package: what stands in a job, a film's file and the ledger is read as TOML,
and how much of each sheet is used up and how long it takes is checked elsewhere
(``drawn_numbers``).
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NamedTuple

Tables = dict[str, Any]
SHIPPED = Path(__file__).parent.parent / "materials" / "films"


class TwoPrices(NamedTuple):
    """What is used and what is to pay now; None where a price that it needs is not given."""

    used: float | None
    to_pay_now: float | None


def film_tables(folder: Path, films: Mapping[str, Any] | list[str]) -> dict[str, Tables]:
    """Return the files of films: the job's own first, then those that are shipped."""
    found = {}
    for film in films:
        own = folder / "materials" / "films" / f"{film}.toml"
        path = own if own.exists() else SHIPPED / f"{film}.toml"
        found[film] = tomllib.loads(path.read_text("utf-8"))
    return found


def two_prices(
    summary: Tables,
    job: Tables,
    films: Mapping[str, Tables],
    ledger: list[Tables],
    *,
    is_whole: bool = True,
) -> TwoPrices:
    """Return both prices of a run from its summary's areas and times.

    ``ledger`` holds the tables ``[[piece]]`` of the shelf; of a run that is not whole nobody puts
    discs together.
    """
    prices = job.get("prices", {})
    film = to_pay = 0.0
    seconds = n_sheets = 0.0
    for row in summary["films"]:
        own = [piece for piece in job.get("stock", []) if piece["film"] == row["film"]]
        areas = {sheet["sheet"]: sheet["sheet_area_mm2"] for sheet in row["sheets"]}
        by_hand: dict[int, float | None] = {}  # price per mm² of the sheet that a piece came off
        for whole in row["cut_up"]:
            price = _sheet_price(whole, row["film"], own, ledger, prices, films[row["film"]])
            pieces = [piece["sheet"] for piece in whole["pieces"]]
            per_mm2 = None if price is None else price / whole["sheet_area_mm2"]
            by_hand |= dict.fromkeys(pieces, per_mm2)
            kept = math.fsum(piece["area_mm2"] for piece in whole["leftovers"])
            lost = whole["sheet_area_mm2"] - kept - sum(areas[piece] for piece in pieces)
            film += math.nan if per_mm2 is None else per_mm2 * lost
            if not own and not any(piece["id"] == whole["piece"] for piece in ledger):
                to_pay += math.nan if price is None else price
        for sheet in row["sheets"]:
            is_whole_sheet = sheet["sheet"] not in by_hand
            if is_whole_sheet:
                price = _sheet_price(sheet, row["film"], own, ledger, prices, films[row["film"]])
            else:
                per_mm2 = by_hand[sheet["sheet"]]
                price = None if per_mm2 is None else per_mm2 * sheet["sheet_area_mm2"]
            film += math.nan if price is None else price * _used_up(sheet)
            on_shelf = own or any(piece["id"] == sheet["piece"] for piece in ledger)
            if is_whole_sheet and not on_shelf:
                to_pay += math.nan if price is None else price
            seconds += sheet["cutting_time_s"]
            n_sheets += 1
    cutter = seconds / 3600.0 * prices.get("cutter_per_hour", 0.0)
    n_discs = sum(disc["copies"] for disc in summary["discs"]) if is_whole else 0
    each = prices.get("assembly_minutes", 0.0) + prices.get("gluing_minutes", 0.0)
    minutes = n_sheets * prices.get("setup_minutes", 0.0) + n_discs * each
    labour = minutes / 60.0 * prices.get("labour_per_hour", 0.0)
    spoilage = prices.get("spoilage_percent", 0.0) / 100.0 * (film + cutter)
    return TwoPrices(_known(film + cutter + labour + spoilage), _known(to_pay))


def _known(amount: float) -> float | None:
    return None if math.isnan(amount) else amount


def _used_up(sheet: Tables) -> float:
    kept = math.fsum(piece["area_mm2"] for piece in sheet["leftovers"])
    return 1.0 - kept / float(sheet["sheet_area_mm2"])


def _sheet_price(
    sheet: Tables, name: str, own: list[Tables], ledger: list[Tables], prices: Tables, film: Tables
) -> float | None:
    """Return the price of a piece: its own, else its share of its film's usual sheet, by area."""
    pieces = [piece for piece in own if piece.get("label", "") == sheet["label"]]
    pieces += [piece for piece in ledger if piece["id"] == sheet["piece"]]
    for piece in pieces:
        if "price" in piece:
            return float(piece["price"])
    usual = film["sheet"][0]
    usual_area = usual["size"][0] * usual["size"][1]
    if name in prices.get("per_m2", {}):
        per_mm2 = prices["per_m2"][name] / 1e6
    elif name in prices.get("sheet", {}):
        per_mm2 = prices["sheet"][name] / usual_area
    elif "price" in usual:
        per_mm2 = usual["price"] / usual_area
    elif "per_m2" in usual:
        per_mm2 = usual["per_m2"] / 1e6
    else:
        return None
    return float(per_mm2 * sheet["sheet_area_mm2"])
