"""The numbers of a run worked out again from its drawings, and from the job's own prices.

Nothing here asks the package for a length, a time or a cost: drawings are read by the parser of
``virtual_cut``, areas are shapely's, prices come from the tables of the job.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any

import numpy as np
import svgpathtools
from head_time import Stretch, head_seconds
from virtual_cut import CutFile, require

USE_SUMS = (
    *("parts", "part_area_mm2", "cut_length_mm", "mark_length_mm", "pierces", "travel_mm"),
    *("cutting_time_s", "film_used_mm2", "leftover_mm2", "scrap_mm2"),
)
COSTS = ("film_cost", "cutter_cost")
Row = dict[str, Any]


def assert_lengths_are_drawn(drawing: CutFile, use: Row, name: str) -> None:
    """Check cut and mark length, pierces and travel of one sheet against its drawing."""
    cut = mark = travel = 0.0
    pierces = 0
    here = complex(0.0, drawing.height)  # home is the lower left
    for path in drawing.paths:
        for stroke in svgpathtools.Path(*path.segments).continuous_subpaths():
            length = math.fsum(map(segment_length, stroke))
            if path.operation == "mark":
                mark += length
            else:
                cut += length
                pierces += 1
            travel += abs(stroke.start - here)
            here = stroke.end
    travel += abs(complex(0.0, drawing.height) - here)  # and back
    slack = 1e-4 * (1 + len(drawing.paths))
    for key, drawn in (("cut_length_mm", cut), ("mark_length_mm", mark), ("travel_mm", travel)):
        close = math.isclose(use[key], drawn, rel_tol=1e-5, abs_tol=slack)
        require(close, f"{name}: {key} is {use[key]}, drawn is {drawn}")
    require(use["pierces"] == pierces, f"{name}: {use['pierces']} pierces, drawn are {pierces}")


def segment_length(segment: Any) -> float:
    """Return the length of a line or a circular arc."""
    if isinstance(segment, svgpathtools.Line):
        return abs(segment.end - segment.start)
    return float(segment.radius.real * math.radians(abs(segment.delta)))


def assert_time_is_drawn(drawing: CutFile, use: Row, cutter: Any, film: Any, name: str) -> None:
    """Check the time of one sheet against the fastest along its drawing."""
    passes, a = cutter.passes_for(film), cutter.acceleration
    strokes, speeds, repeats, moves = [], [], [], []
    here = complex(0.0, drawing.height)  # home is the lower left
    for path in drawing.paths:
        is_cut = path.operation != "mark"
        for stroke in svgpathtools.Path(*path.segments).continuous_subpaths():
            strokes.append([_stretch(segment) for segment in stroke])
            speeds.append(cutter.cut_speed_for(film) if is_cut else cutter.mark_speed)
            repeats.append(passes if is_cut else 1)
            moves += [abs(stroke.start - here)]
            moves += [abs(stroke.start - stroke.end)] * (repeats[-1] - 1)
            here = stroke.end
    moves += [abs(complex(0.0, drawing.height) - here)]  # and back
    steps = [[Stretch(move, math.inf, 1.0 + 0j, 1.0 + 0j)] for move in moves if move > 0.0]
    times = head_seconds(strokes + steps, speeds + [cutter.travel_speed] * len(steps), a)
    pierces = passes * use["pierces"] * cutter.pierce_time
    expected = float(np.dot(times, repeats + [1] * len(steps))) + pierces
    # A written coordinate is rounded: by so much a pair of them may seem to be off.
    slack = 1e-3 * expected + 1e-5 * len(strokes)
    found = use["cutting_time_s"]
    off = abs(found - expected) <= slack
    require(off, f"{name}: takes {found} s, along the drawing {expected} s")


def _stretch(segment: Any) -> Stretch:
    ways = (segment.unit_tangent(0.0), segment.unit_tangent(1.0))
    is_line = isinstance(segment, svgpathtools.Line)
    radius = math.inf if is_line else float(segment.radius.real)
    return Stretch(segment_length(segment), radius, *map(complex, ways))


def assert_sums(summary: Row) -> None:
    """Check that sheets add up to films and films to the totals, and every share of a sheet."""
    films = summary["films"]
    for film in films:
        for sheet in film["sheets"]:
            _assert_use(sheet, f"{film['film']} sheet {sheet['sheet']}")
            whole = sheet["part_area_mm2"] + sheet["leftover_mm2"] + sheet["scrap_mm2"]
            require(math.isclose(whole, sheet["sheet_area_mm2"], rel_tol=1e-9), "areas of a sheet")
            price, used = sheet["price"], sheet["film_used_mm2"] / sheet["sheet_area_mm2"]
            _assert_cost(sheet["film_cost"], None if price is None else price * used, "film cost")
        _assert_use(film, film["film"])
        _assert_adds_up(film, [*film["sheets"], *film["cut_up"]], film["film"])
    totals = summary["totals"]
    _assert_use(totals, "totals")
    _assert_adds_up(totals, films, "totals")
    require(totals["sheets"] == sum(len(film["sheets"]) for film in films), "number of sheets")


def opened_stock(film: Row) -> list[Row]:
    """Return the pieces of stock that a film opens: sheets as they are, and those cut up."""
    cut_off = {piece["sheet"] for each in film["cut_up"] for piece in each["pieces"]}
    return [each for each in film["sheets"] if each["sheet"] not in cut_off] + film["cut_up"]


def added(costs: Iterable[float | None]) -> float | None:
    """Add costs; one that nobody knows makes the sum unknown."""
    known = list(costs)
    return None if None in known else math.fsum(cost for cost in known if cost is not None)


def _assert_adds_up(whole: Row, rows: Sequence[Row], name: str) -> None:
    for key in USE_SUMS:
        total = math.fsum(row[key] for row in rows)
        close = math.isclose(whole[key], total, rel_tol=1e-9, abs_tol=1e-6)
        require(close, f"{name}: {key} is {whole[key]}, its rows give {total}")
    for key in COSTS:
        _assert_cost(whole[key], added(row[key] for row in rows), f"{name}: {key}")


def _assert_use(use: Row, name: str) -> None:
    used = use["film_used_mm2"]
    shares = use["utilisation"] + (use["scrap_mm2"] / used if used else 0.0)
    require(not used or math.isclose(shares, 1.0, rel_tol=1e-9), f"{name}: shares add to {shares}")
    require(0.0 <= use["utilisation"] <= 1.0 + 1e-9, f"{name}: utilisation {use['utilisation']}")
    opened = used + use["leftover_mm2"]
    share = use["part_area_mm2"] / opened if opened else 0.0
    require(math.isclose(use["utilisation_of_opened"], share, rel_tol=1e-9), f"{name}: of opened")
    require(use["scrap_mm2"] >= -1e-6, f"{name}: scrap {use['scrap_mm2']}")


def _assert_cost(given: float | None, expected: float | None, name: str) -> None:
    both = given is not None and expected is not None
    same = given is expected is None or (
        both and math.isclose(given, expected, rel_tol=1e-9, abs_tol=1e-9)
    )
    require(same, f"{name} is {given}, not {expected}")


def assert_prices(summary: Row, job: Row, films: Any) -> None:
    """Check the price of every sheet and the cutter's rate against the tables of the job."""
    prices = job.get("prices", {})
    rate = prices.get("cutter_per_hour")
    own = {piece["film"] for piece in job.get("stock", ())}
    for film in summary["films"]:
        per_mm2 = _usual_price_per_mm2(prices, films[film["film"]])
        for sheet in film["sheets"]:
            time = sheet["cutting_time_s"]
            cutter = None if rate is None else time * rate / 3600.0
            _assert_cost(sheet["cutter_cost"], cutter, f"{film['film']}: cutter cost")
        for cut_up in film["cut_up"]:
            for piece in cut_up["pieces"]:
                sheet = film["sheets"][piece["sheet"] - 1]
                share = sheet["sheet_area_mm2"] / cut_up["sheet_area_mm2"]
                expected = None if cut_up["price"] is None else share * cut_up["price"]
                _assert_cost(sheet["price"], expected, f"{film['film']}: price of a piece")
        for sheet in opened_stock(film):
            listed = [p["price"] for p in job.get("stock", ()) if _may_be(p, film, sheet)]
            if film["film"] not in own and (sheet["piece"] or len(films[film["film"]].sheets) > 1):
                continue  # the ledger's, or a size of its own price
            area = sheet["sheet_area_mm2"]
            expected = {None if per_mm2 is None else per_mm2 * area, *listed}
            if sheet["to_buy"]:
                expected = {_price_to_buy(prices, films[film["film"]], sheet)}
            close = any(_is_close(sheet["price"], price) for price in expected)
            require(close, f"{film['film']}: a sheet costs {sheet['price']}, not {expected}")


