"""Nests of whole problems: each proven, reproducible, and as good as the problem allows."""

from __future__ import annotations

import itertools
import math
import multiprocessing
import pickle
from concurrent.futures import Executor, Future, ProcessPoolExecutor
from random import Random

import pytest
from nesting_problems import L_SHAPE, ORIGIN, random_problem, ring, sector

from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Region, circle, moved_region, polygon, rectangle
from jobprep.nesting import improve, search
from jobprep.nesting.check import check_nest
from jobprep.nesting.nest import Budget, Item, Nest, Sheet, Spacing
from jobprep.nesting.search import nest_parts

SPACING = Spacing(gap=1.2, edge=5.1)
SMALL = Budget(evaluations=20_000)


def proven(items: list[Item], sheets: list[Sheet], spacing: Spacing, budget: Budget) -> Nest:
    nest = nest_parts(items, sheets, spacing, budget)
    check_nest(items, sheets, spacing, nest)
    return nest


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(20))
def test_every_random_nest_is_valid(seed: int) -> None:
    proven(*random_problem(seed), Budget(evaluations=5_000, seed=seed))


def test_same_input_and_seed_give_the_same_nest_whatever_the_workers() -> None:
    problem = random_problem(5)
    one = nest_parts(*problem, Budget(evaluations=20_000, workers=1))
    two = nest_parts(*problem, Budget(evaluations=20_000, workers=2))
    assert one == two
    assert one == nest_parts(*problem, Budget(evaluations=20_000, workers=1))


def test_nothing_to_nest_and_nothing_to_nest_on() -> None:
    item = Item(region=sector(30, 10, 90), quantity=3)
    sheet = Sheet(region=Region(rectangle(100, 100)))
    assert nest_parts([], [sheet], SPACING, SMALL).placements == ()
    assert nest_parts([item], [], SPACING, SMALL).unplaced == (3,)


def test_parts_larger_than_any_sheet_are_left_over() -> None:
    items = [
        Item(region=sector(300, 10, 90), quantity=2),
        Item(region=sector(30, 10, 90), quantity=2),
    ]
    nest = proven(items, [Sheet(region=Region(rectangle(100, 100)), count=None)], SPACING, SMALL)
    assert nest.unplaced == (2, 0)


def test_a_single_part_has_a_nest() -> None:
    """The room for totals once lay outside the arrays of a single part."""
    items = [Item(region=sector(30, 10, 90), quantity=1)]
    nest = proven(items, [Sheet(region=Region(rectangle(100, 100)))], SPACING, SMALL)
    assert len(nest.placements) == 1


def test_leftovers_come_before_whole_sheets() -> None:
    items = [Item(region=sector(58, 15, 60), quantity=3)]
    sheets = [
        Sheet(region=Region(rectangle(508, 610)), count=None, cost=1.0),
        Sheet(region=L_SHAPE, leftover=True),
    ]
    assert proven(items, sheets, SPACING, SMALL).sheets == (1,)


def test_small_parts_go_into_the_holes_of_rings() -> None:
    items = [
        Item(region=ring(95, 60), quantity=1),
        Item(region=Region(circle(ORIGIN, 50)), quantity=1),
    ]
    nest = proven(items, [Sheet(region=Region(rectangle(202, 202)))], SPACING, SMALL)
    assert nest.unplaced == (0, 0)


@pytest.mark.parametrize("seed", range(6))
def test_discs_keep_their_distance_however_they_are_flattened(seed: int) -> None:
    """A polygon around a disc is not centred on it; the disc was taken to lie at its middle."""
    sizes = (20.0 - seed, 9.0 + 0.37 * seed, 5.1)
    items = [Item(region=Region(circle(ORIGIN, size)), quantity=5) for size in sizes]
    nest = proven(items, [Sheet(region=Region(rectangle(150, 110)))], SPACING, SMALL)
    assert nest.unplaced == (0, 0, 0)


def test_rings_that_just_fit_lie_in_each_other_from_the_first_nest_on() -> None:
    items = [Item(region=ring(*size), quantity=4) for size in ((60, 48), (46, 34), (32, 20))]
    sheet = Sheet(region=Region(rectangle(510, 134)))
    assert proven(items, [sheet], SPACING, Budget(seconds=0.0)).unplaced == (0, 0, 0)


def test_parts_keep_off_defects() -> None:
    sheet = Region(rectangle(100, 100), (circle(ORIGIN._replace(x=50, y=50), 20, clockwise=True),))
    items = [Item(region=Region(circle(ORIGIN, 9)), quantity=30)]
    nest = proven(items, [Sheet(region=sheet)], Spacing(gap=0.5, edge=1.0), SMALL)
    assert 10 <= len(nest.placements) < 30


