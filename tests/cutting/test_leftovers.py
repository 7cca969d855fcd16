"""What is left of a sheet: exact, nothing lost, and worth keeping by the rule."""

import math
import random
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry

from jobprep.cutting.leftovers import (
    leftovers,
    remainders,
    stored_outline,
    usable,
)
from jobprep.cutting.plan import PlacedPart
from jobprep.cutting.straight_cuts import trim_strokes, trimmed
from jobprep.geometry.flatten import flatten_path
from jobprep.geometry.measure import area, perimeter, region_bounds
from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Point,
    Region,
    moved_contour,
    moved_region,
    polygon,
    rectangle,
    reversed_contour,
)
from jobprep.geometry.polygons import polygon_fault
from jobprep.geometry.shapes import annular_sector, ring
from jobprep.model import Leftovers, Nesting
from jobprep.stock.ledger import rounded

KERF = 0.2
NESTING = Nesting(web=1.0, margin=5.0, seconds=1.0, evaluations=None, seed=1)
KEEP = Leftovers(smallest_side=50.0, smallest_area=5000.0, shape="outline")
ONE_CUT = replace(KEEP, shape="trim")
STRAIGHT = replace(KEEP, shape="straight")
CELL = 60.0
FINE = 1e-4


def placed(region: Region, x: float, y: float, angle: float = 0.0) -> PlacedPart:
    return PlacedPart(number=1, name="part", copy=1, region=moved_region(region, angle, x, y))


def to_shapely(regions: tuple[Region, ...]) -> BaseGeometry:
    return shapely.union_all(
        [
            shapely.Polygon(
                flatten_path(region.outer.segments, FINE),
                [flatten_path(hole.segments, FINE) for hole in region.holes],
            )
            for region in regions
        ]
    )


def random_parts(seed: int, columns: int, rows: int) -> list[PlacedPart]:
    """Return discs, rings with a part in the hole, and sectors, one to each cell of a grid."""
    rng = random.Random(seed)
    parts = []
    for column in range(columns):
        for row in range(rows):
            place = (30.0 + CELL * column, 30.0 + CELL * row)
            kind = rng.choice(["disc", "ring", "sector", "nothing"])
            radius = rng.uniform(10.0, 28.0)
            if kind == "disc":
                parts.append(placed(ring(0.0, radius), *place))
            elif kind == "ring":
                parts.append(placed(ring(0.8 * radius, radius), *place))
                parts.append(placed(ring(1.0, 0.5 * radius), *place))
            elif kind == "sector":
                sector = annular_sector(rng.uniform(2.0, 8.0), radius, 0.0, rng.uniform(0.3, 3.0))
                parts.append(placed(sector, *place, rng.uniform(0.0, math.tau)))
    return parts


def slot_area(part: Region) -> float:
    """Return the area of the slots round a part whose corners are all convex (Steiner's formula).

    Growing by d adds P d + pi d² outside; a hole, shrunk by d, gives P d - pi d² more.
    """
    return perimeter(part) * KERF + math.pi * KERF**2 * (1 - len(part.holes))


@pytest.mark.slow
@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6), columns=st.integers(1, 4), rows=st.integers(1, 4))
def test_parts_slots_leftovers_and_scrap_are_the_sheet(seed: int, columns: int, rows: int) -> None:
    sheet = Region(rectangle(CELL * columns + 70.0, CELL * rows))
    parts = random_parts(seed, columns, rows)
    rest = remainders(sheet, parts, KERF)
    used = sum(area(part.region) + slot_area(part.region) for part in parts)
    assert sum(map(area, rest)) + used == pytest.approx(area(sheet), abs=1e-6)

    kept = leftovers(sheet, parts, KERF, KEEP, NESTING) if parts else ()
    # Shapely as oracle, on fine polygons: what is kept lies in the sheet and clear of all slots.
    grown = [to_shapely((part.region,)).buffer(KERF, quad_segs=64) for part in parts]
    expected = to_shapely((sheet,)).difference(shapely.union_all(grown))
    found = to_shapely(rest)
    tolerance = FINE * (perimeter(sheet) + 2.0 * sum(perimeter(part.region) for part in parts))
    assert found.symmetric_difference(expected).area < tolerance
    assert to_shapely(kept).difference(expected).area < tolerance
    scrap = sum(map(area, rest)) - sum(map(area, kept))
    assert scrap >= -1e-6
    assert expected.difference(to_shapely(kept)).area == pytest.approx(scrap, abs=tolerance)


