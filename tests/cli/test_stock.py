"""The stock ledger from the command line: from the shelf through a run and back to the shelf."""

import json
import sys
from pathlib import Path
from xml.etree import ElementTree

import pytest
import shapely
from commands import done

from jobprep import pipeline
from jobprep.files.ledger.on_disk import read_ledger
from jobprep.geometry.measure import area
from jobprep.stock.ledger import Piece

DAY = "2026-11-25"

DESIGN = """\
format = 1
name = "Pier lamp"
outer_diameter = 120.0
bore = { diameter = 6.35 }
[[layer]]
name = "front"
film = "amber"
[[layer]]
name = "colour"
outer_diameter = 116.0
inner_diameter = 30.0
sector = [{ film = "amber", degrees = 120 }, { film = "none", degrees = 240 }]
"""

JOB = """\
format = 1
title = "Pier lamps"
cutter = "bench-co2"
[[disc]]
design = "pier.toml"
copies = 2
[nesting]
evaluations = 500
[prices]
currency = "EUR"
sheet = { amber = 7.5 }
[leftovers]
smallest_side = 40
"""


@pytest.fixture(autouse=True)
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pier.toml").write_text(DESIGN)
    (tmp_path / "job.toml").write_text(JOB)
    return tmp_path


def on_shelf(shop: Path) -> list[tuple[str, str, int]]:
    return [(each.id, each.kind, each.count) for each in read_ledger(shop / "stock.toml").pieces]


def outline(piece: Piece) -> shapely.Polygon:
    return shapely.Polygon(piece.outline, piece.defects)


def test_add_list_and_drop(shop: Path) -> None:
    done("stock", "add", "amber", "--count", "2", "--shelf", "A1", "--date", DAY)
    done("stock", "add", "green", "--leftover", "--size", "150x200.5", "--remark", "a scratch")
    listed = done("stock", "list").output
    assert "amber-1" in listed
    assert "508 × 610" in listed
    assert max(map(len, listed.splitlines())) <= 80
    pieces = json.loads(done("stock", "list", "--json", "--film", "green").output)["pieces"]
    assert [(piece["id"], piece["area_mm2"], piece["remark"]) for piece in pieces] == [
        ("green-1", 150 * 200.5, "a scratch")
    ]
    done("stock", "drop", "amber-1", "--count", "1")
    assert on_shelf(shop) == [("amber-1", "sheet", 1), ("green-1", "leftover", 1)]
    assert (
        "of amber-1 there are 1, not 3"
        in done("stock", "drop", "amber-1", "--count", "3", code=1).stderr
    )


def test_a_leftover_may_be_given_as_a_drawing(shop: Path) -> None:
    (shop / "piece.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="100mm" '
        'viewBox="0 0 200 100"><path d="M 0 0 L 200 0 L 200 100 L 100 100 '
        'A 100 100 0 0 0 0 0 Z"/></svg>'
    )
    done("stock", "add", "amber", "--leftover", "--drawing", "piece.svg")
    (piece,) = read_ledger(shop / "stock.toml").pieces
    assert outline(piece).area == pytest.approx(20_000 - 2_500 * 3.141593, rel=1e-3)
    assert outline(piece).area < 20_000 - 2_500 * 3.141592


@pytest.mark.parametrize(
    ("arguments", "code", "message"),
    [
        (
            ("list",),
            2,
            "stock.toml: not here, nor in a folder above; begin one with `jobprep stock add FILM`",
        ),
        (("add", "ambre"), 2, 'stock add: "ambre" is not a known film. Did you mean amber?'),
        (
            ("add", "amber", "--size", "0x10"),
            2,
            "stock add: --size: 0 x 10 is not a size in mm, each 0.001 to 10000",
        ),
        (
            ("add", "amber", "--remark", "two\nlines"),
            2,
            "stock add: --remark: not one line of text of at most 300 characters",
        ),
        (
            ("add", "amber", "--leftover", "--count", "2"),
            1,
            "every leftover is a piece of its own; add them one by one",
        ),
        (("list", "--stock", "no.toml"), 2, "no.toml: there is no such file"),
        (("rebuild",), 1, "stock.toml.journal: there is no journal to rebuild from"),
    ],
)
def test_what_cannot_be_is_explained_and_nothing_written(
    shop: Path, arguments: tuple[str, ...], code: int, message: str
) -> None:
    before = sorted(shop.iterdir())
    assert done("stock", *arguments, code=code).stderr.splitlines() == [message]
    assert [p for p in sorted(shop.iterdir()) if not p.name.endswith(".lock")] == before


