"""A run cut again: nominal parts whatever the kerf, the old nest where it still holds."""

import itertools
import json
import re
from dataclasses import replace
from pathlib import Path

import pytest
from commands import run
from runs import assert_run_cuts_right
from virtual_cut import nominal_polygon

from jobprep import pipeline
from jobprep.errors import CannotDoError, StockShortError
from jobprep.outputs import run_files
from jobprep.planning.plan import Plan
from jobprep.runs.record import RunRecord, record_of
from jobprep.runs.recut import RecutWishes, recut
from jobprep.runs.text import read_run, write_run

JOB = """\
format = 1
title = "Covers"
cutter = "bench-co2"

[[part]]
name = "cover"
film = "clear"
copies = 6
ring = {{ outer_diameter = 60, inner_diameter = 8 }}

[[part]]
name = "filter"
film = "clear"
copies = 5
sector = {{ outer_diameter = 70, inner_diameter = 20, degrees = 75 }}

[kerf]
clear = 0.12

[nesting]
web = {web}
evaluations = 2000
"""


def planned(folder: Path, web: float) -> Plan:
    (folder / "job.toml").write_text(JOB.format(web=web), encoding="utf-8")
    return pipeline.plan(pipeline.check(folder / "job.toml"))


def recorded(folder: Path, plan: Plan) -> RunRecord:
    """Return the record of a plan as it comes back from its file."""
    (folder / "run.toml").write_text(write_run(record_of(plan, ".")), encoding="utf-8")
    return read_run(folder / "run.toml")


def cuts_right(plan: Plan) -> None:
    assert_run_cuts_right(plan, run_files(plan, pipeline.summary_of(plan)))


@pytest.mark.slow
@pytest.mark.parametrize("web", [1.0, 3.0])
def test_wider_kerf_and_back_cuts_to_nominal_each_time(tmp_path: Path, web: float) -> None:
    first = planned(tmp_path, web)
    wider = recut(recorded(tmp_path, first), RecutWishes(kerf={"clear": 0.30}))
    back = recut(recorded(tmp_path, wider.after), RecutWishes(kerf={"clear": 0.12}))
    for plan, kerf in ((first, 0.12), (wider.after, 0.30), (back.after, 0.12)):
        assert [film_plan.kerf for film_plan in plan.films] == [kerf]
        cuts_right(plan)


def test_ample_web_keeps_the_nest_there_and_back(tmp_path: Path) -> None:
    first = planned(tmp_path, 3.0)
    wider = recut(recorded(tmp_path, first), RecutWishes(kerf={"clear": 0.30}))
    back = recut(recorded(tmp_path, wider.after), RecutWishes(kerf={"clear": 0.12}))
    placements = [each.films[0].nest.placements for each in (first, wider.after, back.after)]
    assert placements[0] == placements[1] == placements[2]


def test_narrower_kerf_keeps_the_nest(tmp_path: Path) -> None:
    first = planned(tmp_path, 1.0)
    (change,) = recut(recorded(tmp_path, first), RecutWishes(kerf={"clear": 0.05})).changes
    assert change.nest_kept
    assert change.after.nest.placements == first.films[0].nest.placements


def test_wider_kerf_changes_a_tight_nest_and_says_so(tmp_path: Path) -> None:
    first = planned(tmp_path, 1.0)
    (change,) = recut(recorded(tmp_path, first), RecutWishes(kerf={"clear": 3.0})).changes
    assert not change.nest_kept
    assert "with a kerf of 3 mm" in change.why
    with pytest.raises(CannotDoError, match="clear: the nest cannot be kept"):
        recut(recorded(tmp_path, first), RecutWishes(kerf={"clear": 3.0}, same_nest=True))


def test_a_nest_that_cannot_be_kept_is_begun_where_the_parts_lay(tmp_path: Path) -> None:
    (change,) = recut(
        recorded(tmp_path, planned(tmp_path, 1.0)), RecutWishes(kerf={"clear": 0.5})
    ).changes
    assert not change.nest_kept
    assert change.stayed > 0.5 * len(change.after.nest.placements)


