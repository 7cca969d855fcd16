"""Shared sides are looked for, and never at the price of film."""

import math

import pytest
from nesting_problems import L_SHAPE, ring, sector

from jobprep.geometry.outline import Region, rectangle
from jobprep.nesting.check import check_nest
from jobprep.nesting.nest import Budget, Item, Keeping, Nest, Sheet, Spacing
from jobprep.nesting.problem import build_problem
from jobprep.nesting.search import nest_parts, ranked
from jobprep.nesting.settle import settle
from jobprep.nesting.shared_nest import nest_shared
from jobprep.nesting.sides import shared_length

SPACING = Spacing(gap=0.2, edge=5.0)
KEEPING = Keeping(least_side=50.0, least_area=5000.0, beyond=0.4, slot=0.2)
SHEET = Sheet(region=Region(rectangle(508.0, 610.0)), count=None, keeping=KEEPING)
BARS = [Item(region=Region(rectangle(90.0, 25.0)), quantity=6)]
FANS = [Item(region=sector(58.0, 10.0, 44.5), quantity=4)]
MIXED = [
    Item(region=sector(60.0, 10.0, 75.0), quantity=4),
    Item(region=sector(45.0, 12.0, 130.0), quantity=3),
    Item(region=ring(20.0, 8.0), quantity=2),
]
PROBLEMS = {
    "bars": (BARS, [SHEET], SPACING),
    "fans": (FANS, [SHEET], SPACING),
    "wedges": ([Item(region=sector(58.0, 10.0, 15.0), quantity=6)], [SHEET], SPACING),
    "mixed": (MIXED, [SHEET], SPACING),
    "on a leftover": (FANS, [Sheet(region=L_SHAPE, leftover=True), SHEET], SPACING),
    "many": ([Item(region=sector(60.0, 10.0, 75.0), quantity=40)], [SHEET], SPACING),
}


def plain(name: str, budget: Budget) -> Nest:
    """Return the nest that blocks are measured against."""
    return settle(*PROBLEMS[name], nest_parts(*PROBLEMS[name], budget))


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(PROBLEMS))
def test_no_more_film_and_no_less_shared_than_without_blocks(name: str) -> None:
    items, sheets, spacing = PROBLEMS[name]
    budget = Budget(evaluations=6_000, seed=3)
    before, nest = plain(name, budget), nest_shared(items, sheets, spacing, budget)
    check_nest(items, sheets, spacing, nest)
    built = build_problem(items, sheets, spacing)
    old, new = ranked(built, before), ranked(built, nest)
    assert new[:3] <= old[:3]
    assert new.used.units <= old.used.units
    shared = [shared_length(items, spacing.gap, each) for each in (before, nest)]
    assert shared[1] >= shared[0]


@pytest.mark.slow
@pytest.mark.parametrize(("name", "least"), [("bars", 5 * 90.0), ("wedges", 5 * 48.0)])
def test_what_fits_side_by_side_shares_its_sides(name: str, least: float) -> None:
    """Six bars in a pile share five long sides; six wedges in a row, head to tail, do, too."""
    items, sheets, spacing = PROBLEMS[name]
    nest = nest_shared(items, sheets, spacing, Budget(evaluations=20_000, seed=1))
    assert shared_length(items, spacing.gap, nest) >= least - 1e-6


def test_without_sides_the_whole_budget_is_the_plain_search_s() -> None:
    items = [Item(region=ring(30.0, 10.0), quantity=5)]
    budget = Budget(evaluations=2_000, seed=1)
    nest = nest_parts(items, [SHEET], SPACING, budget)
    assert nest_shared(items, [SHEET], SPACING, budget) == settle(items, [SHEET], SPACING, nest)


def test_without_a_budget_no_blocks_are_looked_for() -> None:
    filled = nest_parts(*PROBLEMS["fans"], Budget(seconds=0.0))
    found = nest_shared(*PROBLEMS["fans"], Budget(seconds=0.0))
    assert found == settle(*PROBLEMS["fans"], filled)


def test_parts_that_find_no_room_are_counted_as_before() -> None:
    items = [Item(region=sector(60.0, 10.0, 75.0), quantity=30)]
    sheets = [Sheet(region=Region(rectangle(200.0, 200.0)), count=1)]
    nest = nest_shared(items, sheets, SPACING, Budget(evaluations=1_000, seed=1))
    check_nest(items, sheets, SPACING, nest)
    assert nest.unplaced[0] > 0


@pytest.mark.slow
def test_a_budget_of_evaluations_gives_the_same_nest_for_any_number_of_workers() -> None:
    one, two = (
        nest_shared(*PROBLEMS["mixed"], Budget(evaluations=4_000, seed=2, workers=workers))
        for workers in (1, 2)
    )
    assert one == two


@pytest.mark.parametrize("step", [math.pi, math.tau])
def test_parts_turn_only_as_they_may(step: float) -> None:
    items = [Item(region=sector(60.0, 10.0, 75.0), quantity=4, rotation_step=step)]
    nest = nest_shared(items, [SHEET], SPACING, Budget(evaluations=4_000, seed=1))
    check_nest(items, [SHEET], SPACING, nest)


def test_a_search_that_somebody_ends_says_so() -> None:
    """It is over once the nest without blocks is made; that is returned."""
    asked = 0

    def is_over() -> bool:
        nonlocal asked
        asked += 1
        return asked > 40

    nest = nest_shared(*PROBLEMS["mixed"], Budget(evaluations=40_000, seed=2, is_over=is_over))
    check_nest(*PROBLEMS["mixed"], nest)
    assert nest.is_interrupted
