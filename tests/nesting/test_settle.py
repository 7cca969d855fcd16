"""Slid parts touch, and the nest stays valid."""

import math

import pytest

from jobprep.geometry.distance import distance
from jobprep.geometry.outline import Region, moved_region, polygon, rectangle
from jobprep.geometry.shapes import annular_sector, ring
from jobprep.nesting.check import check_nest
from jobprep.nesting.nest import Budget, Item, Nest, Placement, Sheet, Spacing
from jobprep.nesting.search import nest_parts
from jobprep.nesting.settle import FINENESS, settle

SPACING = Spacing(gap=0.2, edge=5.0)
NOTCHED = Region(polygon(((0, 0), (200, 0), (200, 80), (90, 80), (90, 160), (0, 160))))


def test_plates_side_by_side_come_to_face_each_other_at_the_gap() -> None:
    items = [Item(region=Region(rectangle(40.0, 20.0)), quantity=3)]
    sheets = [Sheet(region=Region(rectangle(300.0, 200.0)))]
    apart = tuple(Placement(0, copy, 0, 0.0, 20.0 + 60.0 * copy, 30.0) for copy in range(3))
    loose = Nest(sheets=(0,), placements=apart, unplaced=(0,))
    nest = settle(items, sheets, SPACING, loose)
    places = [(place.x, place.y) for place in nest.placements]
    wanted = [(5.0, 5.0), (45.2, 5.0), (85.4, 5.0)]
    for place, want in zip(places, wanted, strict=True):
        assert place == pytest.approx(want, abs=3 * FINENESS)


@pytest.mark.parametrize("seed", range(6))
def test_a_slid_nest_is_still_valid(seed: int) -> None:
    items = [
        Item(region=annular_sector(8.0, 30.0, 0.0, 1.1), quantity=4),
        Item(region=ring(6.0, 14.0), quantity=3),
        Item(region=Region(rectangle(30.0, 12.0)), quantity=4),
    ]
    sheets = [Sheet(region=NOTCHED), Sheet(region=NOTCHED)]
    before = nest_parts(items, sheets, SPACING, Budget(evaluations=300, seed=seed))
    after = settle(items, sheets, SPACING, before)
    check_nest(items, sheets, SPACING, after)
    for old, new in zip(before.placements, after.placements, strict=True):
        assert new._replace(x=old.x, y=old.y) == old
        assert new.x <= old.x and new.y <= old.y
    lowest = min(after.placements, key=lambda place: place.y)
    region = moved_region(items[lowest.item].region, lowest.angle, lowest.x, lowest.y)
    assert math.isclose(
        distance(region, Region(polygon(((-1, -1), (201, -1), (201, 0), (-1, 0))))),
        SPACING.edge,
        abs_tol=1e-3,
    )
