"""Which sheets a job opens: leftovers first, then the cheapest mix of sizes or a length of roll."""

import json
import math
import random
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from own_films import shipped_text

from jobprep.cli import main
from jobprep.model import Prices, SheetSize
from jobprep.nesting.nest import Budget, Nest
from jobprep.pipeline import check, plan
from jobprep.planning.shelf import size_price

AMBER = shipped_text("amber")
SHEET = AMBER.splitlines()[-1].partition("#")[0].rstrip()

TWO_SIZES = "size = [254, 305]\nprice = 3\n[[sheet]]\nsize = [508, 610]\nprice = 9"
ROLL = "size = [7620, 610]\nroll = true\nper_m = 12"
ROLL_AND_SHEET = f"size = [508, 610]\nprice = 9\n[[sheet]]\n{ROLL}"

JOB = """\
format = 1
title = "Large plates"
cutter = "bench-co2"
[[part]]
name = "plate"
film = "dusk"
copies = {copies}
{shape}
[nesting]
web = 1
margin = 5
evaluations = 500
[leftovers]
smallest_side = 40
[kerf]
dusk = 0.2
"""


def opened(
    folder: Path,
    sheets: str,
    copies: int,
    diameter: float = 230.0,
    more: str = "",
    shape: str = "disc = {{ diameter = {0} }}",
) -> list[tuple[float, float, float | None]]:
    films = folder / "materials" / "films"
    films.mkdir(parents=True, exist_ok=True)
    (films / "dusk.toml").write_text(AMBER.replace(SHEET, sheets), encoding="utf-8")
    job = folder / "job.toml"
    job.write_text(JOB.format(copies=copies, shape=shape.format(diameter)) + more, encoding="utf-8")
    (film_plan,) = plan(check(job)).films
    return [(each.sheet.width, each.sheet.height, each.sheet.price) for each in film_plan.sheets]


SMALL, LARGE = (254.0, 305.0, 3.0), (508.0, 610.0, 9.0)


@pytest.mark.parametrize(
    ("copies", "expected"),
    [
        (1, [SMALL]),  # 3, not 9
        (2, [SMALL, SMALL]),  # 6, not 9
        (4, [LARGE]),  # 9, not 4 x 3
        (5, [LARGE, SMALL]),  # 12, not 2 x 9 or 5 x 3
        (6, [LARGE, SMALL, SMALL]),  # 15
        (8, [LARGE, LARGE]),  # 18
    ],
)
def test_the_cheapest_mix_of_sizes(
    tmp_path: Path, copies: int, expected: list[tuple[float, float, float]]
) -> None:
    """By hand: a small sheet holds one plate of 230 mm, a large one two by two."""
    found = opened(tmp_path, TWO_SIZES, copies)
    assert sorted(found) == sorted(expected)


@pytest.mark.parametrize("seed", range(12))
def test_the_mix_is_the_cheapest_of_all_mixes(tmp_path: Path, seed: int) -> None:
    """Every size holds just a × b square plates of 50 mm, so all mixes can be counted through."""
    draw = random.Random(seed)
    sizes = [(draw.randint(1, 4), draw.randint(1, 3)) for _ in range(draw.choice([2, 3]))]
    prices = [round(draw.uniform(0.6, 1.4) * a * b**0.9, 2) for a, b in sizes]
    copies = draw.randint(1, 60)

    def length(count: int) -> float:
        """Plates, two kerfs and a web between, kerf and margin outside, half a mm to spare."""
        return count * 50.0 + (count - 1) * 1.4 + 2 * 5.2 + 0.5

    films = "\n[[sheet]]\n".join(
        f"size = [{length(a)}, {length(b)}]\nprice = {price}"
        for (a, b), price in zip(sizes, prices, strict=True)
    )
    found = opened(tmp_path, films, copies, 50.0, shape="rectangle = {{ size = [{0}, {0}] }}")
    best = min(
        (round(sum(n * price for n, price in zip(counts, prices, strict=True)), 6), sum(counts))
        for counts in product(*(range(math.ceil(copies / (a * b)) + 1) for a, b in sizes))
        if sum(n * a * b for n, (a, b) in zip(counts, sizes, strict=True)) >= copies
    )
    assert (round(sum(price or 0.0 for *_, price in found), 6), len(found)) == best


def test_of_two_sheets_at_one_price_the_larger_is_opened(tmp_path: Path) -> None:
    """More of it is left over."""
    same = TWO_SIZES.replace("price = 9", "price = 3")
    assert [size[:2] for size in opened(tmp_path, same, 1)] == [LARGE[:2]]


def test_without_prices_the_least_area_is_opened(tmp_path: Path) -> None:
    sizes = TWO_SIZES.replace("price = 3\n", "").replace("\nprice = 9", "")
    # Four small sheets have just the area of the large one; fewer sheets win.
    assert [size[:2] for size in opened(tmp_path, sizes, 1)] == [SMALL[:2]]
    assert [size[:2] for size in opened(tmp_path, sizes, 4)] == [LARGE[:2]]