@pytest.mark.parametrize(("kerf", "is_kept"), [(0.3, True), (0.81, True), (0.83, False)])
def test_a_nest_is_kept_while_the_least_web_or_margin_stands(
    tmp_path: Path, kerf: float, is_kept: bool
) -> None:
    """By hand: outlines lie 2.4 + 2 x 0.12 = 2.64 mm apart; 2 x 0.82 + 1 is as much."""
    first = planned(tmp_path, 2.4)
    apart = min_apart(first)
    assert 2.64 - 1e-6 < apart < 2.65
    (change,) = recut(recorded(tmp_path, first), RecutWishes(kerf={"clear": kerf})).changes
    assert change.nest_kept == is_kept
    if change.left is not None:
        assert change.left.web == pytest.approx(apart - 2.0 * kerf, abs=1e-3)
        assert change.left.margin == pytest.approx(5.12 - kerf, abs=1e-3)


def test_what_a_kept_nest_leaves_is_told(tmp_path: Path) -> None:
    """By hand: 2.64 - 2 x 0.5 = 1.64 mm between slots, 5.12 - 0.5 = 4.62 mm at the edge."""
    (tmp_path / "job.toml").write_text(JOB.format(web=2.4), encoding="utf-8")
    run("plan", tmp_path / "job.toml", "--out", tmp_path / "run")
    words = ("recut", tmp_path / "run", "--kerf", "clear=0.5", "--out", tmp_path / "again")
    told = run(*words).stdout
    assert (
        "clear: the nest is kept; 1.64 mm of film are left between two slots, 2.4 mm were asked "
        "for; 4.62 mm of film are left between a slot and the edge of its sheet, 5 mm were asked "
        "for" in " ".join(told.split())
    )
    lines = [line for line in told.splitlines() if str(tmp_path) not in line]
    assert max(map(len, lines)) <= 80
    (film,) = json.loads(run(*words, "--json").stdout)["films"]
    assert film["web_left_mm"] == pytest.approx(1.64, abs=1e-3)
    assert film["margin_left_mm"] == pytest.approx(4.62, abs=1e-3)
    words = ("recut", tmp_path / "run", "--kerf", "clear=0.1", "--out", tmp_path / "again")
    assert "clear: the nest is kept\n" in run(*words).stdout
    (film,) = json.loads(run(*words, "--json").stdout)["films"]
    assert (film["web_left_mm"], film["margin_left_mm"]) == pytest.approx((2.4, 5.0))


@pytest.mark.slow
def test_sides_that_are_no_longer_shared_are_told(tmp_path: Path) -> None:
    plates = (
        '[[part]]\nname = "plate"\nfilm = "clear"\ncopies = 4\nrectangle = { size = [40, 30] }\n'
    )
    text = JOB.format(web='"shared"').replace("[kerf]", plates + "[kerf]")
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    run("plan", tmp_path / "job.toml", "--out", tmp_path / "run")
    words = ("recut", tmp_path / "run", "--out", tmp_path / "again", "--kerf")
    assert "clear: the nest is kept\n" in run(*words, "clear=0.12").stdout
    told = " ".join(run(*words, "clear=0.05").stdout.split())
    assert "the nest is kept; sides that were cut once are cut one by one" in told
    told = " ".join(run(*words, "clear=0.2").stdout.split())
    assert "clear: nested again: with a kerf of 0.2 mm parts would lie less than one kerf" in told


def old_record(folder: Path, web: float) -> RunRecord:
    """Return a record as earlier versions wrote it: outlines lie web + kerf apart."""
    record = recorded(folder, planned(folder, web - 0.12))
    nesting = replace(record.job.nesting, web=web)
    return replace(record, job=replace(record.job, nesting=nesting))


