"""The proof accepts what is right and names what is wrong."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from nesting_problems import ORIGIN, ring, sector

from jobprep.geometry.outline import Region, circle, polygon, rectangle
from jobprep.nesting.check import NestError, check_nest
from jobprep.nesting.nest import Item, Nest, Placement, Sheet, Spacing

ITEMS = [
    Item(region=sector(58, 15, 60), quantity=2, rotation_step=math.pi / 2),
    Item(region=ring(60, 30), quantity=1),
    Item(region=Region(circle(ORIGIN, 10)), quantity=1),
]
DEFECT = circle(ORIGIN._replace(x=350.0, y=150.0), 20.0, clockwise=True)
SHEETS = [Sheet(region=Region(rectangle(400, 300), (DEFECT,)), count=1)]
SPACING = Spacing(gap=1.0, edge=5.0)
GOOD = Nest(
    sheets=(0,),
    placements=(
        Placement(0, 0, 0, 0.0, 5.0, 5.0),
        Placement(0, 1, 0, 3.0 * math.pi / 2, 70.0, 100.0),
        Placement(1, 0, 0, 1.234, 200.0, 100.0),
        Placement(2, 0, 0, 0.0, 200.0, 100.0),
    ),
    unplaced=(0, 0, 0),
)


def with_placement(number: int, **changes: float) -> Nest:
    placements = list(GOOD.placements)
    placements[number] = placements[number]._replace(**changes)
    return replace(GOOD, placements=tuple(placements))


def test_a_good_nest_passes() -> None:
    check_nest(ITEMS, SHEETS, SPACING, GOOD)


@pytest.mark.parametrize(
    ("nest", "finding"),
    [
        (with_placement(0, y=4.99), "is 4.99 mm from the edge, 5 mm are needed"),
        (with_placement(0, y=-20.0), "lies outside its sheet"),
        (with_placement(2, x=350.0), "item 1 copy 0"),
        (with_placement(2, x=312.0, y=150.0), "lies outside its sheet"),
        (with_placement(1, x=5.0, y=60.0), "on opened sheet 0 are 0 mm apart"),
        (with_placement(3, x=219.5), "are 0.5 mm apart, 1 mm are needed"),
        (with_placement(3, x=245.0), "are 0 mm apart"),
        (with_placement(1, angle=0.3), "not a multiple of 90"),
        (with_placement(1, copy=0), "copy 0 of item 0 is placed 2 times"),
        (with_placement(1, copy=2), "item 0 has no copy 2"),
        (with_placement(1, item=7), "there is no item 7"),
        (with_placement(1, sheet=1), "item 0 copy 1 on opened sheet 1, which there is not"),
        (with_placement(1, x=math.nan), "has no place"),
        (replace(GOOD, sheets=(0, 0)), "sheet 0 is used 2 times, there are 1"),
        (replace(GOOD, sheets=(0, 0)), "opened sheet 1 holds nothing"),
        (replace(GOOD, sheets=(3,)), "there is no sheet 3"),
        (replace(GOOD, unplaced=(1, 0, 0)), "2 placed and 1 unplaced, 2 were asked for"),
        (replace(GOOD, placements=GOOD.placements[1:]), "1 placed and 0 unplaced"),
        (replace(GOOD, unplaced=()), "0 counts of unplaced copies for 3 items"),
    ],
)
def test_a_broken_nest_is_refused(nest: Nest, finding: str) -> None:
    with pytest.raises(NestError) as caught:
        check_nest(ITEMS, SHEETS, SPACING, nest)
    assert finding in str(caught.value)


def test_without_a_gap_parts_may_touch_but_not_overlap() -> None:
    items = [Item(region=Region(polygon([(0, 0), (10, 0), (10, 10), (0, 10)])), quantity=2)]
    sheets = [Sheet(region=Region(rectangle(20, 10)))]
    spacing = Spacing(gap=0.0, edge=0.0)

    def nest(x: float) -> Nest:
        placements = (Placement(0, 0, 0, 0.0, 0.0, 0.0), Placement(0, 1, 0, 0.0, x, 0.0))
        return Nest(sheets=(0,), placements=placements, unplaced=(0,))

    check_nest(items, sheets, spacing, nest(10.0))
    with pytest.raises(NestError, match="mm apart"):
        check_nest(items, sheets, spacing, nest(9.9999))