def test_a_run_is_booked_undone_and_booked_again_to_the_same_bytes(shop: Path) -> None:
    done("stock", "add", "amber", "--count", "2", "--date", DAY)
    before = (shop / "stock.toml").read_bytes()
    planned = done("plan", "job.toml", "--out", "run", "--json").output
    (sheet,) = json.loads(planned)["films"][0]["sheets"]
    assert (sheet["piece"], sheet["to_buy"]) == ("amber-1", False)
    assert (shop / "stock.toml").read_bytes() == before  # planning reads it, no more
    booked = done("stock", "book", "run", "--date", DAY).output
    assert "New: amber-2, leftover" in booked
    after = (shop / "stock.toml").read_bytes()
    assert done("stock", "book", "run", code=1).stderr == (
        '"Pier lamps" was booked already, on 2026-11-25\n'
    )
    assert done("stock", "undo").output.startswith('Taken back: booked "Pier lamps"\n')
    assert (shop / "stock.toml").read_bytes() == before
    done("stock", "book", "run", "--date", DAY)
    assert (shop / "stock.toml").read_bytes() == after


def test_a_bitten_leftover_is_used_again_before_a_whole_sheet(shop: Path) -> None:
    asked = JOB.replace("[leftovers]", '[leftovers]\nshape = "outline"')
    (shop / "job.toml").write_text(asked)
    done("stock", "add", "amber", "--count", "2", "--date", DAY)
    done("plan", "job.toml", "--out", "run")
    done("stock", "book", "run", "--date", DAY)
    leftover = read_ledger(shop / "stock.toml").pieces[1]
    whole = shapely.box(0, 0, 508, 610)
    assert outline(leftover).area < 0.95 * shapely.envelope(outline(leftover)).area < whole.area

    summary = json.loads(done("plan", "job.toml", "--out", "next", "--json").output)
    (film,) = summary["films"]
    assert [sheet["label"] for sheet in film["sheets"]] == ["amber-2"]
    assert film["sheets"][0]["sheet_area_mm2"] == pytest.approx(outline(leftover).area, abs=0.1)
    assert summary["to_pay_now"]["amount"] == 0
    done("stock", "book", "next", "--date", DAY)
    assert on_shelf(shop)[0] == ("amber-1", "sheet", 1)
    assert [kind for _, kind, _ in on_shelf(shop)[1:]] == ["leftover"] * (len(on_shelf(shop)) - 1)


def test_a_run_whose_sheet_was_used_meanwhile_is_refused(shop: Path) -> None:
    done("stock", "add", "amber", "--date", DAY)
    done("plan", "job.toml", "--out", "one")
    (shop / "job.toml").write_text(JOB.replace("Pier lamps", "Quay lamps"))
    done("plan", "job.toml", "--out", "two")
    done("stock", "book", "one", "--date", DAY)
    before = (shop / "stock.toml").read_bytes()
    assert done("stock", "book", "two", code=1).stderr.splitlines() == [
        '"Quay lamps" cannot be booked, its stock has changed since it was planned:',
        'amber-1: gone since 2026-11-25 (booked "Pier lamps")',
    ]
    assert (shop / "stock.toml").read_bytes() == before


def test_without_a_ledger_sheets_are_bought_and_their_leftovers_booked(shop: Path) -> None:
    planned = done("plan", "job.toml", "--out", "run", "--json").output
    (sheet,) = json.loads(planned)["films"][0]["sheets"]
    assert (sheet["piece"], sheet["to_buy"]) == ("", True)
    done("stock", "book", "run", "--date", DAY)
    pieces = read_ledger(shop / "stock.toml").pieces
    assert {piece.origin for piece in pieces} == {"Pier lamps, amber sheet 1"}


def test_leftovers_lie_clear_of_the_slots_of_the_run(shop: Path) -> None:
    planned = pipeline.plan(pipeline.check(shop / "job.toml"))
    (sheet,) = planned.films[0].sheets
    done("plan", "job.toml", "--out", "run")
    done("stock", "book", "run")
    kept = sum(outline(piece).area for piece in read_ledger(shop / "stock.toml").pieces)
    true = sum(map(area, sheet.leftovers))
    assert kept < true
    assert kept == pytest.approx(true, rel=2e-3)


def test_spoiled_parts_come_out_as_a_job_that_cuts_the_same_outlines(shop: Path) -> None:
    done("plan", "job.toml", "--out", "run")
    said = done("stock", "book", "run", "--spoiled", "1", "--spoiled", "2=2").output
    assert said.endswith("To cut again: 3 parts, in run-recut.toml\n")
    again = pipeline.check(shop / "run-recut.toml")
    first = {part.number: part for part in pipeline.check(shop / "job.toml").parts}
    assert [part.quantity for part in again.parts] == [1, 2]
    for part, number in zip(again.parts, (1, 2), strict=True):
        assert area(part.region) == pytest.approx(area(first[number].region), abs=1e-3)
        assert part.film == "amber"
    done("plan", "run-recut.toml", "--out", "again")


