"""The length of sides that parts share, against what was drawn."""

import math

import pytest
from nesting_problems import sector

from jobprep.geometry.outline import Region, moved_region, rectangle
from jobprep.nesting.nest import Item, Nest, Placement
from jobprep.nesting.sides import shared_length, sides_of

GAP = 0.2
BAR = Item(region=Region(rectangle(40.0, 20.0)), quantity=2)


def two_bars(x: float, y: float, turn: float = 0.0) -> Nest:
    """Return a bar at the origin and another turned and moved by so much."""
    return Nest(
        sheets=(0,),
        placements=(Placement(0, 0, 0, 0.0, 0.0, 0.0), Placement(0, 1, 0, turn, x, y)),
        unplaced=(0,),
    )


@pytest.mark.parametrize(
    ("x", "y", "turn", "shared"),
    [
        (40.0 + GAP, 0.0, 0.0, 20.0),
        (0.0, 20.0 + GAP, 0.0, 40.0),
        (15.0, 20.0 + GAP, 0.0, 25.0),
        (0.0, -20.0 - GAP, 0.0, 40.0),
        (80.0 + GAP, 20.0, math.pi, 20.0),
        (60.0 + GAP, 0.0, 0.5 * math.pi, 20.0),
        (0.0, 20.0 + GAP + 0.01, 0.0, 0.0),  # too far apart for one cut
        (0.0, 20.0 + GAP, 1e-3, 0.0),  # not along each other
        (41.0, 20.0 + GAP, 0.0, 0.0),  # past each other
    ],
)
def test_sides_at_the_gap_count_with_what_they_have_in_common(
    x: float, y: float, turn: float, shared: float
) -> None:
    assert shared_length([BAR], GAP, two_bars(x, y, turn)) == pytest.approx(shared, abs=1e-9)


def test_parts_on_different_sheets_share_nothing() -> None:
    nest = two_bars(0.0, 20.0 + GAP)
    apart = (nest.placements[0], nest.placements[1]._replace(sheet=1))
    other = Nest(sheets=(0, 0), placements=apart, unplaced=(0,))
    assert shared_length([BAR], GAP, other) == 0.0


@pytest.mark.parametrize("turn", [0.0, 1.0, 4.0])
def test_a_sector_has_two_sides_however_it_is_turned(turn: float) -> None:
    sides = sides_of(moved_region(sector(60.0, 10.0, 70.0), turn, 3.0, 5.0))
    assert [side.length for side in sides] == pytest.approx([50.0, 50.0])
    apart = math.remainder(sides[1].direction - sides[0].direction, math.tau)
    assert abs(apart) == pytest.approx(math.pi - math.radians(70.0))