def test_arcs_stay_arcs_in_what_remains() -> None:
    sheet = Region(rectangle(200.0, 100.0))
    (rest,) = remainders(sheet, [placed(ring(0.0, 30.0), 0.0, 50.0)], KERF)
    bites = [segment for segment in rest.outer.segments if isinstance(segment, Arc)]
    assert [segment.radius for segment in bites] == [pytest.approx(30.0 + KERF)]
    assert area(rest) == pytest.approx(20_000.0 - 0.5 * math.pi * 30.2**2)


def test_a_bitten_sheet_keeps_its_square_corners_and_loses_thin_strips() -> None:
    # A disc between two edges 60 apart leaves strips of 4.8 above and below it.
    sheet = Region(rectangle(200.0, 60.0))
    (piece,) = leftovers(
        sheet,
        [placed(ring(0.0, 25.0), 30.0, 30.0)],
        KERF,
        replace(KEEP, smallest_area=0.0),
        NESTING,
    )
    box = region_bounds(piece)
    assert (box.x_max, box.y_min, box.y_max) == pytest.approx((200.0, 0.0, 60.0))
    corners = {(round(s.start.x, 6), round(s.start.y, 6)) for s in piece.outer.segments}
    assert {(200.0, 0.0), (200.0, 60.0)} <= corners
    assert 55.2 - 11.0 < box.x_min < 55.2


def test_what_hangs_on_a_web_is_kept_as_two_pieces() -> None:
    sheet = Region(rectangle(300.0, 100.0))
    parts = [placed(ring(0.0, 24.0), 150.0, 26.0), placed(ring(0.0, 24.0), 150.0, 76.0)]
    (whole,) = remainders(sheet, parts, KERF)
    pieces = leftovers(sheet, parts, KERF, KEEP, NESTING)
    assert len(pieces) == 2
    assert sum(map(area, pieces)) < area(whole)


def test_the_piece_that_drops_out_of_a_ring_can_be_kept() -> None:
    sheet = Region(rectangle(200.0, 200.0))
    (piece,) = leftovers(sheet, [placed(ring(80.0, 90.0), 100.0, 100.0)], KERF, KEEP, NESTING)
    assert area(piece) == pytest.approx(math.pi * 79.8**2)


def test_a_sheet_with_no_parts_is_kept_as_it_is() -> None:
    sheet = Region(rectangle(20.0, 20.0))
    assert leftovers(sheet, [], KERF, KEEP, NESTING) == (sheet,)


@pytest.mark.parametrize(
    ("rule", "n_kept"),
    [
        (Leftovers(smallest_side=50.0, smallest_area=0.0), 1),
        (Leftovers(smallest_side=61.0, smallest_area=0.0), 0),
        (Leftovers(smallest_side=0.0, smallest_area=11_000.0), 0),
        # 60 wide, less kerf and margin on both sides, leaves 49.6 for a disc.
        (Leftovers(smallest_side=0.0, smallest_area=0.0, disc_diameter=49.5), 1),
        (Leftovers(smallest_side=0.0, smallest_area=0.0, disc_diameter=49.7), 0),
    ],
)
def test_the_rule_says_what_is_worth_keeping(rule: Leftovers, n_kept: int) -> None:
    sheet = Region(rectangle(200.0, 60.0))
    parts = [placed(ring(0.0, 25.0), 30.0, 30.0)]
    assert len(leftovers(sheet, parts, KERF, rule, NESTING)) == n_kept


