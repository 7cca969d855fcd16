"""How many discs the stock yields: bounds, limits, the plan of it, and published packings."""

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from commands import done
from hypothesis import given, settings
from hypothesis import strategies as st
from runs import assert_run_cuts_right

from jobprep import pipeline
from jobprep.errors import StockShortError
from jobprep.geometry.outline import Region, rectangle
from jobprep.geometry.shapes import annular_sector, ring
from jobprep.model import Job
from jobprep.nesting.check import check_nest
from jobprep.nesting.nest import Budget, Item, Nest, Sheet, Spacing
from jobprep.nesting.search import nest_parts
from jobprep.outputs import run_files
from jobprep.planning import fill_film
from jobprep.planning.capacity import most_sets
from jobprep.planning.fill import fill
from jobprep.planning.film_task import FilmTask
from jobprep.planning.plan import Checked
from jobprep.planning.quantities import with_copies

EXAMPLES = Path(__file__).parent.parent / "examples"

DESIGN = """\
format = 1
name = "Pier disc"
outer_diameter = 100
bore = { diameter = 20 }
[[layer]]
name = "cover"
film = "clear"
[[layer]]
name = "colour"
film = "amber"
"""

SMALL = """\
format = 1
name = "Quay disc"
outer_diameter = 60
bore = { diameter = 10 }
[[layer]]
name = "colour"
film = "amber"
"""

JOB = """\
format = 1
title = "Pier discs"
cutter = "bench-co2"
[[disc]]
design = "pier.toml"
copies = 4
[nesting]
web = 1
margin = 5
evaluations = 2000
[kerf]
amber = 0.2
clear = 0.2
[prices]
currency = "EUR"
sheet = { amber = 7.50, clear = 4.20 }
"""


def stock(film: str, width: float, height: float, count: int = 1) -> str:
    return f'[[stock]]\nfilm = "{film}"\nsize = [{width}, {height}]\ncount = {count}\n'


@pytest.fixture(autouse=True)
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pier.toml").write_text(DESIGN)
    (tmp_path / "quay.toml").write_text(SMALL)
    (tmp_path / "job.toml").write_text(JOB)
    return tmp_path


def test_the_scarcest_film_limits_and_the_next_sheet_is_told(bench: Path) -> None:
    """By hand: strips 112 mm high hold discs of 100 mm one beside the other.

    A strip for n of them is at least 100 n + 1.4 (n - 1) + 10.4 mm long.
    """
    (bench / "job.toml").write_text(JOB + stock("amber", 330, 115) + stock("clear", 620, 115))
    found = json.loads(done("fill", "job.toml", "--json").output)
    assert found["discs"] == {"Pier disc": 3}
    assert found["limiting_film"] == "amber"
    films = {film["film"]: film for film in found["films"]}
    assert films["amber"]["sets"] == 3
    assert films["clear"]["sets"] >= 3
    # One more sheet of amber, 508 x 610, holds many; then clear holds six and limits.
    assert found["next_sheet"] == {
        "film": "amber",
        "price": 7.5,
        "sets": 6,
        "limiting_film": "clear",
    }
    shown = done("fill", "job.toml").output
    assert "The stock yields 3 × Pier disc." in shown
    assert max(map(len, shown.splitlines())) <= 80
    assert (
        "amber limits. One more sheet of it for 7.50 EUR would bring at least 3 discs; then clear "
        "limits." in " ".join(shown.split())
    )


def test_a_film_without_stock_is_bought_as_needed(bench: Path) -> None:
    (bench / "job.toml").write_text(JOB + stock("amber", 330, 115))
    found = json.loads(done("fill", "job.toml", "--json").output)
    assert found["sets"] == 3
    assert found["films"][-1] == {
        "film": "clear",
        "pieces_of_stock": None,
        "sets": 3,
        "most_sets": None,
        "failed_searches": 0,
        "cut_short": False,
    }
    assert "bought as needed: 1" in done("fill", "job.toml").output


