"""Two prices, everywhere the same: what a job uses, and what is to pay now."""

from __future__ import annotations

import csv
import json
import re
import tomllib
from collections.abc import Iterable
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from commands import done
from price_oracle import TwoPrices, film_tables, two_prices

CUTTER = """\
format = 1
title = "Slow and steady"
kind = "co2"
bed = [700, 650]
wavelength_nm = 10600
mark_speed = 10
travel_speed = 10000
acceleration = 1000000
pierce_time = 0.5
kerf = { any = 0.2 }
cut_speed = { any = 10 }
"""
DESIGN = """\
format = 1
name = "Pier disc"
outer_diameter = 100
bore = { diameter = 20 }
hub_diameter = 30
"""
AMBER = '[[layer]]\nname = "amber"\nfilm = "amber"\n'
CLEAR = '[[layer]]\nname = "cover"\nfilm = "clear"\n'
JOB = """\
format = 1
title = "Pier discs"
cutter = "slow.toml"
[[disc]]
design = "pier.toml"
copies = 4
[nesting]
web = 1
margin = 5
evaluations = 50
"""
WASHERS = '[[part]]\nname = "washer"\nfilm = "amber"\ncopies = 6\ndisc = { diameter = 24 }\n'
OWN_SHEETS = '[[stock]]\nfilm = "amber"\nsize = [330, 115]\ncount = 3\nprice = 2.40\n'
OWN_LEFTOVER = '[[stock]]\nfilm = "amber"\nsize = [230, 260]\nlabel = "A7"\n'
FILM_PRICE = "sheet = { amber = 7.5 }\n"
BOTH_FILMS = "sheet = { amber = 7.5, clear = 4.0 }\n"
LABOUR = "labour_per_hour = 24\nassembly_minutes = 6\ngluing_minutes = 4\nsetup_minutes = 3\n"
ALL = f'currency = "EUR"\ncutter_per_hour = 36\n{LABOUR}spoilage_percent = 5\n'


class Case(NamedTuple):
    """A job, what is on the shelf before it, and which of the two prices can be known."""

    prices: str
    layers: str = AMBER
    more: str = ""
    shelf: tuple[tuple[object, ...], ...] = ()
    used_known: bool = True
    to_pay_known: bool = True


CASES = {
    "a sheet on the shelf": Case(ALL + FILM_PRICE, shelf=(("amber", "--price", "8"),)),
    "a sheet to buy": Case(ALL + FILM_PRICE),
    "a sheet to buy by area": Case(ALL + "per_m2 = { amber = 24 }\n"),
    "sheets of the job's own": Case(ALL, more=OWN_SHEETS),
    "a leftover of the job's own": Case(ALL + FILM_PRICE, more=OWN_LEFTOVER),
    "partly a leftover": Case(
        ALL + FILM_PRICE, more=WASHERS, shelf=(("amber", "--size", "230x115", "--leftover"),)
    ),
    "no prices": Case("", used_known=False, to_pay_known=False),
    "no prices, all on the shelf": Case("", shelf=(("amber",),), used_known=False),
    "a price per hour alone": Case("cutter_per_hour = 36\n", used_known=False, to_pay_known=False),
    "film and a price per hour": Case("cutter_per_hour = 36\n" + FILM_PRICE),
    "film alone": Case(FILM_PRICE),
    "labour without its price": Case(FILM_PRICE + "assembly_minutes = 6\nsetup_minutes = 3\n"),
    "labour without any minutes": Case(FILM_PRICE + "labour_per_hour = 24\n"),
    "two films": Case(ALL + BOTH_FILMS, layers=CLEAR + AMBER, more=WASHERS),
    "two films, one priced": Case(
        ALL + FILM_PRICE, layers=CLEAR + AMBER, used_known=False, to_pay_known=False
    ),
    "two films, the other on the shelf": Case(
        ALL + FILM_PRICE, layers=CLEAR + AMBER, shelf=(("clear",),), used_known=False
    ),
}

STOCKED = [name for name, case in CASES.items() if case.shelf or "[[stock]]" in case.more]


class Shown(NamedTuple):
    """A case and all that is shown of it; ``files`` are those of its run."""

    case: Case
    folder: Path
    estimate: dict[str, Any]
    estimate_told: str
    estimate_csv: str
    plan: dict[str, Any]
    plan_told: str
    summary: dict[str, Any]
    page: str