def assert_two_prices(summary: Row, job: Row, *, is_whole: bool) -> None:
    """Check what is used and what is to pay now; nobody puts discs of a part of a run together."""
    prices, totals = job.get("prices", {}), summary["totals"]
    sheets = [sheet for film in summary["films"] for sheet in film["sheets"]]
    to_pay = added(each["price"] for each in _opened_whole(summary) if each["to_buy"])
    _assert_cost(summary["to_pay_now"]["amount"], to_pay, "what is to pay now")
    film, cutter = totals["film_cost"], totals["cutter_cost"] or 0.0
    if film is None:
        _assert_cost(summary["used"]["amount"], None, "what is used")
        return
    n_discs = sum(disc["copies"] for disc in summary["discs"]) if is_whole else 0
    each = prices.get("assembly_minutes", 0.0) + prices.get("gluing_minutes", 0.0)
    minutes = len(sheets) * prices.get("setup_minutes", 0.0) + n_discs * each
    labour = minutes / 60.0 * prices.get("labour_per_hour", 0.0)
    used = (film + cutter) * (1.0 + prices.get("spoilage_percent", 0.0) / 100.0) + labour
    _assert_cost(summary["used"]["amount"], used, "what is used")


def _opened_whole(summary: Row) -> Iterator[Row]:
    """Yield what is opened as it is bought: for pieces cut by hand the sheet they come off."""
    for film in summary["films"]:
        by_hand = {piece["sheet"] for whole in film["cut_up"] for piece in whole["pieces"]}
        yield from film["cut_up"]
        yield from (sheet for sheet in film["sheets"] if sheet["sheet"] not in by_hand)


