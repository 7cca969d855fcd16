"""Shared sides are cut once; every part still drops once, nominal, and nothing after it."""

import math
from itertools import pairwise
from random import Random

import pytest
import shapely
from cutting.sheets import (
    CUTTER,
    FILM,
    hole,
    less,
    placed,
    polygon_of,
    sheet_of,
    slot,
    stray_area,
)

from jobprep.cutting.motion import motion
from jobprep.cutting.packs import hold
from jobprep.cutting.plan import Cut, Operation, PlacedPart, outer_order
from jobprep.cutting.plan_cuts import plan_cuts
from jobprep.cutting.shared import RUN_ON, Shared, share_cuts
from jobprep.cutting.tabs import TabRule, add_tabs
from jobprep.geometry.outline import (
    Point,
    Region,
    circle,
    moved_contour,
    moved_region,
    rectangle,
)
from jobprep.geometry.shapes import annular_sector

KERF = 0.2
SHEET = shapely.box(-50.0, -50.0, 250.0, 250.0)


def tile(x: float, y: float, width: float = 20.0, height: float = 20.0) -> Region:
    return moved_region(Region(rectangle(width, height)), 0.0, x, y)


def tiles(columns: int, rows: int, *, holes: bool = False) -> list[PlacedPart]:
    pitch = 20.0 + KERF
    parts = []
    for row in range(rows):
        for column in range(columns):
            region = tile(pitch * column, pitch * row)
            if holes:
                middle = hole(pitch * column + 10.0, pitch * row + 10.0, 6.0)
                region = Region(region.outer, (middle,))
            parts.append(placed(region, len(parts) + 1))
    return parts


def shared(parts: list[PlacedPart], kerf: float = KERF) -> Shared:
    return share_cuts(plan_cuts(parts, kerf, CUTTER, FILM, 1).cuts, parts, kerf)


def assert_cut_right(
    cuts: tuple[Cut, ...], parts: list[PlacedPart], kerf: float = KERF, stray: float = 1e-6
) -> None:
    """Every part drops once and nominal, and no cut reaches into a piece that has dropped."""
    left: shapely.Geometry = SHEET
    dropped: list[shapely.Geometry] = []
    for cut in cuts:
        if cut.operation is Operation.MARK:
            continue
        removed = slot(cut.strokes, kerf)
        for piece in dropped:
            assert removed.intersection(piece).area < 1e-3
        pieces = shapely.get_parts(less(left, removed))
        sheet = max(pieces, key=lambda piece: piece.area)
        dropped += [piece for piece in pieces if piece is not sheet]
        left = sheet
    for part in parts:
        nominal = polygon_of(part.region)
        inside = nominal.representative_point()
        (piece,) = [each for each in dropped if each.contains(inside)]
        assert stray_area(piece, nominal) < stray


def test_what_would_drop_with_its_neighbour_is_cut_before_those_around_it() -> None:
    parts = tiles(4, 3)
    outer = {cut.part: cut for cut in plan_cuts(parts, KERF, CUTTER, FILM, 1).cuts}
    middle = [5, 6]
    around_first = [outer[part] for part in outer if part not in middle]
    around_first += [outer[part] for part in middle]
    with pytest.raises(AssertionError):  # both middle ones drop as one
        assert_cut_right(share_cuts(around_first, parts, KERF).cuts, parts)
    sheet = Region(moved_contour(rectangle(300.0, 300.0), 0.0, -50.0, -50.0))
    held = hold(around_first, parts, sheet, KERF)
    assert_cut_right(share_cuts(held, parts, KERF).cuts, parts)
    kept = [cut.part for cut in held if cut.part not in middle]
    assert kept == [cut.part for cut in around_first[:-2]]


def test_two_tiles_share_their_side() -> None:
    parts = tiles(2, 1)
    result = shared(parts)
    assert result.saved == pytest.approx(20.0 - 2.0 * RUN_ON, abs=1e-6)
    assert_cut_right(result.cuts, parts)
    whole = plan_cuts(parts, KERF, CUTTER, FILM, 1)
    once = motion(result.cuts, CUTTER, 50.0)
    assert whole.motion.cut_length - once.cut_length == pytest.approx(result.saved, abs=1e-4)
    assert once.seconds < whole.motion.seconds