def test_a_single_spoiled_part_is_told_in_the_singular(shop: Path) -> None:
    done("plan", "job.toml", "--out", "run")
    said = done("stock", "book", "run", "--spoiled", "1", "--spoiled-job", "again.toml").output
    assert said.endswith("To cut again: 1 part, in again.toml\n")


def test_of_a_spoiled_sheet_all_is_cut_again_and_nothing_kept(shop: Path) -> None:
    done("stock", "add", "amber", "--count", "2")
    done("plan", "job.toml", "--out", "run")
    done("stock", "book", "run", "--spoiled-sheet", "amber=1", "--spoiled-job", "again.toml")
    assert on_shelf(shop) == [("amber-1", "sheet", 1)]
    again = pipeline.check(shop / "again.toml")
    assert sum(part.quantity for part in again.parts) == 4


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--spoiled", "9"), 'the run has no part "9"; give its number on the parts list'),
        (("--spoiled", "1=3"), "the run has cut 2 of part 1 (Pier lamp, front), not 3"),
        (("--spoiled-sheet", "amber=2"), "the run has no sheet 2 of amber"),
    ],
)
def test_spoiling_what_was_not_cut_is_refused(
    shop: Path, options: tuple[str, ...], message: str
) -> None:
    done("plan", "job.toml", "--out", "run")
    before = sorted(path.name for path in shop.iterdir())
    assert done("stock", "book", "run", *options, code=1).stderr.splitlines() == [message]
    after = sorted(path.name for path in shop.iterdir() if path.suffix != ".lock")
    assert after == before


def test_the_page_of_the_stock_loads_nothing_and_shows_every_piece(shop: Path) -> None:
    done("stock", "add", "amber", "--remark", "<b>bold</b>")
    done("stock", "add", "green", "--leftover", "--size", "100x90")
    done("stock", "list", "--html", "stock.html")
    text = (shop / "stock.html").read_text("utf-8")
    assert "amber-1" in text
    assert "green-1" in text
    assert "&lt;b&gt;bold&lt;/b&gt;" in text
    assert "http" not in text.replace("http-equiv", "")


def test_labels_name_the_piece_and_draw_it_at_their_size(shop: Path) -> None:
    done("stock", "add", "amber", "--shelf", "A1 & B2", "--date", DAY)
    done("stock", "add", "green", "--leftover", "--size", "100x90", "--date", DAY)
    done("stock", "label", "amber-1", "green-1", "--out", "labels.svg")
    root = ElementTree.parse(shop / "labels.svg").getroot()
    assert (root.get("width"), root.get("height")) == ("80mm", "80mm")
    texts = [each.text for each in root.iter("{http://www.w3.org/2000/svg}text")]
    assert texts[:5] == [
        "amber-1",
        "Amber colour film",
        "508 × 610 mm",
        "sheet, 2026-11-25",
        "shelf A1 & B2",
    ]
    sizes = [each.get("font-size") for each in root.iter("{http://www.w3.org/2000/svg}text")]
    assert sizes[0] == "7"
    assert len(set(sizes[1:5])) == 1, "film, size, kind and shelf are alike"
    assert len(list(root.iter("{http://www.w3.org/2000/svg}path"))) == 4
    assert done("stock", "label", "blue-7", "--out", "x.svg", code=1).stderr.startswith(
        "blue-7 is not in"
    )
    assert done("stock", "label", "amber-1", "--out", "x.png", code=1).stderr == (
        "x.png: give a name that ends in .svg or .pdf\n"
    )


def test_labels_as_pdf_have_their_size_and_text(shop: Path) -> None:
    pytest.importorskip("reportlab")
    done("stock", "add", "amber", "--date", DAY)
    done("stock", "label", "amber-1", "--out", "labels.pdf")
    data = (shop / "labels.pdf").read_bytes()
    # 80 x 40 mm in units of 1/72 inch (ISO 32000-1, 8.3.2.3).
    assert b"/MediaBox [ 0 0 226.7717 113.3858 ]" in data


def test_rebuilding_keeps_the_bad_file(shop: Path) -> None:
    done("stock", "add", "amber")
    good = (shop / "stock.toml").read_text()
    (shop / "stock.toml").write_text(good.replace('"sheet"', '"shet"'))
    refused = done("plan", "job.toml", "--out", "run", code=2).stderr
    assert 'piece[1].kind: "shet" is not "sheet" or "leftover"' in refused
    said = done("stock", "rebuild").output
    assert "The old file is kept as" in said
    assert "1 entries" not in said
    assert (shop / "stock.toml").read_text() == good