def test_a_run_with_outlines_one_kerf_and_a_web_apart_is_cut_again(tmp_path: Path) -> None:
    """By hand: 1.12 mm apart, so at a kerf of 0.12 only 0.88 mm stand, at 0.05 1.02 mm do."""
    record = old_record(tmp_path, 1.0)
    (change,) = recut(record, RecutWishes()).changes
    assert change.why == (
        "with a kerf of 0.12 mm only 0.88 mm would be left between two slots, 1 mm are needed"
    )
    assert (
        min_apart(Plan(job=record.job, parts=(), films=(change.after,), cautions=())) > 1.24 - 1e-6
    )
    with pytest.raises(CannotDoError, match=r"only 0\.88 mm would be left"):
        recut(record, RecutWishes(same_nest=True))
    (narrow,) = recut(record, RecutWishes(kerf={"clear": 0.05})).changes
    assert narrow.left is not None
    assert narrow.left.web == pytest.approx(1.0)  # no more than is asked for
    assert narrow.after.nest.placements == narrow.before.nest.placements
    (ample,) = recut(old_record(tmp_path, 3.0), RecutWishes()).changes
    assert ample.left is not None
    assert ample.left.web == pytest.approx(2.88, abs=1e-3)


def test_where_a_nest_is_not_kept_and_the_stock_is_short_both_are_told(tmp_path: Path) -> None:
    """By hand, 5 mm of height spare: sqrt(61.5² - 5²) + 71 = 132.3 mm wide; sqrt(62² - 5²) more."""
    text = JOB.format(web=0.5).split('[[part]]\nname = "filter"')[0]
    stock = '[[stock]]\nfilm = "clear"\nsize = [132.55, 76]\n'
    rest = "[kerf]\nclear = 0.5\n[nesting]\nweb = 0.5\nevaluations = 2000\n"
    text = text.replace("copies = 6", "copies = 2") + stock + rest
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    record = recorded(tmp_path, pipeline.plan(pipeline.check(tmp_path / "job.toml")))
    nesting = replace(record.job.nesting, web=1.0)
    old = replace(record, job=replace(record.job, nesting=nesting))
    with pytest.raises(StockShortError) as caught:
        recut(old, RecutWishes())
    assert re.fullmatch(
        r"clear: with a kerf of 0\.5 mm only 0\.\d+ mm would be left between two slots, 1 mm are "
        r"needed; nested again, 1 of 2 parts find no room on the stock of this run; plan the job "
        r"again with more",
        str(caught.value),
    )


def min_apart(plan: Plan) -> float:
    """Return the least distance between two parts, mm."""
    return min(
        one.distance(other)
        for film in plan.films
        for sheet in film.sheets
        for one, other in itertools.combinations(
            [nominal_polygon(part.region) for part in sheet.cuts.parts], 2
        )
    )


TWO_SIZES = """
[[stock]]
film = "clear"
size = [139, 80]
count = 1
price = 1

[[stock]]
film = "clear"
size = [400, 300]
count = 5
price = 5
"""


def test_a_recut_opens_the_same_sheets_and_others_only_at_need(tmp_path: Path) -> None:
    """Two rings of 60 mm side by side take 60 + 60 + 2 kerf + web + 2 (kerf + margin) mm."""
    text = (
        JOB.format(web=1.0)
        .split('[[part]]\nname = "filter"')[0]
        .replace("copies = 6", "copies = 2")
    )
    text += TWO_SIZES + "[kerf]\nclear = 0.12\n[nesting]\nevaluations = 500\n"
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    first = pipeline.plan(pipeline.check(tmp_path / "job.toml"))
    record = recorded(tmp_path, first)

    def widths(plan: Plan) -> list[float]:
        return [sheet.sheet.width for film in plan.films for sheet in film.sheets]

    assert widths(first) == [139.0]
    assert widths(recut(record, RecutWishes(kerf={"clear": 2.0})).after) == [139.0]
    # 4 mm of height are spare: sqrt(64² - 4²) + 60 + 2 (3 + 5) = 139.9 mm.
    assert widths(recut(record, RecutWishes(kerf={"clear": 3.0})).after) == [400.0]


def test_old_drawing_with_a_wider_kerf_would_give_small_parts(tmp_path: Path) -> None:
    """Kerf 0.12 drawn, 0.30 cut: every part 0.18 mm smaller, its holes 0.18 mm wider."""
    again = recut(recorded(tmp_path, planned(tmp_path, 1.0)), RecutWishes(kerf={"clear": 0.30}))
    cover = next(each for each in again.wrong_sizes if each.part.name == "cover")
    assert cover.off == pytest.approx(-0.18)
    assert (cover.width, cover.height) == pytest.approx((59.82, 59.82))