@pytest.mark.parametrize("holes", [False, True])
@pytest.mark.parametrize(("columns", "rows"), [(3, 1), (2, 2), (3, 3)])
def test_tiles_in_rows_come_out_nominal(columns: int, rows: int, holes: bool) -> None:
    parts = tiles(columns, rows, holes=holes)
    result = shared(parts)
    assert_cut_right(result.cuts, parts)
    sides = (columns - 1) * rows + (rows - 1) * columns
    assert result.saved > 20.0 * sides - 0.5 * sides
    inner = [index for index, cut in enumerate(result.cuts) if cut.operation is Operation.CUT_INNER]
    assert inner == list(range(len(inner)))


def test_a_tile_all_of_whose_sides_are_cut_needs_no_cut_of_its_own() -> None:
    # the middle one is planned last: its neighbours' cuts set it free
    middle = tiles(3, 3)
    order = [0, 1, 2, 5, 8, 7, 6, 3, 4]
    outer = {cut.part: cut for cut in plan_cuts(middle, KERF, CUTTER, FILM, 0).cuts}
    result = share_cuts([outer[index] for index in order], middle, KERF)
    assert [cut.part for cut in result.cuts] == order[:-1]
    assert result.freed == tuple(order)
    assert_cut_right(result.cuts, middle)


def test_sides_that_overlap_in_part_are_shared_in_part() -> None:
    parts = [placed(tile(0.0, 0.0)), placed(tile(20.0 + KERF, 7.0), 2)]
    result = shared(parts)
    assert result.saved == pytest.approx(13.0 - 2.0 * RUN_ON, abs=1e-6)
    assert_cut_right(result.cuts, parts)


def test_a_long_side_is_shared_with_two_short_ones() -> None:
    parts = [
        placed(tile(0.0, 0.0, 20.0, 50.0)),
        placed(tile(20.0 + KERF, 0.0), 2),
        placed(tile(20.0 + KERF, 25.0), 3),
    ]
    result = shared(parts)
    assert result.saved > 39.0
    assert_cut_right(result.cuts, parts)


def test_nothing_stays_on_a_long_side_between_two_neighbours() -> None:
    # the round slots at their corners leave a nib of (1 - sqrt(3)/2) kerf on the long side
    parts = [
        placed(tile(0.0, 0.0, 20.0, 50.0)),
        placed(tile(20.0 + KERF, 0.0), 2),
        placed(tile(20.0 + KERF, 20.0 + KERF), 3),
    ]
    outer = {cut.part: cut for cut in plan_cuts(parts, KERF, CUTTER, FILM, 0).cuts}
    result = share_cuts([outer[index] for index in (1, 2, 0)], parts, KERF)
    assert result.saved > 39.0
    assert_cut_right(result.cuts, parts)


def test_sectors_share_their_radial_sides() -> None:
    # three sectors fanned out from one centre, a parallel strip of one kerf between neighbours
    parts = [
        placed(
            moved_region(annular_sector(20.0, 60.0, 0.0, 0.6, (KERF / 2.0,) * 2), 0.6 * n, 60, 60),
            n,
        )
        for n in range(3)
    ]
    result = shared(parts)
    assert result.saved == pytest.approx(2 * 40.0, abs=1.0)
    assert_cut_right(result.cuts, parts)


@pytest.mark.parametrize("gap", [KERF - 0.01, KERF + 0.01, 2.0 * KERF, 5.0])
def test_sides_at_any_other_distance_are_not_shared(gap: float) -> None:
    parts = [placed(tile(0.0, 0.0)), placed(tile(20.0 + gap, 0.0), 2)]
    planned = plan_cuts(parts, KERF, CUTTER, FILM, 1).cuts
    assert share_cuts(planned, parts, KERF) == Shared(planned, 0.0, outer_order(planned))