@pytest.mark.slow
def test_sheets_can_be_supposed(bench: Path) -> None:
    (bench / "job.toml").write_text(JOB.replace("2000", "200"))
    found = json.loads(done("fill", "job.toml", "--sheets", "amber=1", "--json").output)
    more = json.loads(done("fill", "job.toml", "--sheets", "amber=2", "--json").output)
    assert found["films"][0]["pieces_of_stock"] == 1
    assert more["sets"] >= 2 * found["sets"]


@pytest.mark.slow
def test_designs_are_mixed_in_proportion_or_one_alone(bench: Path) -> None:
    both = JOB.replace("copies = 4\n", 'copies = 4\n[[disc]]\ndesign = "quay.toml"\ncopies = 2\n')
    (bench / "job.toml").write_text(both.replace("2000", "200") + stock("amber", 508, 305))
    found = json.loads(done("fill", "job.toml", "--json").output)
    discs = found["discs"]
    assert discs["Pier disc"] == 2 * discs["Quay disc"] == 2 * found["sets"]
    alone = json.loads(done("fill", "job.toml", "--design", "quay", "--json").output)["discs"]
    assert alone["Pier disc"] == 0
    assert alone["Quay disc"] > 3 * discs["Quay disc"]


def test_the_ledger_is_the_stock() -> None:
    done("stock", "add", "amber", "--leftover", "--size", "330x115")
    found = json.loads(done("fill", "job.toml", "--json").output)
    assert (found["sets"], found["limiting_film"]) == (3, "amber")


def test_the_plan_of_it_is_written_and_cuts_right(bench: Path) -> None:
    (bench / "job.toml").write_text(JOB + stock("amber", 330, 115))
    done("fill", "job.toml", "--out", "run")
    summary = json.loads((bench / "run" / "summary.json").read_text())
    assert summary["discs"][0]["copies"] == 3
    assert [film["parts"] for film in summary["films"]] == [3, 3]
    plan = pipeline.plan_fill(fill(pipeline.check(bench / "job.toml"), {}))
    assert_run_cuts_right(plan, run_files(plan, pipeline.summary_of(plan)))


@pytest.mark.parametrize(
    ("more", "options", "code", "message"),
    [
        (
            "",
            (),
            2,
            "job.toml:1: no film of these discs has stock; name some by [[stock]] "
            "or --sheets FILM=N",
        ),
        (
            "",
            ("--sheets", "green=1"),
            2,
            'job.toml:1: --sheets: the job cuts no "green"; it cuts amber, clear',
        ),
        (
            stock("amber", 90, 200),
            (),
            1,
            "amber: the stock does not hold the parts of one set of discs",
        ),
        ("", ("--design", "lamp"), 2, '--design: the job has no design "lamp"; it has: Pier disc'),
    ],
)
def test_what_cannot_be_filled_is_explained(
    bench: Path, more: str, options: tuple[str, ...], code: int, message: str
) -> None:
    (bench / "job.toml").write_text(JOB + more)
    assert done("fill", "job.toml", *options, code=code).stderr == f"{message}\n"


def test_many_equal_sheets_hold_as_often_what_one_holds(bench: Path) -> None:
    small = JOB.replace("pier.toml", "quay.toml").replace("2000", "200")
    (bench / "job.toml").write_text(small + stock("amber", 300, 200))
    one = fill(pipeline.check(bench / "job.toml"), {})
    (bench / "job.toml").write_text(small + stock("amber", 300, 200, 60))
    many = fill(pipeline.check(bench / "job.toml"), {})
    assert many.sets == 60 * one.sets
    assert many.limiting.bound == 60 * (one.limiting.bound or 0)
    assert many.limiting.failed == one.limiting.failed


