"""Sheets lie on the cutter's bed: turned where they must be, larger ones cut up by hand."""

from collections.abc import Iterable
from pathlib import Path

import pytest
from own_films import shipped_text

from jobprep import pipeline
from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.outline import Region
from jobprep.planning.bed import MOST_PIECES, place_on_sheet, shelf_on_bed
from jobprep.planning.plan import CutFrom, FilmPlan

JOB = """\
format = 1
title = "One plate"
cutter = "bench-co2"

[[part]]
name = "plate"
film = "{film}"
copies = 1
rectangle = {{ size = [60, 40] }}

[[stock]]
film = "{film}"
size = [{size}]

[nesting]
evaluations = 200
"""


def job(folder: Path, size: str, film: str = "clear") -> Path:
    path = folder / "job.toml"
    path.write_text(JOB.format(size=size, film=film), encoding="utf-8")
    return path


def test_a_sheet_that_fits_only_turned_is_turned(tmp_path: Path) -> None:
    """The bed is 900 x 620 mm."""
    planned = pipeline.plan(pipeline.check(job(tmp_path, "610, 900")))
    sheet = planned.films[0].sheets[0].sheet
    assert (sheet.width, sheet.height) == pytest.approx((900.0, 610.0))


def test_a_sheet_that_fits_stays_as_it_is(tmp_path: Path) -> None:
    planned = pipeline.plan(pipeline.check(job(tmp_path, "900, 610")))
    sheet = planned.films[0].sheets[0].sheet
    assert (sheet.width, sheet.height) == pytest.approx((900.0, 610.0))


def cut_up(folder: Path, size: str, film: str = "clear", more: str = "") -> FilmPlan:
    path = job(folder, size, film)
    path.write_text(path.read_text("utf-8") + more, encoding="utf-8")
    return pipeline.plan(pipeline.check(path)).films[0]


def boxes(regions: Iterable[Region]) -> list[tuple[float, ...]]:
    return [tuple(round(side, 6) for side in region_bounds(region)) for region in regions]


def test_a_sheet_longer_than_the_bed_is_cut_once(tmp_path: Path) -> None:
    planned = cut_up(tmp_path, "1000, 610")
    (sheet,) = planned.sheets
    assert (sheet.sheet.width, sheet.sheet.height) == (900.0, 610.0)
    (whole,) = planned.cut_up
    assert whole.cuts == (((900.0, 0.0), (900.0, 610.0)),)
    assert boxes(whole.remainder) == boxes(whole.leftovers) == [(900, 0, 1000, 610)]


def test_one_larger_both_ways_is_cut_twice_and_most_of_the_rest_stays_whole(tmp_path: Path) -> None:
    """By hand: of the four ways to a piece of 900 × 620, this one leaves 580 × 950 in one piece."""
    planned = cut_up(tmp_path, "1200, 950")
    (whole,) = planned.cut_up
    assert whole.cuts == (((620, 0), (620, 950)), ((0, 900), (620, 900)))
    assert boxes(whole.remainder) == [(0, 900, 620, 950), (620, 0, 1200, 950)]


def test_a_piece_may_have_to_be_turned(tmp_path: Path) -> None:
    planned = cut_up(tmp_path, "610, 1000")
    (sheet,) = planned.sheets
    assert (sheet.sheet.width, sheet.sheet.height) == (900.0, 610.0)
    assert sheet.sheet.cut_from == CutFrom(sheet=0, x=0.0, y=0.0, is_turned=True)
    assert planned.cut_up[0].cuts == (((0.0, 900.0), (610.0, 900.0)),)


def test_a_sheet_with_a_grain_is_not_turned_but_cut(tmp_path: Path) -> None:
    films = tmp_path / "materials" / "films"
    films.mkdir(parents=True)
    text = shipped_text("clear")
    grained = text.replace("format = 1\n", "format = 1\nrotation_step = 180\n")
    (films / "grained.toml").write_text(grained, encoding="utf-8")
    planned = cut_up(tmp_path, "610, 900", "grained")
    (sheet,) = planned.sheets
    assert (sheet.sheet.width, sheet.sheet.height) == (610.0, 620.0)
    assert sheet.sheet.cut_from == CutFrom(sheet=0, x=0.0, y=0.0)


def test_what_is_left_beside_the_pieces_is_kept_by_the_rule_of_the_job(tmp_path: Path) -> None:
    rule = "[leftovers]\nsmallest_side = 101\nsmallest_area = 0\n"
    (whole,) = cut_up(tmp_path, "1000, 610", more=rule).cut_up
    assert (len(whole.remainder), whole.leftovers) == (1, ())