def test_a_gap_wider_than_twice_the_edge_keeps_the_edge_at_notches_and_defects() -> None:
    """Grown by the difference, a sheet lost the tips of its notches and its small defects."""
    for seed in (5214, 5283, 5369):
        proven(*random_problem(seed), Budget(evaluations=1_500, seed=seed))


def test_four_squares_fill_a_sheet_exactly() -> None:
    items = [Item(region=Region(rectangle(50, 50)), quantity=4, rotation_step=math.pi / 2)]
    nest = proven(items, [Sheet(region=Region(rectangle(100, 100)))], Spacing(gap=0, edge=0), SMALL)
    assert nest.unplaced == (0,)
    assert nest.bound == 1.0


def test_the_least_number_of_sheets_counts_the_middles_of_equal_discs() -> None:
    """By area nine discs of 100 mm need one sheet of 290 mm; but only eight could ever lie on it.

    Middles lie in a square of 190 mm: 2 · 1.9² / sqrt(3) + 3.8 + 1 = 8.97.
    """
    items = [Item(region=Region(circle(ORIGIN, 50)), quantity=9)]
    sheets = [Sheet(region=Region(rectangle(290, 290)), count=None, cost=1.0)]
    nest = proven(items, sheets, Spacing(gap=0, edge=0), Budget(evaluations=2_000))
    assert 9 * math.pi * 50**2 < 290**2
    assert nest.bound == 2.0
    assert len(nest.sheets) == 2


def test_the_last_sheet_is_packed_towards_one_side() -> None:
    items = [Item(region=sector(58, 15, 60), quantity=12)]
    nest = proven(items, [Sheet(region=Region(rectangle(508, 610)))], SPACING, SMALL)
    top = max(
        region_bounds(moved_region(items[0].region, p.angle, p.x, p.y)).y_max
        for p in nest.placements
    )
    # A row of boxes of 58 mm needs two rows of 8; 60-degree sectors interlock better than that.
    assert top < 130.0


def test_more_effort_is_never_worse() -> None:
    items = [Item(region=sector(58, 15, degrees), quantity=4) for degrees in (60, 75.5, 90)]
    sheets = [Sheet(region=Region(rectangle(2000, 250)))]

    def length(evaluations: int) -> float:
        nest = proven(items, sheets, SPACING, Budget(evaluations=evaluations))
        return max(
            region_bounds(moved_region(items[p.item].region, p.angle, p.x, p.y)).x_max
            for p in nest.placements
        )

    assert length(100_000) <= length(1_000)


@pytest.mark.parametrize(
    ("region", "quantity", "size", "step"),
    [
        pytest.param(Region(circle(ORIGIN, 30)), 1, (300, 300), None, id="one disc"),
        pytest.param(Region(circle(ORIGIN, 30)), 4, (300, 300), None, id="one column"),
        pytest.param(Region(circle(ORIGIN, 30)), 3, (75, 75), None, id="one on each sheet"),
        pytest.param(Region(rectangle(30, 50)), 5, (300, 300), math.pi, id="column of bars"),
    ],
)
def test_nothing_is_searched_for_where_no_nest_can_be_shorter(
    region: Region, quantity: int, size: tuple[float, float], step: float | None
) -> None:
    items = [Item(region=region, quantity=quantity, rotation_step=step)]
    sheet = Sheet(region=Region(rectangle(*size)), count=None)
    nest = proven(items, [sheet], SPACING, Budget(evaluations=1_000_000))
    assert nest.unplaced == (0,)
    assert nest.evaluations < 10_000
    assert not nest.is_interrupted