def test_a_trim_lies_a_web_beyond_the_last_slot_and_takes_a_kerf() -> None:
    sheet = Region(rectangle(300.0, 200.0))
    parts = [placed(ring(0.0, 40.0), 50.0, 50.0), placed(ring(0.0, 40.0), 50.0, 140.0)]
    (cut,) = trimmed(sheet, parts, KERF, ONE_CUT, NESTING).cuts
    assert cut.is_upright
    assert cut.at == pytest.approx(90.0 + KERF + 1.0)
    (piece,) = leftovers(sheet, parts, KERF, replace(KEEP, shape="trim"), NESTING)
    assert region_bounds(piece) == pytest.approx((91.4, 0.0, 300.0, 200.0))
    ((stroke,),) = trim_strokes(sheet, cut, KERF)
    assert stroke.start == pytest.approx((91.3, 0.0))
    assert stroke.end == pytest.approx((91.3, 200.0))


def test_a_trim_runs_level_where_that_keeps_more() -> None:
    sheet = Region(rectangle(200.0, 300.0))
    (cut,), kept = trimmed(sheet, [placed(ring(0.0, 40.0), 100.0, 50.0)], KERF, ONE_CUT, NESTING)
    assert not cut.is_upright
    assert [round(area(piece)) for piece in kept] == [round(200.0 * (300.0 - 91.4))]


def test_a_trim_of_an_irregular_sheet_keeps_its_true_outline_and_defects() -> None:
    outline = polygon(((0, 0), (300, 0), (300, 100), (200, 200), (0, 200)))
    defect = reversed_contour(moved_contour(rectangle(10.0, 10.0), 0.0, 220.0, 20.0))
    sheet = Region(outline, (defect,))
    rule = replace(KEEP, shape="trim")
    (piece,) = leftovers(sheet, [placed(ring(0.0, 40.0), 50.0, 50.0)], KERF, rule, NESTING)
    assert area(piece) == pytest.approx(area(sheet) - 91.4 * 200.0)
    assert len(piece.holes) == 1


def test_a_trim_that_would_keep_nothing_keeps_nothing() -> None:
    sheet = Region(rectangle(100.0, 100.0))
    rule = replace(KEEP, shape="trim")
    assert leftovers(sheet, [placed(ring(0.0, 45.0), 50.0, 50.0)], KERF, rule, NESTING) == ()


def test_a_second_straight_cut_goes_across_what_the_first_leaves() -> None:
    sheet = Region(rectangle(300.0, 200.0))
    parts = [placed(ring(0.0, 40.0), 50.0, 50.0)]
    cuts, kept = trimmed(sheet, parts, KERF, STRAIGHT, NESTING)
    assert [(cut.is_upright, cut.at) for cut in cuts] == [
        (True, pytest.approx(91.2)),
        (False, pytest.approx(91.2)),
    ]
    assert [region_bounds(piece) for piece in kept] == [
        pytest.approx((91.4, 0.0, 300.0, 200.0)),
        pytest.approx((0.0, 91.4, 91.2, 200.0)),
    ]
    # The second ends in the middle of the first one's slot, so that the pieces come apart.
    ((first,),), ((second,),) = (trim_strokes(sheet, cut, KERF) for cut in cuts)
    assert (*first.start, *first.end) == pytest.approx((91.3, 0.0, 91.3, 200.0))
    assert (*second.start, *second.end) == pytest.approx((0.0, 91.3, 91.3, 91.3))


def test_of_cuts_that_keep_alike_those_are_made_that_leave_the_largest_piece() -> None:
    part = [placed(ring(0.0, 40.0), 50.0, 50.0)]
    for sides, is_upright in (((600.0, 200.0), True), ((200.0, 600.0), False)):
        cuts, kept = trimmed(Region(rectangle(*sides)), part, KERF, STRAIGHT, NESTING)
        assert cuts[0].is_upright == is_upright
        assert max(map(area, kept)) == pytest.approx((600.0 - 91.4) * 200.0)