def test_two_pieces_come_off_one_sheet_before_a_second_is_opened(tmp_path: Path) -> None:
    """A piece of 900 × 620 takes one plate of 600 × 600, one of 620 × 1200 by hand takes two."""
    path = job(tmp_path, "620, 1700")
    text = path.read_text("utf-8").replace("copies = 1", "copies = 3").replace("60, 40", "540, 540")
    path.write_text(text.replace("size = [620, 1700]", "size = [620, 1700]\ncount = 3"), "utf-8")
    (planned,) = pipeline.plan(pipeline.check(path)).films
    assert [len(planned.sheets), len(planned.cut_up)] == [3, 2]
    opened = [each.sheet.cut_from.sheet for each in planned.sheets if each.sheet.cut_from]
    assert sorted(opened) == [0, 0, 1]


def test_a_leftover_of_any_outline_gives_its_largest_corner(tmp_path: Path) -> None:
    """An L: 1000 long below, 400 wide above; its foot of 1000 × 500 gives 900 × 500."""
    path = job(tmp_path, "1, 1")
    hook = "[[0, 0], [1000, 0], [1000, 500], [400, 500], [400, 900], [0, 900]]"
    text = path.read_text("utf-8").replace("size = [1, 1]", f'label = "L1"\noutline = {hook}')
    path.write_text(text, "utf-8")
    (planned,) = pipeline.plan(pipeline.check(path)).films
    (whole,), (sheet,) = planned.cut_up, planned.sheets
    assert sheet.sheet.label == whole.sheet.label == "L1"
    pieces = [*whole.remainder, place_on_sheet(sheet.sheet)]
    assert sum(map(area, pieces)) == pytest.approx(area(whole.sheet.region))
    assert area(sheet.sheet.region) >= 500.0 * 900.0


@pytest.mark.parametrize(
    ("across", "width", "height", "n_cuts"),
    [
        (610.0, 900.0, 610.0, 0),  # as it comes off the roll
        (800.0, 800.0, 620.0, 0),  # turned: 620 of its length lie along the bed's height
        (1000.0, 900.0, 620.0, 1),  # too wide either way: one strip
    ],
)
def test_a_roll_wider_than_the_bed_is_cut_lengthways(
    tmp_path: Path, across: float, width: float, height: float, n_cuts: int
) -> None:
    """The job takes more than a whole bed, so that the pieces are as long as can be."""
    films = tmp_path / "materials" / "films"
    films.mkdir(parents=True)
    text = shipped_text("clear")
    sheet = text[text.index("size =") :].splitlines()[0]
    rolled = text.replace(sheet, f"size = [10000, {across}]\nroll = true\nper_m = 10")
    (films / "rolled.toml").write_text(rolled, encoding="utf-8")
    path = job(tmp_path, "1, 1", "rolled")
    text = path.read_text("utf-8").replace('[[stock]]\nfilm = "rolled"\nsize = [1, 1]\n', "")
    text = text.replace("[60, 40]", "[590, 590]")
    path.write_text(text, "utf-8")
    (planned,) = pipeline.plan(pipeline.check(path)).films
    (sheet_plan,) = planned.sheets
    used = 590.0 + 2 * (0.12 + 5.0)
    sides = {900.0: used}.get(width, width), {800.0: used}.get(width, height)
    assert (sheet_plan.sheet.width, sheet_plan.sheet.height) == pytest.approx(sides, abs=0.5)
    assert [len(each.cuts) for each in planned.cut_up] == [n_cuts] * bool(n_cuts)
    (opened,) = planned.opened
    assert opened.price == pytest.approx(used / 100.0, rel=1e-3)
    assert {opened.width, opened.height} >= {across}


def test_a_sheet_of_thousands_of_beds_is_cut_into_a_hundred_at_most(tmp_path: Path) -> None:
    small = "bed = [900, 620]"
    cutters = tmp_path / "materials" / "cutters"
    cutters.mkdir(parents=True)
    text = (Path(__file__).parent.parent / "materials" / "cutters" / "bench-co2.toml").read_text()
    (cutters / "bench-co2.toml").write_text(text.replace(small, "bed = [100, 100]"), "utf-8")
    checked = pipeline.check(job(tmp_path, "10000, 10000"))
    shelf = shelf_on_bed(checked.job, checked.job.films["clear"])
    assert 50 <= sum(piece.count or 0 for piece in shelf) <= MOST_PIECES
