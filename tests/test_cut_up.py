"""Sheets larger than the bed, from the plan to the ledger and back."""

import json
import shutil
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import pytest
from case_files import Tables
from commands import done, run
from run_checks import assert_run_is_right
from second.asked import asked_of
from starter import starter

from jobprep.files.ledger.on_disk import read_ledger
from jobprep.runs.recorded_run import recorded_run

SMALL_BED = "desk-diode"
CUTTERS = ("bench-co2", SMALL_BED, "drag-knife")


def summary(folder: Path) -> Tables:
    found: Tables = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    return found


@pytest.mark.slow
@pytest.mark.parametrize(
    ("cutter", "others"),
    [
        (SMALL_BED, ["bench-co2"]),
        *(pytest.param(each, CUTTERS, marks=pytest.mark.slow) for each in CUTTERS),
    ],
)
def test_the_starter_job_is_planned_recut_booked_and_taken_back(
    tmp_path: Path, cutter: str, others: Sequence[str]
) -> None:
    """On a shipped cutter, then on others; every drawing is cut in the computer."""
    job = starter(tmp_path, cutter)
    for film in ("clear", "green", "red", "black"):
        done("stock", "add", film, "--stock", tmp_path / "stock.toml")
    before = read_ledger(tmp_path / "stock.toml")
    done("plan", job, "--out", tmp_path / "run")
    assert_run_is_right(tmp_path / "run", asked_of(job))
    for other in others:
        out = tmp_path / f"on-{other}"
        told = done("recut", tmp_path / "run", "--cutter", other, "--out", out, "--json").stdout
        kept = [film["film"] for film in json.loads(told)["films"] if film["nest_kept"]]
        assert_run_is_right(out, asked_of(job, cutter=other), kept=kept)
        _assert_booked_and_taken_back(out, tmp_path / "stock.toml")
        assert read_ledger(tmp_path / "stock.toml") == before


def _assert_booked_and_taken_back(out: Path, stock: Path) -> None:
    """The film on the shelf after a booking is what was there, less parts, slots and scrap."""
    before = Counter(_films(stock))
    done("stock", "book", out, "--stock", stock)
    areas = {film["film"]: 0.0 for film in summary(out)["films"]}
    for film in summary(out)["films"]:
        for row in (*film["sheets"], *film["cut_up"]):
            areas[film["film"]] += row["leftover_mm2"]
    after = Counter(_films(stock))
    for film, area in areas.items():
        opened = 0.0 if film == "amber" else before[film]
        came = after[film] - before[film] + opened
        assert came == pytest.approx(area, rel=2e-3)
    done("stock", "undo", "--stock", stock)


def _films(stock: Path) -> dict[str, float]:
    pieces = json.loads(done("stock", "list", "--stock", stock, "--json").stdout)["pieces"]
    found: Counter[str] = Counter()
    for piece in pieces:
        found[piece["film"]] += piece["area_mm2"] * piece["count"]
    return dict(found)


def test_a_piece_for_the_bed_costs_its_share_and_the_whole_sheet_is_bought(tmp_path: Path) -> None:
    """400 × 400 of 508 × 610 mm at 4.00; what is used is the whole less what goes to the shelf."""
    done("plan", starter(tmp_path, "desk-diode"), "--out", tmp_path / "run")
    clear = next(film for film in summary(tmp_path / "run")["films"] if film["film"] == "clear")
    (sheet,), (whole,) = clear["sheets"], clear["cut_up"]
    assert sheet["price"] == pytest.approx(4.0 * 160_000 / 309_880)
    assert whole["price"] == 4.0
    kept = sheet["leftover_mm2"] + whole["leftover_mm2"]
    assert clear["film_cost"] == pytest.approx(4.0 * (309_880 - kept) / 309_880)


def test_the_terminal_and_the_job_sheet_say_what_to_cut_by_hand(tmp_path: Path) -> None:
    told = done("plan", starter(tmp_path, "desk-diode"), "--out", tmp_path / "run").stdout
    words = " ".join(told.split())
    assert "first cut 400 × 400 mm (sheet 1) off clear, 508 × 610 mm, by 2 straight cuts" in words
    assert "Leftover to keep: clear, 1067 cm² in 508 × 210 mm" in told
    page = (tmp_path / "run" / "job-sheet.html").read_text(encoding="utf-8")
    assert "Clear polyester film: cut by hand first" in page
    assert "level, 400 mm above the lower edge, from 0 to 508 mm from the left" in page
    assert "upright, 400 mm from the left, from 0 to 400 mm above the lower edge" in page
    assert "The piece of 400 × 400 mm is sheet 1." in page
    assert "To the shelf, hatched: 108 × 400 mm and 508 × 210 mm." in page


def test_a_run_on_a_small_bed_is_kept_as_it_lies_on_a_large_one(tmp_path: Path) -> None:
    done("plan", starter(tmp_path, "desk-diode"), "--out", tmp_path / "run")
    out = tmp_path / "again"
    command = ("recut", tmp_path / "run", "--cutter", "bench-co2", "--out", out, "--json")
    films = ("clear", "amber", "green", "red", "black")
    same = [word for film in films for word in ("--kerf", f"{film}=0.12")]
    told = json.loads(done(*command, *same).stdout)
    assert all(film["nest_kept"] for film in told["films"])
    before, after = (recorded_run(folder).record for folder in (tmp_path / "run", out))
    assert before.cut_up == after.cut_up
    assert before.sheets == after.sheets