def test_some_parts_alone_are_nested_anew(tmp_path: Path) -> None:
    record = recorded(tmp_path, planned(tmp_path, 1.0))
    again = recut(record, RecutWishes(wanted={2: frozenset({0, 3})}))
    (film_plan,) = again.after.films
    assert [(part.number, part.quantity) for part in film_plan.parts] == [(2, 2)]
    cuts_right(again.after)


def test_changed_inputs_are_refused_unless_the_record_is_wanted(tmp_path: Path) -> None:
    job = tmp_path / "job.toml"
    job.write_text(JOB.format(web=1.0), encoding="utf-8")
    assert run("plan", job, "--out", tmp_path / "run").exit_code == 0
    command = ("recut", tmp_path / "run", "--kerf", "clear=0.2", "--out", tmp_path / "again")
    assert run(*command).exit_code == 0
    job.write_text(JOB.format(web=2.0), encoding="utf-8")
    refused = run(*command)
    assert refused.exit_code == 2
    assert "job.toml has changed since this run was planned" in refused.stderr
    assert run(*command, "--recorded").exit_code == 0


def test_a_cutter_with_a_smaller_bed_says_what_to_cut_by_hand_first(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(JOB.format(web=1.0), encoding="utf-8")
    run("plan", tmp_path / "job.toml", "--out", tmp_path / "run")
    command = ("--cutter", "desk-diode", "--out", tmp_path / "again")
    result = run("recut", tmp_path / "run", *command)
    assert result.exit_code == 0, result.stderr
    words = " ".join(result.stdout.split())
    assert "larger than the bed of desk-diode, 400 × 400 mm" in words
    assert "By hand first cut 400 × 400 mm (sheet 1) off clear, " in words
    assert (tmp_path / "again" / "clear.svg").exists()


def test_json_says_what_changed(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(JOB.format(web=1.0), encoding="utf-8")
    run("plan", tmp_path / "job.toml", "--out", tmp_path / "run")
    words = ("recut", tmp_path / "run", "--cutter", "drag-knife", "--out", tmp_path / "again")
    result = run(*words, "--json")
    assert result.exit_code == 0, result.stderr
    (film,) = json.loads(result.stdout)["films"]
    assert film["kerf_mm"] == {"before": 0.12, "after": 0.0}
    assert film["nest_kept"] is True


def test_what_stays_as_it_was_is_told_once(tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(JOB.format(web=1.0), encoding="utf-8")
    run("plan", tmp_path / "job.toml", "--out", tmp_path / "run")
    words = ("--kerf", "clear=0.11", "--out", tmp_path / "again")
    told = run("recut", tmp_path / "run", *words).stdout
    row = next(line.split() for line in told.splitlines() if line.startswith(" clear"))
    assert row[:5] == ["clear", "0.12", "→", "0.11", "1"]
    assert "Bench CO2 laser" in told.splitlines()  # before and after, once
    assert "clear: the nest is kept" in told


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--kerf", "amber=0.2"), '"amber" is not a known film of this run'),
        (("--kerf", "clear=-1"), '"clear=-1" is not a film, =, and a kerf from 0 to 3 mm'),
        (("--cutter", "bench-c02"), "Did you mean bench-co2?"),
        (("--only", "lid"), '"lid" is not a part of this run'),
        (("--copy", "99"), "no part of this run has that number of copies"),
    ],
)
def test_wrong_words_exit_2(tmp_path: Path, words: tuple[str, ...], message: str) -> None:
    (tmp_path / "job.toml").write_text(JOB.format(web=1.0), encoding="utf-8")
    run("plan", tmp_path / "job.toml", "--out", tmp_path / "run")
    result = run("recut", tmp_path / "run", *words, "--out", tmp_path / "again")
    assert result.exit_code == 2
    assert message in result.stderr