def test_a_job_is_planned_from_the_nearest_ledger_or_the_one_named(shop: Path) -> None:
    (shop / "shed").mkdir()
    done("stock", "add", "amber", "--leftover", "--size", "400x300")
    done("stock", "add", "amber", "--leftover", "--size", "405x300", "--stock", "shed/stock.toml")
    widths = []
    for options in ((), ("--stock", "shed/stock.toml")):
        result = done("plan", "job.toml", "--out", "run", "--json", *options)
        widths.append(json.loads(result.output)["films"][0]["sheets"][0]["width_mm"])
    assert widths == [400, 405]
    assert done("check", "job.toml", "--stock", "no.toml", code=2).stderr == (
        "no.toml: there is no such file\n"
    )


def test_stock_that_the_job_names_itself_comes_before_the_ledger(shop: Path) -> None:
    done("stock", "add", "amber", "--leftover", "--size", "400x300")
    own = '[[stock]]\nfilm = "amber"\nlabel = "B"\nsize = [350, 300]\n'
    (shop / "job.toml").write_text(JOB + own)
    result = done("plan", "job.toml", "--out", "run", "--json")
    assert json.loads(result.output)["films"][0]["sheets"][0]["label"] == "B"


def test_a_pdf_without_its_library_is_explained(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "reportlab.pdfgen.canvas", None)
    done("stock", "add", "amber")
    said = done("stock", "label", "amber-1", "--out", "labels.pdf", code=1).stderr
    assert said == ("labels.pdf: PDF needs reportlab: pip install 'jobprep[pdf]', or name a .svg\n")
    assert not (shop / "labels.pdf").exists()


def test_the_ledger_found_is_named_from_the_current_folder(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    done("stock", "add", "amber", "--date", DAY)
    done("plan", "job.toml", "--out", "run")
    for words in (("book", "run"), ("undo",)):
        told = done("stock", *words, "--date", DAY).stdout
        assert told.splitlines()[-1] == "Written to stock.toml"
    (shop / "bench").mkdir()
    monkeypatch.chdir(shop / "bench")
    told = done("stock", "undo", "--date", DAY).stdout
    assert told.splitlines()[-1] == f"Written to {Path('../stock.toml')}"


def test_what_a_booking_wrote_goes_when_it_is_taken_back(shop: Path) -> None:
    done("plan", "job.toml", "--out", "run")
    before = sorted(path.name for path in shop.iterdir())
    for spoiled in ("1", "2=2", "1"):
        done("stock", "book", "run", "--spoiled", spoiled, "--date", DAY)
        assert (shop / "run-recut.toml").exists()
        said = done("stock", "undo").stdout.splitlines()
        drawing = f"run-recut-part-{spoiled[0]}"
        written = {f"{drawing}.svg", f"{drawing}-engraved.svg", "run-recut.toml"}
        removed = {line.removeprefix("Removed: ") for line in said if "Removed: " in line}
        assert {f"{drawing}.svg", "run-recut.toml"} <= removed <= written
        kept = ("stock.toml", "stock.toml.journal", "stock.toml.lock")
        assert sorted(path.name for path in shop.iterdir() if path.name not in kept) == before


def test_a_recut_that_was_changed_stays_and_is_named(shop: Path) -> None:
    done("plan", "job.toml", "--out", "run")
    done("stock", "book", "run", "--spoiled", "1", "--date", DAY)
    with (shop / "run-recut.toml").open("a") as stream:
        stream.write("# on Tuesday\n")
    said = done("stock", "undo").stdout.splitlines()
    files = "run-recut-part-1.svg, run-recut.toml"
    assert said[1] == f"Kept, since they were changed after the booking: {files}"
    assert (shop / "run-recut-part-1.svg").exists()
    refused = done("stock", "book", "run", "--spoiled", "1", code=1).stderr
    assert refused.startswith("run-recut")
    assert "exists already; name another by --spoiled-job" in refused
    assert read_ledger(shop / "stock.toml").booked == ()
    done("stock", "book", "run", "--spoiled", "1", "--spoiled-job", "other.toml")


def test_a_recut_elsewhere_goes_from_wherever_it_is_taken_back(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (shop / "bench" / "far").mkdir(parents=True)
    done("plan", "job.toml", "--out", "run")
    done("stock", "book", "run", "--spoiled", "1", "--spoiled-job", "bench/again.toml")
    monkeypatch.chdir(shop / "bench" / "far")
    said = done("stock", "undo").stdout.splitlines()
    assert said[1:3] == [
        f"Removed: {Path('../again-part-1.svg')}",
        f"Removed: {Path('../again.toml')}",
    ]
    assert list((shop / "bench").iterdir()) == [shop / "bench" / "far"]
