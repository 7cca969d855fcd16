"""Strips: valid, as short as a known optimum where there is one, and never worse than recorded."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest
from nesting_problems import ORIGIN, sector
from nesting_strip import Strip, nest_strip

from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.outline import Region, circle, moved_region, polygon, rectangle
from jobprep.nesting import improve
from jobprep.nesting.chain import Best, Chain
from jobprep.nesting.check import check_nest
from jobprep.nesting.improve import CHAINS, EXPLORING_ROUNDS, FINE_ROUNDS
from jobprep.nesting.nest import Budget, Item, Nest, Sheet, Spacing

RATCHET = Path(__file__).parent.parent / "ratchet.json"
SLACK = 1.005
"""How much worse than recorded a result may be: other processors round differently."""

TRIANGLE = Region(polygon([(0, 0), (10, 0), (0, 10)]))
INSTANCES = {
    "aurora": (
        [Item(region=sector(58, 15, d), quantity=4) for d in (60, 75.5, 45, 90, 30, 44.5, 36, 72)],
        508.0,
    ),
    "fixed sectors": (
        [
            Item(region=sector(58, 15, d), quantity=4, rotation_step=math.pi)
            for d in (60, 75.5, 90, 120)
        ],
        250.0,
    ),
    "triangles": ([Item(region=TRIANGLE, quantity=12, rotation_step=math.pi / 2)], 30.0),
}


def proven(items: list[Item], height: float, budget: Budget) -> Strip:
    """Return a strip, proven: all parts there, none over another, none beyond the length."""
    strip = nest_strip(items, height, budget)
    nest = Nest(
        sheets=(0,),
        placements=strip.placements,
        unplaced=(0,) * len(items),
    )
    sheet = Sheet(region=Region(rectangle(strip.length + 1e-7, height)))
    check_nest(items, [sheet], Spacing(gap=0.0, edge=0.0), nest)
    end = max(
        region_bounds(moved_region(items[p.item].region, p.angle, p.x, p.y)).x_max
        for p in strip.placements
    )
    assert end <= strip.length + 1e-6
    assert strip.bound <= strip.length + 1e-6
    need = math.fsum(item.quantity * area(item.region) for item in items)
    assert strip.bound == pytest.approx(need / height, rel=0.01)
    return strip


def test_squares_fill_the_strip_to_the_bound() -> None:
    items = [Item(region=Region(rectangle(10, 10)), quantity=9, rotation_step=math.tau)]
    strip = proven(items, 30.0, Budget(evaluations=50_000))
    assert strip.length == pytest.approx(30.0, abs=1e-6)


def test_half_squares_lie_hypotenuse_to_hypotenuse() -> None:
    strip = proven(*INSTANCES["triangles"], Budget(evaluations=300_000))
    assert strip.length == pytest.approx(20.0, rel=0.02)


def test_same_seed_gives_the_same_strip_whatever_the_workers() -> None:
    items, height = INSTANCES["fixed sectors"]
    one = nest_strip(items, height, Budget(evaluations=40_000, workers=1, seed=4))
    assert one == nest_strip(items, height, Budget(evaluations=40_000, workers=2, seed=4))


def test_the_best_nest_is_compressed_also_when_nothing_better_is_found_for_long(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The search once ended there, with the fine rounds not begun."""
    rounds: list[bool] = []
    search = Chain.search

    def watched(chain: Chain, quota: int, deadline: float, *, is_fine: bool) -> Chain:
        rounds.append(is_fine)
        return search(chain, quota, deadline, is_fine=is_fine)

    monkeypatch.setattr(Chain, "search", watched)
    items = [Item(region=Region(rectangle(10, 10)), quantity=9, rotation_step=math.tau)]
    proven(items, 30.0, Budget(evaluations=50_000, workers=1))
    assert rounds.count(True) == CHAINS * FINE_ROUNDS
    assert 0 < rounds.count(False) < CHAINS * EXPLORING_ROUNDS


@pytest.mark.parametrize(("effort", "is_anew"), [(500, True), (100_000, False)])
def test_exploring_begins_anew_when_nothing_better_is_found_for_long(
    effort: int, is_anew: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    restarts: list[Best] = []
    restart = Chain.restart

    def watched(chain: Chain, start: Best) -> None:
        restarts.append(start)
        restart(chain, start)

    monkeypatch.setattr(Chain, "restart", watched)
    monkeypatch.setattr(improve, "IDLE_EFFORT", effort)
    items = [Item(region=Region(rectangle(10, 10)), quantity=9, rotation_step=math.tau)]
    strip = proven(items, 30.0, Budget(evaluations=50_000, workers=1))
    assert strip.length == pytest.approx(30.0, abs=1e-6)
    assert bool(restarts) == is_anew
    assert all(start is restarts[0] for start in restarts)


def test_a_part_higher_than_the_strip_is_refused() -> None:
    with pytest.raises(ValueError, match="higher than the strip"):
        nest_strip(
            [Item(region=Region(rectangle(10, 40)), quantity=1, rotation_step=math.tau)],
            30.0,
            Budget(evaluations=10),
        )


def test_equal_circles_come_near_the_best_known_packing() -> None:
    """Seven circles in the smallest square that holds them.

    Radius 0.17445763 in the unit square, proven (Schaer 1965; table by E. Specht).
    """
    radius = 0.995 * 17.445763
    items = [Item(region=Region(circle(ORIGIN, radius)), quantity=7)]
    assert proven(items, 100.0, Budget(evaluations=400_000)).length <= 100.0


@pytest.mark.parametrize("name", INSTANCES)
def test_results_are_never_worse_than_recorded(name: str) -> None:
    """``ratchet.json`` may only be tightened: replace a length by a shorter one you measured."""
    recorded = json.loads(RATCHET.read_text())["strip_length"][name]
    items, height = INSTANCES[name]
    strip = proven(items, height, Budget(evaluations=recorded["evaluations"]))
    assert strip.length <= SLACK * recorded["length"]