@pytest.mark.parametrize("seed", range(12))
def test_a_search_finds_nothing_shorter_than_what_ends_it(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    chance = Random(seed)
    regions = [
        Region(rectangle(chance.uniform(20, 60), chance.uniform(20, 60))),
        sector(chance.uniform(30, 70), 10, chance.uniform(30, 300)),
        Region(circle(ORIGIN, chance.uniform(10, 30))),
    ]
    step = chance.choice((None, math.pi / 2, math.pi))
    items = [
        Item(region=each, quantity=chance.randint(0, 2), rotation_step=step) for each in regions
    ]
    sheets = [Sheet(region=Region(rectangle(400, 390)), count=None)]
    problem = search.build_problem(items, sheets, SPACING)
    ended = proven(items, sheets, SPACING, Budget(evaluations=60_000))
    monkeypatch.setattr(search._Record, "is_best", False)
    longer = proven(items, sheets, SPACING, Budget(evaluations=60_000))
    lengths = [search.ranked(problem, each).used.film for each in (ended, longer)]
    assert lengths[0] <= lengths[1] * (1.0 + 2.0 * search.NOTHING_SHORTER)


def test_a_search_that_reaches_the_shortest_nest_is_not_an_interrupted_one() -> None:
    """A triangle lies narrowest on its longest side, where the first nest does not quite lay it."""
    region = Region(polygon([(0, 0), (40, 0), (0, 30)]))
    sheet = Sheet(region=Region(rectangle(600, 310)))
    nest = proven([Item(region=region, quantity=1)], [sheet], SPACING, Budget(evaluations=400_000))
    assert not nest.is_interrupted


def test_progress_tells_of_the_first_nest_and_of_better_ones() -> None:
    told: list[tuple[int, float, float]] = []

    def progress(nest: Nest, last_used: float) -> None:
        told.append((len(nest.placements), last_used, nest.bound))

    items = [Item(region=sector(58, 15, 60), quantity=12)]
    nest_parts(items, [Sheet(region=Region(rectangle(508, 610)))], SPACING, SMALL, progress)
    assert told
    assert all(count == 12 and 0.0 < used < 1.0 and bound == 1.0 for count, used, bound in told)


class _Interrupted(Executor):
    """An executor during whose third round somebody presses Ctrl-C."""

    def __init__(self) -> None:
        self.submitted = 0

    def submit(self, function, /, *args, **kwargs):  # type: ignore[no-untyped-def, override]
        self.submitted += 1
        if self.submitted == 5:
            raise KeyboardInterrupt
        future: Future[object] = Future()
        future.set_result(function(*args, **kwargs))
        return future


def test_an_interrupt_gives_the_best_nest_so_far() -> None:
    items = [Item(region=sector(58, 15, 60), quantity=12)]
    sheets = [Sheet(region=Region(rectangle(508, 610)))]
    executor = _Interrupted()
    nest = nest_parts(items, sheets, SPACING, SMALL, executor=executor)
    assert executor.submitted == 5
    assert nest.unplaced == (0,)
    assert nest.is_interrupted
    check_nest(items, sheets, SPACING, nest)


def test_chains_may_work_in_other_processes() -> None:
    """Any executor of the standard protocol will do, also one that pickles its tasks."""

    class Pickling(_Interrupted):
        def submit(self, function, /, *args, **kwargs):  # type: ignore[no-untyped-def, override]
            task = pickle.loads(pickle.dumps((function, args, kwargs)))
            future: Future[object] = Future()
            future.set_result(pickle.loads(pickle.dumps(task[0](*task[1], **task[2]))))
            return future

    problem = random_problem(5)
    assert nest_parts(*problem, SMALL, executor=Pickling()) == nest_parts(*problem, SMALL)


@pytest.mark.slow
def test_a_pool_of_processes_gives_the_same_nest_as_threads() -> None:
    problem = random_problem(5)
    with ProcessPoolExecutor(2, multiprocessing.get_context("spawn")) as executor:
        elsewhere = nest_parts(*problem, SMALL, executor=executor)
    assert elsewhere == nest_parts(*problem, SMALL)


def test_loading_the_search_takes_nothing_of_its_time(monkeypatch: pytest.MonkeyPatch) -> None:
    """A short budget over several films was spent on that before the first was searched."""
    ticks = itertools.count()
    ahead = 0.0

    def now() -> float:
        return 0.01 * next(ticks) + ahead

    def load() -> float:
        nonlocal ahead
        ahead = 100.0
        return ahead

    monkeypatch.setattr(search, "seconds_to_load_search", load)
    monkeypatch.setattr("time.monotonic", now)
    items = [Item(region=sector(58, 15, 60), quantity=12)]
    sheets = [Sheet(region=Region(rectangle(300, 300)))]
    filled = nest_parts(items, sheets, SPACING, Budget(seconds=0.0))
    nest = nest_parts(items, sheets, SPACING, Budget(seconds=1.0, workers=1))
    assert nest.evaluations > filled.evaluations


@pytest.mark.parametrize("workers", [1, 2])
def test_a_search_ends_by_what_was_tried_in_vain(
    workers: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However much of its budget is left: of a larger one less is used, as a share."""
    items = [Item(region=sector(58, 15, 60), quantity=4)]
    sheets = [Sheet(region=Region(rectangle(300, 80)))]
    used = {}
    for enough in (500, 1 << 40):
        monkeypatch.setattr(improve, "ENOUGH", enough)
        for budget in (200_000, 800_000):
            nest = proven(items, sheets, SPACING, Budget(evaluations=budget, workers=workers))
            assert not nest.is_interrupted
            used[enough, budget] = nest.evaluations / budget
    assert used[500, 800_000] < used[500, 200_000] < 0.5
    assert used[1 << 40, 800_000] > 0.9
