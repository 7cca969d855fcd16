"""Estimates: a worked example by hand, agreement with the plan, sheets at which to open another."""

import csv
import json
import math
from pathlib import Path

import pytest
from commands import done

CUTTER = """\
format = 1
title = "Slow and steady"
kind = "co2"
bed = [600, 400]
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
[[layer]]
name = "amber"
film = "amber"
"""

JOB = """\
format = 1
title = "Pier discs"
cutter = "slow.toml"
[[disc]]
design = "pier.toml"
copies = 4
[[stock]]
film = "amber"
size = [330, 115]
count = 3
price = 2.40
[nesting]
web = 1
margin = 5
evaluations = 2000
[leftovers]
smallest_side = 200
[prices]
currency = "EUR"
cutter_per_hour = 36
labour_per_hour = 24
assembly_minutes = 6
gluing_minutes = 4
setup_minutes = 3
spoilage_percent = 5
"""


@pytest.fixture(autouse=True)
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "slow.toml").write_text(CUTTER)
    (tmp_path / "pier.toml").write_text(DESIGN)
    (tmp_path / "job.toml").write_text(JOB)
    return tmp_path


def estimate(*options: str) -> dict[str, object]:
    found: dict[str, object] = json.loads(done("estimate", "job.toml", "--json", *options).output)
    return found


def test_the_worked_example_agrees_to_the_cent() -> None:
    """By hand, as in the documents.

    A sheet of 330 x 115 mm holds three discs in a row (3 x 100 + 2 x 1.4 + 2 x 5.2 = 313.2 mm), so
    four need two sheets, and nothing of them is kept. A disc is cut along circles of radius 50.1
    and 9.9 mm, 120 pi = 376.99 mm, at 10 mm/s and with two pierces of 0.5 s: 38.70 s; four take
    154.80 s. The travel between them takes less than 0.1 s, a tenth of a cent.
    """
    found = estimate()
    lines = {name: round(each["amount"], 2) for name, each in found["lines"].items()}
    assert lines == {
        "film_used": 4.80,  # 2 x 2.40, all of both
        "cutter": 1.55,  # 154.80 s at 36 an hour = 1.548
        "setup": 2.40,  # 2 sheets x 3 min at 24 an hour
        "labour": 16.00,  # 4 discs x (6 + 4) min at 24 an hour
        "spoilage": 0.32,  # 5 % of 4.80 + 1.548 = 0.3174
    }
    assert round(found["used"]["amount"], 2) == 25.07  # 4.80 + 1.548 + 2.40 + 16.00 + 0.3174
    assert found["to_pay_now"]["amount"] == 0.0  # the sheets are on the shelf
    (disc,) = found["discs"]
    assert round(disc["used_each"]["amount"], 2) == 6.27  # 25.0654 / 4 = 6.2664
    assert round(disc["labour"]["amount"], 2) == 4.00
    assert found["loose_parts"]["amount"] == 0.0


def test_the_terminal_shows_the_worked_example_in_eighty_columns() -> None:
    shown = done("estimate", "job.toml").output
    assert max(map(len, shown.splitlines())) <= 80
    words = [line.split() for line in shown.splitlines()]
    assert ["amber", "2", "4.80", "1.55", "2.40", "0.00"] in words
    assert ["Pier", "disc", "4", "1.20", "0.39", "0.60", "4.00", "0.08", "6.27"] in words
    assert words[-2:] == [
        ["used", "25.07", "EUR"],
        ["to", "pay", "now", "0.00", "EUR", "nothing", "to", "buy"],
    ]


def test_leftovers_opened_are_told_apart_from_sheets(bench: Path) -> None:
    label = '[[stock]]\nfilm = "amber"\nsize = [330, 115]\nlabel = "A{}"\n'
    for count, opened in ((1, "1 + 1 leftover"), (2, "2 leftovers")):
        leftovers = "".join(label.format(n) for n in range(count))
        (bench / "job.toml").write_text(JOB + leftovers)
        assert opened in done("estimate", "job.toml").output


def test_every_figure_can_be_traced() -> None:
    shown = " ".join(done("estimate", "job.toml", "--explain", "--up-to", "0").output.split())
    assert "amber: film by area used 4.80 = 2.4000 × 37950 of 37950 mm² + 2.4000 ×" in shown
    assert "amber: to pay now 0.00 = none" in shown
    assert "amber: setup 2.40 = 2 amber sheets × 3 min × 24 an hour" in shown
    assert "job: labour 16.00 = 4 discs × 10 min × 24 an hour" in shown
    assert "job: spoilage 0.32 = 5 % of film 4.8000 and cutter 1.54" in shown