def test_of_a_roll_the_length_used_is_bought(tmp_path: Path) -> None:
    ((length, width, price),) = opened(tmp_path, ROLL, 2)
    # Two plates lie across the roll: 2 x 230 + 1.4 + 2 x 5.2 = 471.8 mm of 610.
    assert width == 610.0
    assert 240.4 <= length < 245.0
    assert price == pytest.approx(12.0 * length / 1000.0)


def test_a_roll_is_compared_with_sheets_by_the_length_used(tmp_path: Path) -> None:
    # Two plates: 0.24 m at 12 is 2.9 against 9; 8 sheets' worth is cheaper by the metre too.
    ((length, _, price),) = opened(tmp_path, ROLL_AND_SHEET, 2)
    assert length < 245.0
    assert price is not None
    assert price < 3.0
    cheap_sheets = ROLL_AND_SHEET.replace("price = 9", "price = 2")
    assert [size[:2] for size in opened(tmp_path, cheap_sheets, 2)] == [LARGE[:2]]


def test_a_leftover_is_used_before_any_sheet_is_bought(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened(tmp_path, TWO_SIZES, 1)
    monkeypatch.chdir(tmp_path)
    for options in (["--leftover", "--size", "260x270"], ["--size", "508x610"]):
        result = CliRunner().invoke(main, ["stock", "add", "dusk", *options])
        assert result.exit_code == 0, result.output
    assert [size[:2] for size in opened(tmp_path, TWO_SIZES, 1)] == [(260.0, 270.0)]
    # Then what is on the shelf, and only then a sheet is bought.
    assert [size[:2] for size in opened(tmp_path, TWO_SIZES, 5)] == [(260.0, 270.0), (508.0, 610.0)]
    assert sorted(size[:2] for size in opened(tmp_path, TWO_SIZES, 6)) == [
        (254.0, 305.0),
        (260.0, 270.0),
        (508.0, 610.0),
    ]


def test_of_sheets_that_the_job_names_the_cheapest_that_do_are_opened(tmp_path: Path) -> None:
    own = "".join(
        f'[[stock]]\nfilm = "dusk"\nsize = [{width}, {height}]\ncount = 2\nprice = {price}\n'
        for width, height, price in ((508, 610, 9), (254, 305, 3))
    )
    assert opened(tmp_path, TWO_SIZES, 1, more=own) == [SMALL]
    assert sorted(opened(tmp_path, TWO_SIZES, 5, more=own)) == sorted([SMALL, LARGE])
    assert sorted(opened(tmp_path, TWO_SIZES, 10, more=own)) == sorted([SMALL] * 2 + [LARGE] * 2)


@pytest.mark.parametrize(
    ("size", "prices", "expected"),
    [
        (SheetSize(width=500, height=400, price=8.0), Prices(), 8.0),
        (SheetSize(width=500, height=400, per_area=40e-6), Prices(), 8.0),
        (SheetSize(width=5000, height=400, per_length=0.016, is_roll=True), Prices(), 80.0),
        (SheetSize(width=500, height=400, price=8.0), Prices(sheet={"dusk": 9.0}), 9.0),
        (SheetSize(width=500, height=400, price=8.0), Prices(per_area={"dusk": 50e-6}), 10.0),
        (
            SheetSize(width=5000, height=400, per_length=0.016, is_roll=True),
            Prices(per_length={"dusk": 0.02}),
            100.0,
        ),
        (SheetSize(width=500, height=400), Prices(sheet={"amber": 9.0}), None),
    ],
)
def test_a_price_per_sheet_area_or_length(
    tmp_path: Path, size: SheetSize, prices: Prices, expected: float | None
) -> None:
    opened(tmp_path, TWO_SIZES, 1)
    film = check(tmp_path / "job.toml").job.films["dusk"]
    found = size_price(replace(film, sheets=(size,)), size, prices)
    assert found == (None if expected is None else pytest.approx(expected))


def test_another_size_is_worth_its_share_of_the_usual_sheet(tmp_path: Path) -> None:
    found = opened(tmp_path, TWO_SIZES.replace("\nprice = 9", ""), 4)
    assert json.dumps(sorted(found)) == json.dumps([[508.0, 610.0, 12.0]])


def test_an_interrupt_leaves_the_films_after_it_no_time_to_search(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The user presses Ctrl-C once, not once for every film and every mix of sizes."""
    from jobprep.nesting import search

    asked: list[Budget] = []

    def nest_parts(*problem: Any, **more: Any) -> Nest:
        asked.append(problem[3])
        nest = found(*problem, **more)
        return replace(nest, is_interrupted=True)

    found = search.nest_parts
    monkeypatch.setattr(search, "nest_parts", nest_parts)
    opened(tmp_path, TWO_SIZES, 5)
    assert asked[0].evaluations == 500
    assert len(asked) > 2
    assert all(budget.seconds == 0.0 and budget.evaluations is None for budget in asked[1:])