def test_a_second_cut_that_would_keep_nothing_is_not_made() -> None:
    part = [placed(ring(0.0, 40.0), 50.0, 50.0)]
    cuts, kept = trimmed(Region(rectangle(300.0, 130.0)), part, KERF, STRAIGHT, NESTING)
    assert len(cuts) == len(kept) == 1
    assert trimmed(Region(rectangle(120.0, 120.0)), part, KERF, STRAIGHT, NESTING) == ((), ())


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10**6))
def test_what_the_ledger_stores_lies_inside_the_film_and_close_to_its_edge(seed: int) -> None:
    sheet = Region(rectangle(CELL * 3 + 70.0, CELL * 3))
    parts = random_parts(seed, 3, 3)
    for piece in usable(remainders(sheet, parts, KERF), 20.0):
        outline, defects = stored_outline(piece)
        stored = shapely.Polygon(outline, defects)
        true = to_shapely((piece,))
        assert stored.is_valid
        assert stored.exterior.is_ccw
        assert stored.difference(true.buffer(3.0 * FINE)).area == pytest.approx(0.0, abs=1e-9)
        assert true.difference(stored.buffer(0.0501)).area == pytest.approx(0.0, abs=1e-6)


def test_a_strip_thinner_than_any_film_is_not_stored() -> None:
    # A slot a hundred thousandth of a mm from the sheet's edge: rounding would fold the outline.
    sheet = Region(rectangle(200.0, 100.0))
    part = placed(rectangle_region(60.0, 40.0), 40.0, KERF + 1e-5)
    (piece,) = leftovers(sheet, [part], KERF, replace(KEEP, smallest_side=20.0), NESTING)
    outline, defects = stored_outline(piece)
    assert defects == ()
    rounded = shapely.Polygon([(round(x, 4), round(y, 4)) for x, y in outline])
    assert rounded.is_valid
    assert polygon_fault(outline) == ""
    assert rounded.area == pytest.approx(200 * 100 - 60.4 * 40.4, abs=1.0)


def test_the_corner_beside_a_slot_in_the_very_corner_is_stored_without_a_spike() -> None:
    """Its two points are as thin as rounding: what lay there ran back along its own edge."""
    tip = 3.4e-15
    slot = Arc(Point(KERF, KERF + tip), KERF, -math.pi / 2.0, -math.pi / 2.0)
    sides = (
        Line(Point(tip, KERF + tip), Point(0.0, 0.0)),
        Line(Point(0.0, 0.0), Point(KERF, tip)),
    )
    outline, defects = stored_outline(Region(Contour((*sides, slot))))
    assert polygon_fault(rounded(outline)) == ""
    assert defects == ()
    assert shapely.Polygon(outline).area == pytest.approx(
        (4.0 - math.pi) * KERF**2 / 4.0, abs=0.002
    )


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_what_the_ledger_stores_is_simple_as_it_is_written(data: st.DataObject) -> None:
    """Slots that all but touch the sheet's edge and each other leave strips as thin as rounding."""
    gaps = st.sampled_from([0.0, 1e-6, 1e-5, 5e-5, 1e-4, 3e-4, 1e-3, 0.01, 0.1])
    parts, x = [], 0.0
    for _ in range(data.draw(st.integers(1, 3))):
        width, height = data.draw(st.floats(10.0, 40.0)), data.draw(st.floats(10.0, 40.0))
        shape = data.draw(
            st.sampled_from(
                [
                    rectangle_region(width, height),
                    ring(0.2 * width, 0.4 * width),
                    annular_sector(0.2 * width, width, 0.1, 0.05 * height),
                ]
            )
        )
        turned = moved_region(shape, data.draw(st.sampled_from([0.0, math.pi / 2.0, 0.3])), 0, 0)
        box = region_bounds(turned)
        x += KERF + data.draw(gaps)
        parts.append(placed(turned, x - box.x_min, KERF + data.draw(gaps) - box.y_min))
        x += box.x_max - box.x_min + KERF
    sheet = Region(rectangle(200.0, 100.0))
    for piece in remainders(sheet, parts, KERF):
        outline, defects = stored_outline(piece)
        assert np.abs(np.subtract(rounded(outline), outline)).max() < 1e-12
        assert [polygon_fault(rounded(ring)) for ring in (outline, *defects)] == [""] * (
            1 + len(defects)
        )


def rectangle_region(width: float, height: float) -> Region:
    return Region(rectangle(width, height))
