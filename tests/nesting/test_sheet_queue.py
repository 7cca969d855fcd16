"""Sheets in their order: what a few of them built tell is what all of them built would."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.geometry import shapes
from jobprep.geometry.measure import area as region_area
from jobprep.geometry.outline import (
    Point,
    Region,
    circle,
    moved_region,
    polygon,
    rectangle,
    reversed_contour,
)
from jobprep.nesting import fill, sheet_queue
from jobprep.nesting.most_discs import is_convex, most_discs, most_under
from jobprep.nesting.nest import Budget, Item, Nest, Sheet, Spacing
from jobprep.nesting.search import nest_parts
from jobprep.nesting.shapes import Polygon, area, bounds, sheet_polygon
from jobprep.nesting.sheet_queue import SheetQueue

SPACINGS = (
    Spacing(gap=1.4, edge=5.2),
    Spacing(gap=1.4, edge=0.2),
    Spacing(gap=0.0, edge=0.0),
    Spacing(gap=20.0, edge=3.0),
)
sides = st.one_of(st.sampled_from((12.0, 50.0, 80.0)), st.floats(4.0, 200.0))


@st.composite
def regions(draw: st.DrawFn) -> Region:
    """Pieces of film: whole, with a bite out of a corner, pointed, with a defect; turned."""
    w, h = draw(sides), draw(sides)
    corner = draw(st.floats(0.1, 0.9))
    x, y = corner * w, draw(st.floats(0.1, 0.9)) * h
    defect = polygon([(x, y), (x + 0.05 * w, y), (x + 0.05 * w, y + 0.05 * h)])
    region = draw(
        st.sampled_from(
            [
                Region(rectangle(w, h)),
                Region(rectangle(w, h)),
                Region(polygon([(0, 0), (w, 0), (w, y), (x, y), (x, h), (0, h)])),
                Region(polygon([(0, 0), (w, 0), (x, h)])),
                Region(rectangle(w, h), (reversed_contour(defect),)),
            ]
        )
    )
    turn = draw(st.sampled_from((0.0, 0.0, 0.0, 0.4, math.pi / 2)))
    return moved_region(region, turn, draw(st.sampled_from((0.0, 30.0))), 0.0)


@st.composite
def shelves(draw: st.DrawFn) -> list[Sheet]:
    """A few pieces, some without count, some free, some alike."""
    found = [
        Sheet(
            region=region,
            count=draw(st.sampled_from((1, 1, 1, 2, 0))),
            cost=draw(st.sampled_from((1e-3 * region_area(region), 0.0, 1.0))),
            leftover=draw(st.booleans()),
        )
        for region in draw(st.lists(regions(), min_size=1, max_size=8))
    ]
    endless = [
        Sheet(region=Region(rectangle(w, 250.0)), count=None, cost=250.0 * w)
        for w in draw(st.lists(st.floats(60.0, 300.0), max_size=2))
    ]
    return draw(st.permutations(found + endless))


def all_built(sheets: list[Sheet], inset: float, most: int) -> list[int]:
    """Return the order that the outlines of all sheets give: the slow twin."""
    outlines = [sheet_polygon(sheet.region, inset) for sheet in sheets]
    usable = [n for n, outline in enumerate(outlines) if outline]
    usable.sort(key=lambda n: (not sheets[n].leftover, sheets[n].cost / area(outlines[n]), n))
    queue: list[int] = []
    for n in usable:
        count = sheets[n].count
        queue.extend([n] * (most if count is None else min(count, most)))
        if count is None:
            break
    return queue


@given(shelves(), st.sampled_from(SPACINGS), st.integers(1, 3))
def test_the_order_is_that_of_all_outlines_built(
    sheets: list[Sheet], spacing: Spacing, most: int
) -> None:
    inset = spacing.edge - 0.5 * spacing.gap
    order = all_built(sheets, inset, most)
    queue = SheetQueue(sheets, inset, most)
    assert list(queue) == order
    assert bool(queue) == bool(order)
    assert queue.has_one_kind == (len(set(order)) == 1)
    assert [n for n in range(len(sheets)) if queue.is_used(n)] == sorted(set(order))
    assert queue.ordered(range(len(sheets))) == list(dict.fromkeys(order))
    if order:
        assert queue.last() == order[-1]
    for cost in {sheet.cost for sheet in sheets}:
        assert queue.has_cheaper(cost) == any(sheets[n].cost < cost for n in order)


@given(shelves(), st.sampled_from(SPACINGS))
def test_no_outline_exceeds_its_roof(sheets: list[Sheet], spacing: Spacing) -> None:
    """And so neither does what is sorted by it, nor the number of discs."""
    inset = spacing.edge - 0.5 * spacing.gap
    queue = SheetQueue(sheets, inset, 2)
    disc = Region(circle(Point(0.0, 0.0), 7.0))
    used = set(queue)
    for n in used:
        x0, y0, x1, y1 = bounds(queue.outline(n))
        roof = queue.roofs[n]
        assert x1 - x0 <= roof.width + 1e-9
        assert y1 - y0 <= roof.height + 1e-9
        assert area(queue.outline(n)) <= roof.area * (1.0 + sheet_queue.ROUNDING)
        most = most_discs(disc, sheets[n].region, spacing)
        assert (most is not None) == is_convex(sheets[n].region)
        assert most is None or most <= most_under(disc, roof, spacing)
    rooms = [(area(queue.outline(n)), n) for n in used]
    found = list(queue.greatest(lambda roof: roof.area, lambda n: area(queue.outline(n))))
    assert found == sorted(rooms, key=lambda each: (-each[0], each[1]))


def test_a_roof_is_as_near_as_can_be_over_a_rectangle() -> None:
    """Shrunk by 5 all round, 200 × 100 is 190 × 90."""
    (roof,) = SheetQueue([Sheet(region=Region(rectangle(200, 100)))], 5.0, 1).roofs.values()
    assert roof == pytest.approx((190.0, 90.0, 190.0 * 90.0), rel=1e-6)


@pytest.mark.slow
@settings(max_examples=40)
@given(shelves(), st.sampled_from(SPACINGS), st.integers(0, 1_000_000))
def test_a_nest_is_the_same_as_when_all_is_built(
    sheets: list[Sheet], spacing: Spacing, seed: int
) -> None:
    items = random_items(Random(seed))
    budget = Budget(seconds=0.0, evaluations=(None, 2000)[seed % 2])
    short = nest_parts(items, sheets, spacing, budget)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sheet_queue, "in_order", every_value)
        patch.setattr(fill._Opened, "_holds", lambda *_: True)
        whole = nest_parts(items, sheets, spacing, budget)
    assert answer(short) == answer(whole)


def every_value(
    estimates: Iterable[tuple[object, int]], value: Callable[[int], object]
) -> Iterator[tuple[object, int]]:
    found = [(value(n), n) for _, n in estimates]
    return iter(sorted(each for each in found if each[0] is not None))  # type: ignore[type-var]


def answer(nest: Nest) -> tuple[object, ...]:
    """Return a nest but for how many spots were tried."""
    return nest.sheets, nest.placements, nest.unplaced, nest.bound


def random_items(chance: Random) -> list[Item]:
    inner = chance.uniform(4.0, 30.0)
    kinds = [
        Region(circle(Point(0.0, 0.0), chance.uniform(5.0, 60.0))),
        shapes.ring(inner, inner + chance.uniform(3.0, 20.0)),
        Region(rectangle(chance.uniform(5.0, 120.0), chance.uniform(5.0, 60.0))),
    ]
    chosen = chance.sample(kinds, chance.randint(1, 3))
    step = chance.choice((None, math.pi / 2, math.tau))
    return [Item(region=each, quantity=chance.randint(1, 4), rotation_step=step) for each in chosen]


@pytest.mark.parametrize("diameter", [60.0, 250.0], ids=["many hold it", "none holds it"])
def test_of_thousands_of_pieces_few_are_shrunk(
    diameter: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    shrunk = opened = 0

    def counted(region: Region, inset: float) -> Polygon:
        nonlocal shrunk
        shrunk += 1
        return sheet_polygon(region, inset)

    def raster(sheet: int, outline: Polygon, cell: float) -> fill.FreeCells:
        nonlocal opened
        opened += 1
        return open_raster(sheet, outline, cell)

    open_raster = fill.open_raster
    monkeypatch.setattr(sheet_queue, "sheet_polygon", counted)
    monkeypatch.setattr(fill, "open_raster", raster)
    chance = Random(1)
    sizes = [(chance.uniform(20, 240), chance.uniform(20, 240)) for _ in range(2000)]
    regions = [
        Region(rectangle(w, h))
        if n % 5
        else Region(
            polygon([(0, 0), (w, 0), (w, 0.4 * h), (0.4 * w, 0.4 * h), (0.4 * w, h), (0, h)])
        )
        for n, (w, h) in enumerate(sizes)
    ]
    sheets = [Sheet(region=each, cost=1e-3 * region_area(each), leftover=True) for each in regions]
    sheets.append(Sheet(region=Region(rectangle(508, 610)), count=None, cost=508.0 * 610.0))
    items = [Item(region=shapes.ring(0.3 * diameter, 0.5 * diameter), quantity=6)]
    nest = nest_parts(items, sheets, SPACINGS[0], Budget(seconds=0.0))
    assert nest.unplaced == (0,)
    assert shrunk <= 40
    assert opened <= 6


def test_the_roof_of_a_piece_too_narrow_has_no_height() -> None:
    queue = SheetQueue([Sheet(region=Region(rectangle(200, 10)))], 5.0, 1)
    assert queue.roofs == {}
    assert not queue