def test_a_small_budget_of_evaluations_bounds_the_searches_of_many_parts(
    bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each prepares and proves the nest of some 70 discs, however few spots it may try."""
    parts: list[int] = []
    nest_film = fill_film.nest_film

    def counted(task: FilmTask, *others: Any) -> Nest:
        if task.budget.seconds > 0.0:
            parts.append(sum(part.quantity for part in task.parts))
        return nest_film(task, *others)

    monkeypatch.setattr(fill_film, "nest_film", counted)
    job = bench / "job.toml"
    job.write_text(JOB.replace("pier.toml", "quay.toml").replace("2000", "100"), encoding="utf-8")
    found = fill(pipeline.check(job), {"amber": 1})
    assert found.sets > 50
    assert parts
    assert fill_film.PART_EFFORT * sum(parts[:-1]) < 100 * fill_film.MOST_SEARCHES


LOOSE = """\
[[part]]
name = "washer"
film = "amber"
copies = 11
ring = { outer_diameter = 90, inner_diameter = 12 }
"""


def test_a_piece_is_nested_without_the_rest_of_the_shelf(
    bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """So the work grows with the pieces of a shelf, not with their square.

    Two discs of 60 mm lie on each piece at least 60 + 2 × 5.2 mm wide: on 71 to 77.
    """
    shelves: list[int] = []
    nest_film = fill_film.nest_film

    def counted(task: FilmTask, *others: Any) -> Nest:
        shelves.append(len(task.shelf))
        return nest_film(task, *others)

    monkeypatch.setattr(fill_film, "nest_film", counted)
    monkeypatch.setattr(fill_film, "MOST_SEARCHES", 1)
    pieces = "".join(stock("amber", 66.0 + n, 150.0) for n in range(12))
    job = bench / "job.toml"
    job.write_text(JOB.replace("pier", "quay") + pieces, encoding="utf-8")
    found = fill(pipeline.check(job), {})
    assert found.sets == 2 * 7
    assert set(shelves) == {1}


@pytest.mark.slow
def test_large_mixed_stock_with_loose_parts_is_filled_by_valid_nests(bench: Path) -> None:
    """Every nest is proven again: it is put together from those of groups of sheets."""
    both = JOB.replace("copies = 4\n", 'copies = 4\n[[disc]]\ndesign = "quay.toml"\ncopies = 2\n')
    text = both.replace("2000", "200") + LOOSE + stock("amber", 330, 220, 12)
    (bench / "job.toml").write_text(text + stock("amber", 160, 115, 3))
    found = fill(pipeline.check(bench / "job.toml"), {})
    for task, nest in found.nests:
        check_nest(*task.problem, nest)
        assert not any(nest.unplaced)
    again = fill(pipeline.check(bench / "job.toml"), {})
    assert (again.copies, again.nests) == (found.copies, found.nests)
    assert 12 < found.sets <= (found.limiting.bound or 0)


PUBLISHED = {
    # n: radius of n equal circles in a unit square
    2: 0.292893218813,
    3: 0.254333095030,
    4: 0.250000000000,
    5: 0.207106781187,
    6: 0.187680601147,
    7: 0.174457630187,
    8: 0.170540688701,
    9: 0.166666666667,
    10: 0.148204322565,
    12: 0.139958844038,
    13: 0.133993513500,
    16: 0.125000000000,
    18: 0.115521432463,
    20: 0.111382347512,
    23: 0.102802323380,
    25: 0.100000000000,
    30: 0.091671057986,
}
"""Best known, proven optimal up to 30: E. Specht, Packomania, equal circles in a square (csq);
K. J. Nurmela and P. R. J. Ostergard, Packing up to 50 equal circles in a square, Discrete and
Computational Geometry 18 (1997) 111-120. Radii are mathematical facts."""


@pytest.mark.parametrize("n", PUBLISHED)
def test_a_bound_lies_between_a_published_packing_and_olers_inequality(n: int) -> None:
    """Points at least 1 apart in a convex set of area A and edge P: 2 A / sqrt(3) + P / 2 + 1.

    N. Oler, An inequality in the geometry of numbers, Acta Mathematica 105 (1961) 19-48; the
    points are the centres, the set the square less a radius all round, in diameters.
    """
    side = 20.0 / PUBLISHED[n] * (1.0 + 1e-9)
    item = Item(region=ring(0.0, 20.0), quantity=1)
    sheet = Sheet(region=Region(rectangle(side, side)))
    bound = most_sets((), (item,), (sheet,), Spacing(gap=0.0, edge=0.0))
    free = side / 40.0 - 1.0
    assert n <= bound <= math.floor(2.0 * free**2 / math.sqrt(3.0) + 2.0 * free + 1.0 + 1e-6)


@pytest.mark.slow
@pytest.mark.parametrize("n", sorted(PUBLISHED)[3:])
def test_discs_fill_a_square_sheet_as_published(bench: Path, n: int) -> None:
    """The sheet is half a per cent larger than n discs need by the table; n + 1 do not fit.

    A disc takes its radius and half the gap; the sheet is larger by its edge less half the gap.
    """
    radius, gap, edge, spare = 20.0, 1.4, 5.2, 1.005
    side = 2.0 * (edge - 0.5 * gap) + (radius + 0.5 * gap) / PUBLISHED[n] * spare
    disc = DESIGN[: DESIGN.index('[[layer]]\nname = "colour"')].replace("clear", "amber")
    (bench / "pier.toml").write_text(disc.replace("= 100", "= 40").replace("= 20", "= 5"))
    job = JOB.replace("evaluations = 2000", "evaluations = 3000000")
    (bench / "job.toml").write_text(job + stock("amber", side, side))
    found = fill(pipeline.check(bench / "job.toml"), {})
    assert found.sets == n
    assert found.limiting.bound is not None
    assert found.limiting.bound >= n


@pytest.mark.slow
@settings(max_examples=10, deadline=None)
@given(
    width=st.floats(100.0, 300.0),
    height=st.floats(60.0, 200.0),
    angle=st.floats(0.5, 3.0),
    gap=st.floats(0.0, 3.0),
    edge=st.floats(0.0, 6.0),
)
def test_no_nest_exceeds_the_bound(
    width: float, height: float, angle: float, gap: float, edge: float
) -> None:
    sheets = (Sheet(region=Region(rectangle(width, height))),)
    items = (
        Item(region=annular_sector(8.0, 25.0, 0.0, angle), quantity=80),
        Item(region=ring(3.0, 6.0), quantity=80),
    )
    spacing = Spacing(gap=gap, edge=edge)
    nest = nest_parts(items, sheets, spacing, Budget(evaluations=1))
    placed = [80 - count for count in nest.unplaced]
    ones = (Item(region=items[0].region, quantity=1), Item(region=items[1].region, quantity=1))
    assert min(placed) <= most_sets((), ones, sheets, spacing)


def test_the_aurora_set_is_not_below_what_ten_plans_reach(bench: Path) -> None:
    """The wheel of the first example on a small sheet: no plan of ten seeds places one more."""
    for path in (EXAMPLES / "01-aurora-wheel").glob("*.toml"):
        (bench / path.name).write_text(path.read_text("utf-8"), encoding="utf-8")
    text = (bench / "job.toml").read_text("utf-8")
    start, rest = text.index("[[stock]]"), text.index("[nesting]")
    text = text[:start] + stock("green", 150, 100) + text[rest:]
    (bench / "job.toml").write_text(text.replace("evaluations = 100000", "evaluations = 3000"))
    checked = pipeline.check(bench / "job.toml")
    sets = fill(checked, {}).sets
    assert sets >= 2
    checked = with_copies(checked, [sets + 1])
    job = checked.job
    green = [part for part in checked.parts if part.film == "green"]
    for seed in range(1, 11):
        seeded = Checked(job=_with_seed(job, seed), parts=tuple(green), cautions=())
        with pytest.raises(StockShortError):
            pipeline.plan(seeded)


def _with_seed(job: Job, seed: int) -> Job:
    return replace(job, nesting=replace(job.nesting, seed=seed))


HARD = JOB.replace("pier.toml", "quay.toml").replace("2000", "50") + stock("amber", 330, 305)
"""A first fit places fewer discs than searches do, and none reaches the bound."""


def interrupted_at(monkeypatch: pytest.MonkeyPatch, *calls: int) -> list[float]:
    """Let Ctrl-C come in some calls of the nest, from 1; return the seconds each call is given."""
    real, seconds = fill_film.nest_film, []

    def nest(*words: Any) -> Nest:
        seconds.append(words[0].budget.seconds)
        if len(seconds) in calls:
            raise KeyboardInterrupt
        return real(*words)

    monkeypatch.setattr(fill_film, "nest_film", nest)
    return seconds


@pytest.mark.slow
def test_an_interrupt_gives_the_number_known_by_then(
    bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (bench / "job.toml").write_text(HARD)
    checked = pipeline.check(bench / "job.toml")
    with monkeypatch.context() as patch:
        seconds = interrupted_at(patch)
        whole = fill(checked, {})
    assert not whole.is_interrupted
    n_first_fits = sum(each == 0.0 for each in seconds)
    assert len(seconds) > n_first_fits == seconds.index(max(seconds)) > 0
    known = []
    for call in range(n_first_fits + 1, len(seconds) + 1):
        with monkeypatch.context() as patch:
            given_seconds = interrupted_at(patch, call)
            found = fill(checked, {})
        assert found.is_interrupted
        assert found.limiting.is_cut_short
        assert not any(given_seconds[call:]), "nothing is searched any more"
        for task, nest in found.nests:
            check_nest(*task.problem, nest)
            assert not any(nest.unplaced)
        known.append(found.sets)
    assert known == sorted(known)
    assert known[0] < known[-1] == whole.sets


def test_an_interrupted_answer_says_or_more(bench: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (bench / "job.toml").write_text(HARD)
    interrupted_at(monkeypatch, 2)
    shown = done("fill", "job.toml", "--out", "run").output
    sets = json.loads((bench / "run" / "summary.json").read_text())["discs"][0]["copies"]
    assert f"The stock yields {sets} or more × Quay disc." in shown
    assert "what one more sheet would bring is not known" in " ".join(shown.split())
    assert max(map(len, shown.splitlines())) <= 80
    interrupted_at(monkeypatch, 2)
    found = json.loads(done("fill", "job.toml", "--json").output)
    assert (found["sets"], found["interrupted"], found["next_sheet"]) == (sets, True, None)


def test_an_interrupt_of_the_search_for_one_more_sheet_keeps_the_answer(
    bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (bench / "job.toml").write_text(JOB + stock("amber", 330, 115) + stock("clear", 620, 115))
    monkeypatch.setattr("jobprep.planning.fill._one_more_sheet", _interrupt)
    shown = done("fill", "job.toml").output
    assert "The stock yields 3 × Pier disc." in shown
    assert "what one more sheet would bring is not known" in " ".join(shown.split())


def _interrupt(*_: object) -> None:
    raise KeyboardInterrupt


def test_an_interrupt_before_anything_is_known_says_so(
    bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (bench / "job.toml").write_text(HARD)
    interrupted_at(monkeypatch, 1)
    told = done("fill", "job.toml", "--out", "run", code=130).stderr
    assert told == "Interrupted, no number of discs is known yet; nothing was written.\n"
    assert not (bench / "run").exists()


def test_a_first_fit_of_a_second_film_is_made_again_once(
    bench: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    films = stock("amber", 330, 115) + stock("clear", 620, 115)
    (bench / "job.toml").write_text(JOB + films)
    with monkeypatch.context() as patch:
        seconds = interrupted_at(patch)
        whole = fill(pipeline.check(bench / "job.toml"), {})
    second = len(seconds) - seconds[::-1].index(0.0)  # the last first fit
    assert second > 1
    with monkeypatch.context() as patch:
        interrupted_at(patch, second)
        found = fill(pipeline.check(bench / "job.toml"), {})
    assert found.is_interrupted
    assert found.sets == whole.sets == 3
    interrupted_at(monkeypatch, second, second + 1)
    assert "no number of discs is known yet" in done("fill", "job.toml", code=130).stderr