def _may_be(piece: Row, film: Row, sheet: Row) -> bool:
    return (
        piece["film"] == film["film"]
        and piece.get("label", "") == sheet["label"]
        and "price" in piece
    )


def _is_close(a: float | None, b: float | None) -> bool:
    return a is b is None or (a is not None and b is not None and math.isclose(a, b, rel_tol=1e-9))


def _usual_price_per_mm2(prices: Row, film: Any) -> float | None:
    usual = film.sheets[0]
    area = usual.width * usual.height
    if film.name in prices.get("per_m2", {}):
        return prices["per_m2"][film.name] * 1e-6
    if film.name in prices.get("sheet", {}):
        return prices["sheet"][film.name] / area
    if usual.price is not None:
        return usual.price / area
    return usual.per_area


def _price_to_buy(prices: Row, film: Any, sheet: Row) -> float | None:
    """Return the price of a whole sheet: by area like the usual one's, unless it has its own."""
    given = (sheet["width_mm"], sheet["height_mm"])
    size = next(
        (each for each in film.sheets if (each.width, each.height) == given), film.sheets[0]
    )
    by_job = any(film.name in prices.get(key, {}) for key in ("per_m2", "sheet"))
    if size.price is not None and not by_job:
        return float(size.price)
    per_mm2 = _usual_price_per_mm2(prices, film)
    return None if per_mm2 is None else per_mm2 * size.width * size.height


