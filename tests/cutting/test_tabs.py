"""Tabs hold every part in the sheet, where they harm least, and nothing is lost but the gaps."""

import itertools
import math
from dataclasses import replace

import pytest
import shapely
from cutting.sheets import (
    CONCAVE_CORNERS,
    CUTTER,
    FILM,
    less,
    placed,
    polygon_of,
    sheet_of,
    sheets,
    slot,
    square_hole,
    stray_area,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.cutting.motion import motion
from jobprep.cutting.plan import Cut, Operation, PlacedPart
from jobprep.cutting.plan_cuts import plan_cuts
from jobprep.cutting.tabs import Tabbed, TabRule, add_tabs
from jobprep.geometry.outline import Contour, Line, Point, Region, circle, moved_region, rectangle
from jobprep.geometry.shapes import annular_sector

KERF = 0.12


def cut_with_tabs(parts: list[PlacedPart], count: int = 3, width: float = 0.5) -> Tabbed:
    planned = plan_cuts(parts, KERF, CUTTER, FILM, 0)
    return add_tabs(planned.cuts, parts, KERF, TabRule(count=count, width=width))


def outer_cuts(tabbed: Tabbed) -> list[Cut]:
    return [cut for cut in tabbed.cuts if cut.operation is Operation.CUT_OUTER]


def radii_of_gaps(cut: Cut, centre: Point) -> list[float]:
    """How far from a centre the middles of a cut's gaps lie."""
    radii = []
    for before, after in zip(cut.strokes, cut.strokes[1:] + cut.strokes[:1], strict=True):
        (x0, y0), (x1, y1) = before[-1].end, after[0].start
        radii.append(math.dist(centre, ((x0 + x1) / 2.0, (y0 + y1) / 2.0)))
    return radii


@settings(max_examples=12, deadline=None)
@given(parts=sheets, count=st.integers(2, 4))
def test_every_part_stays_in_the_sheet_until_its_tabs_are_broken(
    parts: list[PlacedPart], count: int
) -> None:
    tabbed = cut_with_tabs(parts, count)
    cuts = [cut for cut in tabbed.cuts if cut.operation is not Operation.MARK]
    strokes = tuple(stroke for cut in cuts for stroke in cut.strokes)
    left = less(shapely.box(-20.0, -20.0, 400.0, 400.0), slot(strokes, KERF))
    inside = [polygon_of(part.region).representative_point() for part in parts]
    (sheet,) = [
        piece for piece in shapely.get_parts(left) if piece.contains(shapely.Point(-19.0, -19.0))
    ]
    assert all(sheet.contains(point) for point in inside)

    # broken out: the gaps are cut as well
    bridges = [
        shapely.LineString([before[-1].end, after[0].start])
        for cut in cuts
        for before, after in zip(cut.strokes, cut.strokes[1:] + cut.strokes[:1], strict=True)
    ]
    short = [bridge.buffer(KERF / 2.0 + 1e-3) for bridge in bridges if bridge.length < 1.0]
    left = less(left, shapely.union_all(short))
    pieces = list(shapely.get_parts(left))
    for part, point in zip(parts, inside, strict=True):
        (piece,) = [each for each in pieces if each.contains(point)]
        nominal = polygon_of(part.region)
        assert stray_area(piece, nominal, 3e-3) < CONCAVE_CORNERS


def test_each_tab_is_as_wide_as_asked_and_its_gap_one_kerf_longer() -> None:
    parts = [placed(Region(rectangle(40.0, 30.0)))]
    (cut,) = cut_with_tabs(parts, count=2, width=0.4).cuts
    assert len(cut.strokes) == 2
    first, second = (slot((stroke,), KERF) for stroke in cut.strokes)
    assert first.distance(second) == pytest.approx(0.4, abs=1e-6)
    whole = plan_cuts(parts, KERF, CUTTER, FILM, 0).motion.cut_length
    tabbed = motion([cut], CUTTER, 50.0)
    assert whole - tabbed.cut_length == pytest.approx(2 * (0.4 + KERF))
    assert tabbed.pierces == 2


def test_a_sector_is_held_on_its_inner_arc_first_and_then_on_the_rim() -> None:
    part = placed(annular_sector(15.0, 60.0, 0.0, 1.0))
    for count, wanted in ((1, [15.0]), (2, [15.0, 60.0]), (3, [15.0, 60.0, 60.0])):
        (cut,) = cut_with_tabs([part], count).cuts
        assert sorted(radii_of_gaps(cut, Point(0.0, 0.0))) == pytest.approx(wanted, abs=0.1)


def test_a_pie_without_an_inner_arc_is_held_on_its_rim() -> None:
    (cut,) = cut_with_tabs([placed(annular_sector(0.0, 60.0, 0.0, 1.0))], 2).cuts
    assert radii_of_gaps(cut, Point(0.0, 0.0)) == pytest.approx([60.0, 60.0], abs=0.1)


def test_the_sides_of_a_sector_are_the_last_resort_and_that_is_said() -> None:
    narrow = placed(annular_sector(4.0, 60.0, 0.0, 0.03), 3, "red 2")
    tabbed = cut_with_tabs([narrow], 2)
    radii = radii_of_gaps(tabbed.cuts[0], Point(0.0, 0.0))
    assert all(5.0 < radius < 59.0 for radius in radii)
    assert tabbed.remarks == (
        "part 3 (red 2), copy 1: held by tabs on a side where light passes the joint",
    )


def test_what_is_too_short_gets_none_and_that_is_said() -> None:
    tabbed = cut_with_tabs([placed(Region(rectangle(2.0, 2.0)))], 2)
    assert len(tabbed.cuts[0].strokes) == 1
    assert tabbed.remarks == (
        "part 1 (plate), copy 1: too short for tabs, it drops when it is cut",
    )


def test_what_is_true_of_many_copies_is_said_once() -> None:
    small = Region(rectangle(2.0, 2.0))
    parts = [
        replace(placed(moved_region(small, 0.0, 10.0 * copy, 0.0)), copy=copy)
        for copy in (1, 2, 3, 5, 6, 8)
    ]
    assert cut_with_tabs(parts, 2).remarks == (
        "part 1 (plate), copies 1–3, 5, 6, 8: too short for tabs, it drops when it is cut",
    )


def test_a_rectangle_is_held_on_its_two_long_sides() -> None:
    (cut,) = cut_with_tabs([placed(Region(rectangle(40.0, 10.0)))], 2).cuts
    ends = [stroke[-1].end for stroke in cut.strokes]
    assert sorted(end.y for end in ends) == pytest.approx([-KERF / 2.0, 10.0 + KERF / 2.0])
    assert all(10.0 < end.x < 30.0 for end in ends)


def test_tabs_stay_off_a_side_with_a_neighbour_at_one_kerf() -> None:
    left = placed(Region(rectangle(20.0, 20.0)), 1)
    right = placed(moved_region(left.region, 0.0, 20.0 + KERF, 0.0), 2)
    tabbed = cut_with_tabs([left, right], 4)
    assert tabbed.remarks == ()  # the fourth finds room on another side
    for cut in tabbed.cuts:
        assert len(cut.strokes) == 4
        for stroke in cut.strokes:
            assert abs(stroke[-1].end.x - (20.0 + KERF / 2.0)) > 1.0


def test_tabs_that_move_to_the_same_bit_of_film_do_not_run_together() -> None:
    bar = placed(Region(rectangle(30.0, 1.0)), 1)
    neighbours = [  # one kerf off both sides, but for the 2 mm in their middle
        placed(moved_region(Region(rectangle(14.0, 5.0)), 0.0, x, y), number)
        for number, (x, y) in enumerate(
            itertools.product((0.0, 16.0), (1.0 + KERF, -5.0 - KERF)), 2
        )
    ]
    tabbed = cut_with_tabs([bar, *neighbours], 8)
    assert "part 1 (plate), copy 1: 2 of 8 tabs, for want of room" in tabbed.remarks
    cut = next(cut for cut in tabbed.cuts if cut.part == 0)
    assert len(cut.strokes) == 2  # one tab to each long side; there is room for no more
    first, second = (slot((stroke,), KERF) for stroke in cut.strokes)
    assert first.distance(second) == pytest.approx(0.5, abs=1e-6)


@pytest.mark.parametrize("width", [KERF + 0.05, 2.0 * KERF, 0.6, 2.0])
def test_no_tab_stands_in_a_slot_of_its_own_part_where_the_other_side_is_cut_too(
    width: float,
) -> None:
    left = [(0.0, 0.0), (20.0, 0.0), (20.0, 16.0), (10.0, 16.0)]
    right = [(10.0, 2.0), (10.0 - width, 2.0), (10.0 - width, 16.0), (0.0, 16.0)]
    points = [Point(x, y) for x, y in left + right]
    outline = Contour(tuple(map(Line, points, points[1:] + points[:1])))
    tabbed = cut_with_tabs([placed(Region(outline))], 6, 0.4)
    (cut,) = tabbed.cuts
    assert len(cut.strokes) == 6
    assert tabbed.remarks == ()
    swept = slot(cut.strokes, KERF)
    middles = [
        shapely.LineString([before[-1].end, after[0].start]).centroid
        for before, after in itertools.pairwise((*cut.strokes, cut.strokes[0]))
    ]
    # half a tab's width each way from its middle, all is film
    assert min(swept.distance(middle) for middle in middles) == pytest.approx(0.2, abs=1e-6)


def gap_middles(cut: Cut) -> list[Point]:
    return [
        Point(
            (before[-1].end.x + after[0].start.x) / 2.0, (before[-1].end.y + after[0].start.y) / 2.0
        )
        for before, after in zip(cut.strokes, (*cut.strokes[1:], cut.strokes[0]), strict=True)
    ]


@pytest.mark.parametrize(("away", "is_end"), [(0.0, True), (1.5 * KERF, True), (2.0, False)])
def test_a_tab_holds_on_nothing_that_a_trim_or_the_sheets_edge_takes_away(
    away: float, is_end: bool
) -> None:
    parts = [placed(Region(rectangle(40.0, 30.0)))]
    planned = plan_cuts(parts, KERF, CUTTER, FILM, 0)
    end = (Line(Point(-9.0, 30.0 + KERF / 2.0 + away), Point(60.0, 30.0 + KERF / 2.0 + away)),)
    (cut,) = add_tabs(planned.cuts, parts, KERF, TabRule(count=4, width=0.5), (end,)).cuts
    assert len(cut.strokes) == 4
    assert any(middle.y > 29.0 for middle in gap_middles(cut)) is not is_end


def test_holes_are_cut_whole_unless_parts_lie_in_them() -> None:
    frame = Region(rectangle(40.0, 40.0), (square_hole(20.0, 20.0, 20.0),))
    alone = cut_with_tabs([placed(frame)], 2)
    inner = [cut for cut in alone.cuts if cut.operation is Operation.CUT_INNER]
    assert [len(cut.strokes) for cut in inner] == [1]
    assert alone.remarks == ()
    filled = cut_with_tabs([placed(frame), placed(Region(circle(Point(20.0, 20.0), 5.0)), 2)], 2)
    inner = [cut for cut in filled.cuts if cut.operation is Operation.CUT_INNER]
    assert [len(cut.strokes) for cut in inner] == [2]
    assert filled.remarks == (
        "part 1 (plate), copy 1: held by tabs in a hole, because other parts lie in it",
    )


def test_a_disc_is_held_all_round_and_its_cut_begins_at_a_tab_near_the_planned_start() -> None:
    part = placed(Region(circle(Point(50.0, 50.0), 20.0)))
    planned = plan_cuts([part], KERF, CUTTER, FILM, 0).cuts[0]
    (cut,) = cut_with_tabs([part], 4).cuts
    starts = [stroke[0].start for stroke in cut.strokes]
    nearest = min(starts, key=lambda start: math.dist(start, planned.strokes[0][0].start))
    assert starts[0] == nearest
    for before, after in itertools.pairwise(starts):
        assert math.dist(before, after) == pytest.approx(20.06 * math.sqrt(2.0), rel=1e-6)


def test_no_outer_cut_keeps_more_than_it_is_asked_to() -> None:
    for cut in outer_cuts(cut_with_tabs(sheet_of(["sector", "plate", "ring"], 3), 3)):
        assert len(cut.strokes) == 3