def test_a_knife_shares_sides_that_touch() -> None:
    parts = [placed(tile(0.0, 0.0)), placed(tile(20.0, 0.0), 2)]
    result = shared(parts, 0.0)
    assert result.saved == pytest.approx(20.0 - 2.0 * RUN_ON, abs=1e-6)


BLADE = 1e-4
"""Width of the slot of a cutter that removes nothing, mm."""


@pytest.mark.parametrize("gap", [0.0, 2e-5, 4.66e-4, 9e-4])
@pytest.mark.parametrize("angle", [0.0, 0.5828])
def test_a_knife_ends_on_the_cut_that_it_shares(gap: float, angle: float) -> None:
    """Run on beside it, the cut would leave a bridge as wide as the gap."""
    regions = [tile(0.0, 0.0), tile(20.0 + gap, 3.0)]
    parts = [placed(moved_region(region, angle, 50.0, 50.0)) for region in regions]
    result = shared(parts, 0.0)
    assert result.saved == pytest.approx(17.0 - 2.0 * RUN_ON, abs=1e-4)
    assert_cut_right(result.cuts, parts, BLADE, stray=20.0 * 2e-3)


@pytest.mark.parametrize("seed", range(12))
def test_a_knife_frees_tiles_that_all_but_touch(seed: int) -> None:
    """Sides up to 0.9 µm apart are one cut; at a corner of two such sides the cuts may not meet."""
    draw = Random(seed)
    angle, parts = draw.uniform(0.0, 6.0), []
    for row in range(3):
        for column in range(3):
            x, y = (20.0 * n + draw.uniform(0.0, 4.5e-4) + 4.5e-4 * n for n in (column, row))
            region = moved_region(tile(x, y), angle, 100.0, 100.0)
            parts.append(placed(region, len(parts) + 1))
    outer = list(plan_cuts(parts, 0.0, CUTTER, FILM, 0).cuts)
    draw.shuffle(outer)
    sheet = Region(moved_contour(rectangle(300.0, 300.0), 0.0, -50.0, -50.0))
    result = share_cuts(hold(outer, parts, sheet, 0.0), parts, 0.0)
    assert result.saved > 12 * 19.0
    assert_cut_right(result.cuts, parts, BLADE, stray=80.0 * 2e-3)


def test_parts_in_holes_are_cut_before_their_cluster() -> None:
    parts = tiles(2, 2, holes=True)
    parts.append(placed(Region(circle(Point(10.0, 10.0), 4.0), (hole(10.0, 10.0, 1.0),)), 9))
    result = shared(parts)
    assert_cut_right(result.cuts, parts)
    first = next(
        index
        for index, cut in enumerate(result.cuts)
        if cut.operation is Operation.CUT_OUTER and cut.part < 4
    )
    assert all(cut.operation is Operation.CUT_OUTER and cut.part < 4 for cut in result.cuts[first:])


def test_other_sheets_stay_as_they_are() -> None:
    parts = sheet_of(["sector", "nested", "plate", "ring"], 2)
    planned = plan_cuts(parts, KERF, CUTTER, FILM, 0).cuts
    assert share_cuts(planned, parts, KERF) == Shared(planned, 0.0, outer_order(planned))


def test_with_tabs_every_part_stays_in_the_sheet() -> None:
    parts = tiles(3, 1)
    tabbed = add_tabs(shared(parts).cuts, parts, KERF, TabRule(count=2, width=0.5))
    left: shapely.Geometry = SHEET
    for cut in tabbed.cuts:
        left = less(left, slot(cut.strokes, KERF))
    for part in parts:
        inside = polygon_of(part.region).representative_point()
        (piece,) = [each for each in shapely.get_parts(left) if each.contains(inside)]
        assert piece.area > SHEET.area / 2.0
    assert tabbed.remarks == ()


def test_strokes_of_one_contour_follow_each_other_round_it() -> None:
    parts = tiles(3, 2)
    for cut in shared(parts).cuts:
        for before, after in pairwise(cut.strokes):
            assert math.dist(before[-1].end, after[0].start) > 0.5
