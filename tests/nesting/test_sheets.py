"""Parts on several sheets: near the optimum of published jigsaws, the last sheet emptied."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
from benchmarks.sheets import TOUCHING, fills, fullness, prove, read_instance
from nesting_problems import random_problem

from jobprep.geometry.measure import area
from jobprep.geometry.outline import Region, polygon, rectangle
from jobprep.nesting.check import check_nest
from jobprep.nesting.columns import SHEET
from jobprep.nesting.exchange_search import exchange
from jobprep.nesting.fill import build_rasters, fill_sheets, largest_first
from jobprep.nesting.first_layout import first_layout
from jobprep.nesting.improve import FirstLayout
from jobprep.nesting.nest import Budget, Item, Placement, Sheet
from jobprep.nesting.prepare import prepare
from jobprep.nesting.problem import build_problem
from jobprep.nesting.search import nest_parts

DATA = Path(__file__).parents[1] / "benchmarks" / "data" / "sheets"
PUBLISHED = {
    "TA001": 0.59,
    "TH001C6": 0.82,
    "TL011C10": 0.55,
    "TM001C5": 0.68,
    "TO011C10": 0.74,
    "TS001C5": 1.0,
}
"""The least mean of the squared fills, two hundredths or so below what is found: other
processors round differently. The last one's optimum is found itself."""

EVALUATIONS = 1_000_000


@pytest.mark.slow
@pytest.mark.parametrize("name", PUBLISHED)
def test_published_instances_need_a_sheet_more_than_their_optimum_at_most(name: str) -> None:
    """Jigsaws with a known optimum (Terashima-Marín et al. 2010; López-Camacho 2012)."""
    instance = read_instance(DATA / f"{name}.json")
    assert instance.optimum is not None
    nest = nest_parts(instance.items, instance.sheets, TOUCHING, Budget(evaluations=EVALUATIONS))
    prove(instance, nest)
    assert nest.bound == instance.optimum
    assert len(nest.sheets) <= instance.optimum + 1
    assert fullness(fills(instance, nest)) >= PUBLISHED[name] - 1e-9


def test_a_search_ends_where_a_nest_fills_its_sheets() -> None:
    """Four squares, each cut into two or three pieces: they fill four sheets, and none fewer."""
    half = Region(polygon([(0, 0), (100, 0), (0, 100)]))
    kite = Region(polygon([(0, 0), (60, 0), (60, 100), (0, 40)]))
    rest = Region(polygon([(0, 0), (60, 60), (0, 60)]))
    plate = Region(rectangle(40, 100))
    items = [
        Item(region=region, quantity=2, rotation_step=math.pi / 2)
        for region in (half, half, kite, rest, plate)
    ]
    whole = 100.0 * 100.0
    assert sum(item.quantity * area(item.region) for item in items) == 4.0 * whole
    sheet = Sheet(region=Region(rectangle(100, 100)), count=None, cost=1.0)
    budget = Budget(evaluations=1_000_000)
    nest = nest_parts(items, [sheet], TOUCHING, budget)
    check_nest(items, [sheet], TOUCHING, nest)
    assert len(nest.sheets) == nest.bound == 4.0
    assert nest.evaluations < 0.5 * budget.evaluations
    assert not nest.is_interrupted


def test_exchanges_fill_all_sheets_but_the_last() -> None:
    """Plates of 60 and 40 laid wrongly, on a sheet each or with their like: two sheets hold all."""
    sizes = (60.0, 40.0)
    items = [
        Item(region=Region(rectangle(size, 100.0)), quantity=2, rotation_step=math.tau)
        for size in sizes
    ]
    sheet = Sheet(region=Region(rectangle(100, 100)), count=None, cost=1.0)
    problem = build_problem(items, [sheet], TOUCHING)
    places = [(0, 0, 30.0), (0, 1, 30.0), (1, 2, 20.0), (1, 2, 70.0)]
    placements = [Placement(item, 0, on, 0.0, x, 50.0) for item, on, x in places]
    start = FirstLayout([item for item, _, _ in places], placements, [0, 0, 0])
    prepared = prepare(problem, start.kinds, start.sheets)
    budget, told = Budget(evaluations=20_000), []
    found = exchange(problem, prepared, start, budget, 0.0, lambda best, _: told.append(best))
    assert found.best.n_sheets == 2
    assert found.best.is_full
    assert told[-1] is found.best
    assert found.tried < budget.evaluations
    loads = [sum(s[SHEET] == n for s in found.best.spots) for n in range(2)]
    assert loads == [2, 2]
    again = exchange(problem, prepared, start, budget, 0.0, lambda *_: None)
    assert (again.best.spots == found.best.spots).all()


def test_exchanges_stop_when_nobody_wants_to_wait() -> None:
    instance = read_instance(DATA / "TA001.json")
    problem = build_problem(instance.items, instance.sheets, TOUCHING)
    filled = fill_sheets(problem, build_rasters(problem), largest_first(problem))
    budget = Budget(evaluations=10_000_000, is_over=lambda: True)
    start = first_layout(problem, filled, budget)
    assert start is not None
    prepared = prepare(problem, start.kinds, start.sheets)
    found = exchange(problem, prepared, start, budget, 0.0, lambda *_: None)
    assert found.is_interrupted
    assert found.tried == 0
    assert found.best.n_sheets == len(start.sheets)


@pytest.mark.parametrize("seed", range(8))
def test_what_is_exchanged_stays_valid_on_sheets_of_any_outline(seed: int) -> None:
    items, sheets, spacing = random_problem(seed)
    more = [
        Item(region=item.region, quantity=3 * item.quantity, rotation_step=math.pi / 2)
        for item in items
    ]
    nest = nest_parts(more, sheets, spacing, Budget(evaluations=20_000, seed=seed))
    check_nest(more, sheets, spacing, nest)