@pytest.fixture(scope="module", params=CASES)
def shown(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Shown:
    """Write a case and run what shows its prices; no ledger of a folder above is found."""
    case, folder = CASES[request.param], tmp_path_factory.mktemp("case")
    write(case, folder)
    job, run = folder / "job.toml", folder / "run"
    options = ("estimate", job, "--up-to", "0")
    plan_told = done("plan", job, "--out", run).output
    return Shown(
        case=case,
        folder=folder,
        estimate=json.loads(done(*options, "--json").output),
        estimate_told=done(*options).output,
        estimate_csv=done(*options, "--csv").output,
        plan=json.loads(done("plan", job, "--out", run, "--json").output),
        plan_told=plan_told,
        summary=json.loads((run / "summary.json").read_text("utf-8")),
        page=(run / "job-sheet.html").read_text("utf-8"),
    )


def write(case: Case, folder: Path) -> None:
    (folder / "slow.toml").write_text(CUTTER)
    (folder / "pier.toml").write_text(DESIGN + case.layers)
    (folder / "job.toml").write_text(JOB + case.more + "[prices]\n" + case.prices)
    for piece in case.shelf:
        done("stock", "add", *piece, "--stock", folder / "stock.toml")


def expected(folder: Path, summary: dict[str, Any]) -> TwoPrices:
    """Work out both prices from the files of a folder."""
    job = tomllib.loads((folder / "job.toml").read_text("utf-8"))
    films = film_tables(folder, [film["film"] for film in summary["films"]])
    shelf = folder / "stock.toml"
    ledger = tomllib.loads(shelf.read_text("utf-8"))["piece"] if shelf.exists() else []
    return two_prices(summary, job, films, ledger)


class _Terms(HTMLParser):
    """The values of a page by their names: the texts of ``dt`` and of the ``dd`` behind it."""

    def __init__(self) -> None:
        super().__init__()
        self.values: dict[str, str] = {}
        self._text = self._term = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._text = "" if tag in ("dt", "dd") else self._text

    def handle_data(self, data: str) -> None:
        self._text += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "dt":
            self._term = self._text
        elif tag == "dd":
            self.values.setdefault(self._term, self._text)


def on_page(page: str) -> tuple[str, str]:
    terms = _Terms()
    terms.feed(page)
    return terms.values["Used"], terms.values["To pay now"]


def on_terminal(shown: str) -> tuple[str, str]:
    """Return what stands behind the two names; each stands once, and no line is too long."""
    lines = shown.splitlines()
    # A path is not broken, and that of the tests' folder may be long.
    assert max(len(line) for line in lines if "/pytest-" not in line) <= 80
    found = []
    for name in ("used", "to pay now"):
        (line,) = (line for line in lines if line.startswith(f"{name} "))
        found.append(line.removeprefix(name).strip())
    return found[0], found[1]


def in_json(found: dict[str, Any]) -> TwoPrices:
    return TwoPrices(found["used"]["amount"], found["to_pay_now"]["amount"])


def assert_shown(shown: str, amount: float | None) -> None:
    if amount is None:
        assert shown.startswith("not known")
        assert not re.search(r"\d\.\d\d", shown)
    else:
        assert re.fullmatch(rf"{amount:.2f}( EUR)?(\D.*)?", shown), f"{shown} for {amount}"


def assert_both_shown(shown: Iterable[str], right: TwoPrices) -> None:
    for text, amount in zip(shown, right, strict=True):
        assert_shown(text, amount)


@pytest.mark.slow
def test_all_show_the_same_two_prices(shown: Shown) -> None:
    right = expected(shown.folder, shown.summary)
    assert (right.used is not None, right.to_pay_now is not None) == shown.case[-2:]
    for found in (shown.estimate, shown.plan, shown.summary):
        assert in_json(found) == pytest.approx(right)
        assert found["used"] == shown.estimate["used"]
        assert found["to_pay_now"] == shown.estimate["to_pay_now"]
    (row,) = (
        row for row in csv.DictReader(shown.estimate_csv.splitlines()) if row["kind"] == "job"
    )
    for name, amount in right._asdict().items():
        assert row[name] == "" if amount is None else float(row[name]) == pytest.approx(amount)
    assert on_terminal(shown.estimate_told) == on_terminal(shown.plan_told)
    for both in (on_terminal(shown.estimate_told), on_page(shown.page)):
        assert_both_shown(both, right)


def test_no_other_total_of_costs_is_named(shown: Shown) -> None:
    page = re.sub(r"<(style|script)>.*?</\1>|<[^>]+>", " ", shown.page, flags=re.DOTALL)
    other = r'(?i)"cost"|opened_price|\bcosts? |to buy:|by sheets|sheets bought|total by'
    for text in (shown.plan_told, shown.estimate_told, json.dumps(shown.summary), page):
        assert not re.findall(other, text)


def test_used_each_times_the_copies_is_used_less_what_loose_parts_take(shown: Shown) -> None:
    found = shown.estimate
    (disc,) = found["discs"]
    assert shown.plan["discs"][0]["used_each"] == disc["used_each"]
    each, all_used = disc["used_each"]["amount"], found["used"]["amount"]
    assert (each is None) == (all_used is None)
    if each is not None:
        loose = found["loose_parts"]["amount"]
        assert disc["copies"] * each + loose == pytest.approx(all_used)
        assert (loose > 0.0) == ("[[part]]" in shown.case.more)


@pytest.mark.slow
@pytest.mark.parametrize("name", STOCKED)
def test_a_fill_shows_the_prices_of_what_it_writes(name: str, tmp_path: Path) -> None:
    write(CASES[name], tmp_path)
    told = done("fill", tmp_path / "job.toml", "--out", tmp_path / "full").output
    written = json.loads((tmp_path / "full" / "summary.json").read_text("utf-8"))
    found = json.loads(done("fill", tmp_path / "job.toml", "--json").output)
    right = expected(tmp_path, written)
    for each in (found, written):
        assert in_json(each) == pytest.approx(right)
    (disc,) = written["discs"]
    assert found["used_each"] == {disc["design"]: disc["used_each"]}
    each = disc["used_each"]["amount"]
    assert f"{'not known' if each is None else f'{each:.2f}'}" in told.split("used each")[0][-20:]
    page = on_page((tmp_path / "full" / "job-sheet.html").read_text("utf-8"))
    for both in (on_terminal(told), page):
        assert_both_shown(both, right)


def notes(prices: str, tmp_path: Path, *options: object) -> list[str]:
    """Return what stands beside the first price of a job with these prices."""
    write(Case(prices), tmp_path)
    told = done("plan", tmp_path / "job.toml", "--out", tmp_path / "run", "--json", *options)
    found: list[str] = json.loads(told.output)["used"]["notes"]
    return found


def test_what_a_price_leaves_out_is_said_beside_it(tmp_path: Path) -> None:
    assert notes(ALL + FILM_PRICE, tmp_path) == []
    assert notes(FILM_PRICE, tmp_path) == [
        "without cutter time: no cutter_per_hour",
        "without setup and labour: no labour_per_hour",
        "without spoilage: no spoilage_percent",
    ]
    assert notes(FILM_PRICE + "cutter_per_hour = 36\nlabour_per_hour = 24\n", tmp_path) == [
        "without setup: no setup_minutes",
        "without labour: no assembly_minutes",
        "without spoilage: no spoilage_percent",
    ]
    assert notes(ALL, tmp_path) == ["no price of amber"]


def test_what_nobody_priced_is_a_dash_and_not_free(tmp_path: Path) -> None:
    write(Case(FILM_PRICE), tmp_path)
    found = json.loads(done("estimate", tmp_path / "job.toml", "--json").output)
    for each in (found["lines"], found["discs"][0]):
        assert [each[name]["amount"] for name in ("cutter", "setup", "labour", "spoilage")] == [
            None
        ] * 4
    told = done("estimate", tmp_path / "job.toml", "--up-to", "0").output
    assert "amber" in told and "0.00" not in told


def test_a_recut_of_some_parts_counts_no_putting_together(tmp_path: Path) -> None:
    notes(ALL + FILM_PRICE, tmp_path)
    run, again = tmp_path / "run", tmp_path / "again"
    told = done("recut", run, "--copy", "1", "--out", again)
    found = json.loads((again / "summary.json").read_text("utf-8"))
    labour = "without labour: only some of the parts are cut"
    assert found["used"]["notes"] == [labour]
    assert found["discs"][0]["used_each"]["amount"] is None
    job = tomllib.loads((tmp_path / "job.toml").read_text("utf-8"))
    right = two_prices(found, job, film_tables(tmp_path, ["amber"]), [], is_whole=False)
    assert in_json(found) == pytest.approx(right)
    used, to_pay = on_terminal(told.output)
    assert used.split(" → ")[1].startswith(f"{right.used:.2f} EUR")
    assert to_pay.startswith("7.50 EUR")
