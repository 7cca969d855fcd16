"""An old nest whose parts now lie too near each other is moved apart where it lies."""

from __future__ import annotations

import math
import statistics
from concurrent.futures import Executor

import pytest
from nesting_problems import L_SHAPE, random_problem, ring, sector

from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Region, moved_region, rectangle
from jobprep.nesting import search
from jobprep.nesting.check import NestError, check_nest
from jobprep.nesting.nest import Budget, Item, Nest, Sheet, Spacing
from jobprep.nesting.search import WORTH_MOVING, nest_parts

ITEMS = [
    *(Item(region=sector(58, 15, degrees), quantity=6) for degrees in (45, 60, 90)),
    Item(region=ring(20, 8), quantity=5, rotation_step=math.tau),
    Item(region=Region(rectangle(40, 22)), quantity=5, rotation_step=math.pi / 2),
]
SHEETS = [Sheet(region=Region(rectangle(300, 260)), count=3), Sheet(region=L_SHAPE, leftover=True)]
NARROW, WIDE = Spacing(gap=1.12, edge=5.12), Spacing(gap=1.3, edge=5.3)


def proven(spacing: Spacing, budget: Budget, old: Nest | None = None) -> Nest:
    nest = nest_parts(ITEMS, SHEETS, spacing, budget, old=old)
    check_nest(ITEMS, SHEETS, spacing, nest)
    return nest


@pytest.fixture(scope="module")
def old() -> Nest:
    nest = proven(NARROW, Budget(evaluations=100_000))
    with pytest.raises(NestError):
        check_nest(ITEMS, SHEETS, WIDE, nest)
    return nest


def end(nest: Nest) -> float:
    last = len(nest.sheets) - 1
    boxes = [
        region_bounds(moved_region(ITEMS[p.item].region, p.angle, p.x, p.y))
        for p in nest.placements
        if p.sheet == last
    ]
    return max(box.x_max for box in boxes) - WIDE.edge


@pytest.mark.slow
def test_most_parts_stay_near_their_old_places(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no new nest may win: one that is much better may move all, and often is found."""
    monkeypatch.setattr(search, "WORTH_MOVING", 0.9)
    shares = []
    for seed in range(1, 6):
        old = proven(NARROW, Budget(evaluations=100_000, seed=seed))
        before = {(place.item, place.copy): place for place in old.placements}
        again = proven(WIDE, Budget(evaluations=200_000, seed=seed), old)
        assert again.sheets == old.sheets
        moved = [
            math.hypot(place.x - was.x, place.y - was.y) if place.sheet == was.sheet else math.inf
            for place in again.placements
            for was in [before[place.item, place.copy]]
        ]
        shares.append(sum(distance < 5.0 for distance in moved) / len(moved))
    assert statistics.median(shares) > 0.7, shares


@pytest.mark.parametrize("seed", range(4))
def test_it_is_never_worse_than_a_new_nest_with_half_the_budget(old: Nest, seed: int) -> None:
    again = proven(WIDE, Budget(evaluations=60_000, seed=seed), old)
    new = proven(WIDE, Budget(evaluations=30_000, seed=seed))
    assert sum(again.unplaced) <= sum(new.unplaced)
    assert len(again.sheets) <= len(new.sheets)
    if again.sheets == new.sheets:
        assert (1.0 - WORTH_MOVING) * end(again) <= end(new) + 1e-3


def test_the_same_old_nest_gives_the_same_new_one(old: Nest) -> None:
    first, second = (proven(WIDE, Budget(evaluations=30_000), old) for _ in range(2))
    assert first == second


def test_one_that_does_not_hold_all_parts_is_of_no_use() -> None:
    budget = Budget(evaluations=20_000)
    none = Nest(sheets=(), placements=(), unplaced=tuple(item.quantity for item in ITEMS))
    assert proven(WIDE, budget, none) == proven(WIDE, budget)


def test_parts_that_no_longer_fit_where_they_lay_are_nested_anew() -> None:
    items = [Item(region=Region(rectangle(50, 50)), quantity=4, rotation_step=math.pi / 2)]
    sheets = [Sheet(region=Region(rectangle(102.0, 102.0)), count=None, cost=1.0)]
    tight, loose = Spacing(gap=1.0, edge=0.0), Spacing(gap=3.0, edge=0.0)
    old = nest_parts(items, sheets, tight, Budget(evaluations=2_000))
    assert len(old.sheets) == 1
    again = nest_parts(items, sheets, loose, Budget(evaluations=2_000), old=old)
    check_nest(items, sheets, loose, again)
    assert len(again.sheets) == 4


@pytest.mark.slow
@pytest.mark.parametrize(
    "seed", [*range(6), *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(6, 12))]
)
def test_every_random_nest_is_valid_after_its_gap_has_grown(seed: int) -> None:
    items, sheets, spacing = random_problem(seed)
    wider = Spacing(gap=spacing.gap + 0.2, edge=spacing.edge + 0.2)
    old = nest_parts(items, sheets, spacing, Budget(evaluations=1_000, seed=seed))
    again = nest_parts(items, sheets, wider, Budget(evaluations=2_000, seed=seed), old=old)
    check_nest(items, sheets, wider, again)


class _Interrupting(Executor):
    """An executor that must not be used: an interrupt has ended all searching."""

    def submit(self, function, /, *args, **kwargs):  # type: ignore[no-untyped-def, override]
        raise AssertionError


def test_an_interrupt_ends_the_search_for_a_new_nest_too(
    old: Nest, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("jobprep.nesting.renest._compress", interrupted)
    nest = nest_parts(
        ITEMS, SHEETS, WIDE, Budget(evaluations=40_000), executor=_Interrupting(), old=old
    )
    check_nest(ITEMS, SHEETS, WIDE, nest)
    assert nest.unplaced == (0,) * len(ITEMS)
