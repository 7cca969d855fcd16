"""A small job lies in a corner of its sheet, in the box that uses up least film."""

import math
import random

import numpy as np
import pytest
import shapely
from nesting_problems import sector

from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.outline import Region, moved_region, polygon, rectangle
from jobprep.nesting.check import check_nest
from jobprep.nesting.nest import Budget, Item, Keeping, Nest, Sheet, Spacing
from jobprep.nesting.search import nest_parts
from jobprep.nesting.used_film import CornerSheet

SPACING = Spacing(gap=1.2, edge=5.2)
KEEPING = Keeping(least_side=50.0, least_area=5000.0, beyond=1.4, slot=0.2)
WIDTH, HEIGHT = 508.0, 610.0
SHEET = Sheet(region=Region(rectangle(WIDTH, HEIGHT)), count=None, keeping=KEEPING)


def proven(items: list[Item], sheet: Sheet, evaluations: int, seed: int = 1) -> Nest:
    nest = nest_parts(items, [sheet], SPACING, Budget(evaluations=evaluations, seed=seed))
    check_nest(items, [sheet], SPACING, nest)
    assert not any(nest.unplaced)
    return nest


def ends(items: list[Item], nest: Nest) -> tuple[float, float]:
    last = len(nest.sheets) - 1
    boxes = [
        region_bounds(moved_region(items[p.item].region, p.angle, p.x, p.y))
        for p in nest.placements
        if p.sheet == last
    ]
    return max(box.x_max for box in boxes), max(box.y_max for box in boxes)


def film(items: list[Item], nest: Nest) -> float:
    """Return what is used up where both cuts leave pieces worth keeping: a box and the slots."""
    x, y = (end + KEEPING.beyond for end in ends(items, nest))
    assert min(WIDTH - x, HEIGHT - y) > KEEPING.least_side
    return x * y


def test_two_halves_of_a_rectangle_lie_as_one() -> None:
    """Closed form: two right triangles with a gap between make a box hardly larger than both."""
    triangle = Region(polygon([(0, 0), (120, 0), (0, 80)]))
    items = [Item(region=triangle, quantity=2)]
    nest = proven(items, SHEET, 60_000)
    apart = SPACING.gap / math.sin(math.atan2(80, 120))  # along the longer side
    least = (120 + apart + 5.2 + 1.4) * (80 + 5.2 + 1.4)
    assert film(items, nest) <= 1.02 * least


@pytest.mark.slow
def test_one_part_lies_as_it_uses_up_least() -> None:
    items = [Item(region=sector(58, 15, 40), quantity=1)]
    used = film(items, proven(items, SHEET, 60_000))
    # Every turn by a tenth of a degree, as an oracle.
    sides = []
    for tenth in range(1800):
        box = region_bounds(moved_region(items[0].region, math.radians(tenth / 10.0), 0.0, 0.0))
        sides.append((box.width + 6.6) * (box.height + 6.6))
    assert used <= 1.001 * min(sides)


@pytest.mark.parametrize("seed", range(6))
def test_a_corner_uses_up_less_than_a_strip_across_the_sheet(seed: int) -> None:
    draw = random.Random(seed)
    items = [
        Item(region=sector(draw.uniform(30, 70), 15, draw.uniform(30, 150)), quantity=2)
        for _ in range(2)
    ]
    strip = Sheet(region=SHEET.region, count=None)
    corner, across = (proven(items, sheet, 20_000) for sheet in (SHEET, strip))
    parts = sum(item.quantity * area(item.region) for item in items)
    assert parts < film(items, corner) < film(items, across)


def test_a_budget_of_evaluations_is_kept_and_gives_the_same_nest() -> None:
    items = [Item(region=sector(58, 15, 75), quantity=5)]
    first, again = (proven(items, SHEET, 40_000) for _ in range(2))
    assert first == again
    assert first.evaluations < 50_000


def test_a_search_ends_where_nothing_more_is_gained() -> None:
    items = [Item(region=Region(rectangle(100, 60)), quantity=1)]
    nest = proven(items, SHEET, 10_000_000)
    assert nest.evaluations < 1_000_000
    assert film(items, nest) == pytest.approx(106.6 * 66.6, rel=1e-3)


@pytest.mark.slow
def test_the_last_of_several_sheets_is_packed_into_a_corner() -> None:
    items = [Item(region=Region(rectangle(240, 280)), quantity=5, rotation_step=math.pi / 2)]
    nest = proven(items, SHEET, 60_000)
    assert len(nest.sheets) == 2
    assert film(items, nest) == pytest.approx(246.6 * 286.6, rel=1e-2)


@pytest.mark.parametrize("seed", range(20))
def test_what_is_used_up_is_what_shapely_cuts_off(seed: int) -> None:
    draw = random.Random(seed)
    outline = [(0, 0), (400, 0), (400, 200), (250, 200), (250, 300), (0, 300)]
    sheet = CornerSheet([np.array(outline, np.float64)], KEEPING)
    x, y = draw.uniform(20, 390), draw.uniform(20, 290)
    whole = shapely.Polygon(outline)
    right, above = x + 1.4, y + 1.4

    def kept(*box: float) -> float:
        piece = whole.intersection(shapely.box(*box))
        if piece.is_empty:
            return 0.0
        x0, y0, x1, y1 = piece.bounds
        is_worth = min(x1 - x0, y1 - y0) >= 50.0 and piece.area >= 5000.0
        return float(piece.area) if is_worth else 0.0

    most = max(
        kept(right, 0, 400, 300) + kept(0, above, right - 0.2, 300),
        kept(0, above, 400, 300) + kept(right, 0, 400, above - 0.2),
    )
    assert sheet.used(x, y).film == pytest.approx(whole.area - most, abs=100.0)  # alike