class _Page(HTMLParser):
    """The text of every table cell by table, of every term by name, and the boxes to tick."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.facts: dict[str, str] = {}
        self.boxes: list[str] = []
        self.orders: list[int] = []
        self._open: list[str] = []
        self._text = ""
        self._term = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        named = dict(attrs)
        if tag == "tr":
            self.rows.append([])
        if tag == "input" and named.get("type") == "checkbox":
            self.boxes.append(named.get("id") or "")
        if tag == "input" and named.get("type") == "range":
            self.orders.append(int(named.get("max") or -1))
        if tag in ("td", "th", "dt", "dd"):
            self._text = ""

    def handle_data(self, data: str) -> None:
        self._text += data

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th"):
            self.rows[-1].append(self._text)
        elif tag == "dt":
            self._term = self._text
        elif tag == "dd":
            self.facts.setdefault(self._term, self._text)


def assert_job_sheet_agrees(html: str, summary: Row) -> None:
    """Check the numbers on the job sheet against the summary's."""
    page = _Page()
    page.feed(html)
    totals = summary["totals"]
    require(page.facts["Parts"] == str(totals["parts"]), "parts at the head of the job sheet")
    require(page.facts["Sheets"] == str(totals["sheets"]), "sheets at the head of the job sheet")
    shares = (
        ("Parts / film used", "utilisation"),
        ("Parts / sheet opened", "utilisation_of_opened"),
    )
    for name, key in shares:
        _assert_shown(page.facts[name], 100.0 * totals[key], 0.5)
    for name, key in (("Used", "used"), ("To pay now", "to_pay_now")):
        amount, shown = summary[key]["amount"], page.facts[name]
        if amount is None:
            require(shown.startswith("not known"), f"{name} {shown} although it is not known")
        else:
            _assert_shown(shown, amount, 0.005)
    heads = [row for row in page.rows if row[:3] == ["Film", "Sheets", "Parts"]]
    require(len(heads) == 1, "one table says what it takes")
    first = page.rows.index(heads[0]) + 1
    for row, use in zip(page.rows[first:], [*summary["films"], totals], strict=False):
        cells = dict(zip(heads[0], row, strict=True))
        n_sheets = use["sheets"] if use is totals else len(use["sheets"])
        require(cells["Sheets"] == str(n_sheets), f"sheets in {row}")
        require(cells["Parts"] == str(use["parts"]), f"parts in {row}")
        require(cells["Pierces"] == str(use["pierces"]), f"pierces in {row}")
        for name, key in shares:
            _assert_shown(cells[name], 100.0 * use[key], 0.5)
        for name, key, scale, half in (
            ("Kept cm²", "leftover_mm2", 100.0, 0.5),
            ("Scrap cm²", "scrap_mm2", 100.0, 0.5),
            ("Cut m", "cut_length_mm", 1000.0, 0.005),
            ("Marks m", "mark_length_mm", 1000.0, 0.005),
            ("Travel m", "travel_mm", 1000.0, 0.005),
        ):
            _assert_shown(cells[name], use[key] / scale, half)
        _assert_shown_time(cells["Time"], use["cutting_time_s"])
    parts = sum(film["parts"] for film in summary["films"])
    require(sum(page.orders) == parts, f"{page.orders} parts in the cutting orders, not {parts}")
    require(len(page.boxes) == len(set(page.boxes)), "two boxes are one")


def _assert_shown(shown: str, value: float, half: float) -> None:
    number = float(shown.split()[0])
    require(abs(number - value) <= half * (1 + 1e-9), f"{shown} is shown for {value}")


def _assert_shown_time(shown: str, seconds: float) -> None:
    words = shown.split()
    pairs = {unit: int(count) for count, unit in pairwise(words) if unit in ("min", "s")}
    total = 60 * pairs.get("min", 0) + pairs.get("s", 0)
    require(abs(total - seconds) <= 0.5 + 1e-9, f"{shown} is shown for {seconds} s")