def test_a_recut_on_a_small_bed_cuts_up_the_sheets_the_run_opened(tmp_path: Path) -> None:
    """Not others: its whole sheet of amber from the shelf stays there, the leftover is used."""
    done("plan", starter(tmp_path, "bench-co2"), "--out", tmp_path / "run")
    out = tmp_path / "again"
    command = ("recut", tmp_path / "run", "--cutter", "desk-diode", "--out", out, "--json")
    films = {film["film"]: film for film in json.loads(done(*command).stdout)["films"]}
    assert films["amber"]["nest_kept"]
    assert films["clear"]["why"] == (
        "a sheet of 508 × 610 mm is larger than the bed of desk-diode, 400 × 400 mm"
    )
    record = recorded_run(out).record
    assert [each.sheet.film for each in record.cut_up] == ["clear", "green", "red", "black"]


def test_a_part_too_large_for_the_bed_is_refused_by_plan_and_recut(tmp_path: Path) -> None:
    wide = {"outer_diameter = 24,": "outer_diameter = 450,"}
    told = "is too large for the bed of desk-diode, 400 × 400 mm, less the margins of a sheet"
    refused = run(
        "plan", starter(tmp_path / "small", "desk-diode", **wide), "--out", tmp_path / "a"
    )
    assert refused.exit_code == 1
    assert f"clear: part 7 (hub washer, 450 × 450 mm) {told}" in refused.stderr
    done("plan", starter(tmp_path / "large", "bench-co2", **wide), "--out", tmp_path / "run")
    again = run("recut", tmp_path / "run", "--cutter", "desk-diode", "--out", tmp_path / "b")
    assert again.exit_code == 1
    assert f"clear: part 7 (hub washer, 450 × 450 mm) {told}" in again.stderr
    assert not (tmp_path / "b").exists()


def test_of_a_spoiled_piece_what_was_cut_off_by_hand_is_kept(tmp_path: Path) -> None:
    done("stock", "add", "clear", "--stock", tmp_path / "stock.toml")
    done("plan", starter(tmp_path, "desk-diode"), "--out", tmp_path / "run")
    stock = ("--stock", tmp_path / "stock.toml")
    done("stock", "book", tmp_path / "run", *stock, "--spoiled-sheet", "clear=1")
    kept = [piece for piece in read_ledger(tmp_path / "stock.toml").pieces if piece.film == "clear"]
    assert sorted(piece.outline[2] for piece in kept) == [(108.0, 400.0), (508.0, 210.0)]
    assert {piece.origin for piece in kept} == {"Harbour lamp, first wheel, clear-1"}


@pytest.mark.slow
@pytest.mark.parametrize("sheets", [1, pytest.param(2, marks=pytest.mark.slow)])
def test_fill_cuts_up_what_is_on_the_shelf(tmp_path: Path, sheets: int) -> None:
    """A sheet of clear gives 400 × 400, 400 × 210 and 108 × 400 mm; discs are 120."""
    job = starter(tmp_path, "desk-diode", evaluations=50)
    command = ("fill", job, "--sheets", f"clear={sheets}", "--out", tmp_path / "run", "--json")
    told = json.loads(done(*command).stdout)
    copies = dict(enumerate(told["discs"].values()))
    assert copies[0] >= 5 * sheets
    assert_run_is_right(tmp_path / "run", asked_of(job, copies=copies))
    clear = next(film for film in summary(tmp_path / "run")["films"] if film["film"] == "clear")
    assert len(clear["cut_up"]) == sheets


def test_whole_sheets_are_to_pay_now(tmp_path: Path) -> None:
    job = starter(tmp_path, "desk-diode")
    told = json.loads(done("estimate", job, "--json", "--up-to", "0").stdout)
    assert told["to_pay_now"]["amount"] == pytest.approx(25.0)  # 4 + 7.5 + 7.5 + 6
    assert "1 sheet of clear" in told["to_pay_now"]["notes"]


def edited(folder: Path, old: str, new: str) -> str:
    path = folder / "run" / "run.toml"
    shutil.copy(path, folder / "kept.toml")
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8")
    refused = run("recut", folder / "run", "--recorded", "--out", folder / "again")
    shutil.copy(folder / "kept.toml", path)
    return " ".join(refused.stderr.split()) if refused.exit_code == 2 else ""


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("starter")
    done("plan", starter(folder, "desk-diode"), "--out", folder / "run")
    return folder


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (
            "cuts = [[0, 400, 508, 400], [400, 0, 400, 400]]",
            "cuts = [[0, 400, 500, 400], [400, 0, 400, 400]]",
            "cut_up[1].cuts[1]: it does not reach right across one piece of its sheet",
        ),
        (
            "cuts = [[0, 400, 508, 400], [400, 0, 400, 400]]",
            "cuts = [[0, 410, 508, 410], [400, 0, 400, 410]]",
            "sheets[1].cut_from: it is no piece of the larger sheet after the cuts by hand",
        ),
        (
            "[sheets.cut_from]\nsheet = 0",
            "[sheets.cut_from]\nsheet = 9",
            "sheets[1].cut_from.sheet: 9 is not a sheet that is cut up, which count from 0",
        ),
        (
            "[sheets.cut_from]\nsheet = 0",
            "[sheets.cut_from]\nsheet = 1",
            "sheets[1].cut_from.sheet: this sheet is clear, the larger one green",
        ),
        (
            "[508, 610, 0, 610], [0, 610, 0, 0]",
            "[508, 609, 0, 609], [0, 609, 0, 0]",
            "contours[1]",
        ),
        (
            "is_bought = true\ncuts",
            "is_bought = false\ncuts",
            "sheets[1]: it is not of the same stock as the sheet it is cut from",
        ),
    ],
    ids=("short", "elsewhere", "missing", "another", "smaller", "sold"),
)
def test_a_record_whose_cuts_by_hand_do_not_add_up_is_refused(
    planned: Path, old: str, new: str, said: str
) -> None:
    assert said in edited(planned, old, new)
