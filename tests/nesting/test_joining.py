"""Parts joined to blocks lie a gap apart, share what is said, and turn only as they may."""

import math
from itertools import combinations

import pytest
from nesting_problems import ring, sector

from jobprep.geometry.distance import distance
from jobprep.geometry.outline import Region, moved_region, rectangle
from jobprep.nesting.blocks import block_item, split
from jobprep.nesting.check import check_nest
from jobprep.nesting.joining import Block, Joiner
from jobprep.nesting.nest import Item, Nest, Placement, Sheet, Spacing
from jobprep.nesting.sides import shared_length

GAP = 0.15
SIZE = (500.0, 600.0)
FILM_IS_CHEAP, SIDES_ARE_CHEAP = 1000.0, 0.0


def items_of(region: Region, quantity: int, step: float | None = None) -> list[Item]:
    return [Item(region=region, quantity=quantity, rotation_step=step)]


def as_nest(items: list[Item], block: Block) -> Nest:
    whole = Nest(sheets=(0,), placements=(Placement(0, 0, 0, 0.3, 250.0, 300.0),), unplaced=(0,))
    return split([block], len(items), whole)


@pytest.mark.parametrize(
    ("region", "quantity", "side"),
    [
        (sector(60.0, 10.0, 40.0), 5, 50.0),
        (sector(50.0, 15.0, 150.0), 4, 35.0),
        (Region(rectangle(80.0, 20.0)), 4, 80.0),
    ],
)
def test_equal_parts_share_a_whole_side_at_every_joint(
    region: Region, quantity: int, side: float
) -> None:
    items = items_of(region, quantity)
    best = Joiner(items, GAP, SIZE).blocks([quantity], quantity, 20, FILM_IS_CHEAP)[0]
    assert len(best.members) == quantity
    assert best.shared == pytest.approx((quantity - 1) * side)
    nest = as_nest(items, best)
    assert shared_length(items, GAP, nest) >= best.shared - 1e-6
    for one, other in combinations(nest.placements, 2):
        a, b = (moved_region(region, each.angle, each.x, each.y) for each in (one, other))
        assert distance(a, b, 1.0) >= GAP - 1e-6


@pytest.mark.parametrize("dear", [FILM_IS_CHEAP, SIDES_ARE_CHEAP])
def test_parts_of_several_kinds_never_overlap(dear: float) -> None:
    items = [
        Item(region=sector(60.0, 10.0, 75.0), quantity=3),
        Item(region=sector(45.0, 12.0, 130.0), quantity=3),
        Item(region=Region(rectangle(30.0, 12.0)), quantity=2),
    ]
    sheets = [Sheet(region=Region(rectangle(*SIZE)))]
    for block in Joiner(items, GAP, SIZE).blocks([3, 3, 2], 8, 10, dear):
        assert len(block.members) == 8
        check_nest(items, sheets, Spacing(gap=GAP, edge=5.0), as_nest(items, block))


def test_half_turns_alone_give_rows_head_to_tail() -> None:
    items = items_of(sector(60.0, 10.0, 75.0), 2, math.pi)
    best = Joiner(items, GAP, SIZE).blocks([2], 2, 20, FILM_IS_CHEAP)[0]
    one, other = best.members
    assert abs(math.remainder(other.angle - one.angle, math.tau)) == pytest.approx(math.pi)
    assert best.shared == pytest.approx(50.0)


@pytest.mark.parametrize(
    ("region", "step"), [(sector(60.0, 10.0, 75.0), math.tau), (ring(30.0, 10.0), None)]
)
def test_parts_that_cannot_share_a_side_stay_alone(region: Region, step: float | None) -> None:
    best = Joiner(items_of(region, 3, step), GAP, SIZE).blocks([3], 3, 20, FILM_IS_CHEAP)[0]
    assert len(best.members) == 1
    assert best.shared == 0.0


def test_a_block_fits_the_size_it_was_given() -> None:
    """Six bars would lie in a row or a pile that is longer than the sheet."""
    items = items_of(Region(rectangle(80.0, 20.0)), 6)
    joiner = Joiner(items, GAP, (170.0, 70.0))
    blocks = joiner.blocks([6], 6, 20, FILM_IS_CHEAP)
    assert blocks
    for block in blocks:
        assert len(block.members) > 2
        sizes = [sorted((laid.width, laid.height)) for laid in joiner.lying(block)]
        assert any(low <= 70.0 and high <= 170.0 for low, high in sizes)


@pytest.mark.parametrize("gap", [0.0, 0.15, 1.5])
def test_blocks_a_gap_apart_keep_their_members_a_gap_apart(gap: float) -> None:
    """Two blocks of bars, laid side by side with the least room their outlines need."""
    items = items_of(Region(rectangle(80.0, 20.0)), 4)
    block = Joiner(items, gap, SIZE).blocks([2], 2, 20, FILM_IS_CHEAP)[0]
    whole = block_item(items, block, gap, 2)
    assert whole is not None
    assert distance(whole.region, moved_region(whole.region, 0.0, 80.0 + gap, 0.0)) >= gap - 1e-3
    places = tuple(
        Placement(0, copy, 0, 0.0, 20.0 + copy * (80.0 + gap + 1e-3), 100.0) for copy in (0, 1)
    )
    nest = split([block], 1, Nest(sheets=(0,), placements=places, unplaced=(0,)))
    sheets = [Sheet(region=Region(rectangle(*SIZE)))]
    check_nest(items, sheets, Spacing(gap=gap, edge=5.0), nest)