def test_the_quantity_table_says_where_a_further_sheet_is_opened() -> None:
    rows = estimate("--up-to", "8")["quantities"]
    assert [(row["discs"], row["opened"], row["further_sheet_of"]) for row in rows] == [
        (1, {"amber": 1}, ["amber"]),
        (2, {"amber": 1}, []),
        (4, {"amber": 2}, ["amber"]),
        (7, {"amber": 3}, ["amber"]),
        (8, {"amber": 3}, []),
    ]
    # By hand: one disc more on an open sheet adds its cutting, labour and spoilage of the
    # cutting, 0.387 + 4.00 + 0.05 x 0.387, but no film and no setup.
    assert rows[1]["used"] - rows[0]["used"] == pytest.approx(4.406, abs=0.002)
    # A sheet more adds 2.40 of film, 5 % of that as spoilage, and 1.20 of setup.
    two_more = rows[2]["used"] - rows[1]["used"]
    assert two_more == pytest.approx(2 * 4.406 + 2.40 * 1.05 + 1.20, abs=0.003)
    assert rows[2]["used_per_disc"] == pytest.approx(rows[2]["used"] / 4)


def test_the_table_ends_where_the_stock_does() -> None:
    rows = estimate("--up-to", "16")["quantities"]
    assert [row["discs"] for row in rows] == [1, 2, 4, 7, 8]


def test_more_discs_than_the_stock_holds_are_refused() -> None:
    error = done("estimate", "job.toml", "--copies", "pier=10", code=1).stderr
    assert error.startswith("amber: no room found for 1 of 10 copies of part 1 (Pier disc, amber")
    # The film would do by its area, so that more of it is needed is not known.
    assert error.endswith("75 cm²; more film is needed, or a longer search\n")


def test_copies_are_given_by_the_design_or_its_file() -> None:
    for name in ("Pier disc", "pier", "pier.toml"):
        (disc,) = estimate("--copies", f"{name}=3", "--up-to", "0")["discs"]
        assert disc["copies"] == 3
    error = done("estimate", "job.toml", "--copies", "quay=3", code=2).stderr
    assert error == '--copies: the job has no design "quay"; it has: Pier disc\n'
    assert (
        "is not a name, =, and a whole number"
        in done("estimate", "job.toml", "--copies", "pier=0", code=2).stderr
    )


def test_unknown_prices_are_not_free(bench: Path) -> None:
    (bench / "job.toml").write_text(JOB.replace("cutter_per_hour = 36\n", ""))
    found = estimate("--up-to", "0")
    assert found["lines"]["cutter"]["amount"] is None
    assert found["lines"]["film_used"]["amount"] == pytest.approx(4.80)
    # By hand, without the cutter: 4.80 x 1.05 + 2.40 + 16.00.
    assert found["used"]["amount"] == pytest.approx(23.44)
    assert found["used"]["notes"] == ["without cutter time: no cutter_per_hour"]
    explained = done("estimate", "job.toml", "--up-to", "0", "--explain").output
    assert "unknown (prices.cutter_per_hour)" in " ".join(explained.split())


def test_csv_holds_the_same_amounts() -> None:
    rows = list(csv.DictReader(done("estimate", "job.toml", "--csv").output.splitlines()))
    kinds = [row["kind"] for row in rows]
    assert kinds == ["film", "disc", "job", *["quantity"] * 5]
    found = estimate()
    job = rows[2]
    assert float(job["used"]) == pytest.approx(found["used"]["amount"])
    assert float(rows[1]["used_each"]) == pytest.approx(found["discs"][0]["used_each"]["amount"])
    assert [row["copies"] for row in rows[3:]] == ["1", "2", "4", "7", "8"]


@pytest.mark.parametrize(
    "example",
    ["01-aurora-wheel", "02-storm-shutter", pytest.param("03-tide-strobe", marks=pytest.mark.slow)],
)
def test_estimate_and_plan_agree(bench: Path, example: str) -> None:
    folder = Path(__file__).parent.parent / "examples" / example
    for path in folder.glob("*.toml"):
        lines = path.read_text("utf-8").splitlines()
        text = "\n".join(
            "evaluations = 300" if line.startswith("seconds") else line for line in lines
        )
        (bench / path.name).write_text(text, encoding="utf-8")
    found = estimate("--up-to", "0")
    summary = json.loads(done("plan", "job.toml", "--out", "run", "--json").output)
    lines = found["lines"]
    assert lines["film_used"]["amount"] == pytest.approx(summary["totals"]["film_cost"])
    assert lines["cutter"]["amount"] == pytest.approx(summary["totals"]["cutter_cost"])
    for price in ("used", "to_pay_now"):
        assert found[price] == summary[price]
    for disc, planned in zip(found["discs"], summary["discs"], strict=True):
        assert disc["used_each"] == planned["used_each"]
    for film, planned in zip(found["films"], summary["films"], strict=True):
        assert film["film_used"]["amount"] == pytest.approx(planned["film_cost"])
        assert film["sheets"] + film["leftovers"] == len(planned["sheets"])
    # What the discs and the loose parts cost is what the job costs: nothing lost, nothing twice.
    discs = sum(disc["copies"] * disc["used_each"]["amount"] for disc in found["discs"])
    assert math.isclose(discs + found["loose_parts"]["amount"], found["used"]["amount"])


def test_nothing_is_written(bench: Path) -> None:
    before = sorted(bench.iterdir())
    done("estimate", "job.toml")
    assert sorted(bench.iterdir()) == before
