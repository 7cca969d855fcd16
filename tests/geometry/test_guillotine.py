"""Straight cuts part a region without loss: against closed forms and against shapely."""

import math
from collections.abc import Iterable

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from oracles import chords

from jobprep.geometry.guillotine import Division, StrayCutError, at_origin, divided, halved
from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.outline import (
    Line,
    Point,
    Region,
    circle,
    moved_region,
    polygon,
    rectangle,
    reversed_contour,
)

SHEET = Region(rectangle(508.0, 610.0))
HOOK = Region(polygon([(0, 0), (60, 0), (60, 20), (20, 20), (20, 50), (0, 50)]))
FORK = Region(polygon([(0, 0), (90, 0), (90, 50), (60, 50), (60, 20), (30, 20), (30, 50), (0, 50)]))
TORN = Region(
    rectangle(100.0, 80.0),
    (reversed_contour(polygon([(30, 30), (70, 30), (70, 50), (30, 50)])),),
)


def line(x0: float, y0: float, x1: float, y1: float) -> Line:
    return Line(Point(x0, y0), Point(x1, y1))


def boxes(regions: Iterable[Region]) -> list[tuple[float, ...]]:
    return [tuple(round(c, 9) for c in region_bounds(region)) for region in regions]


def test_a_level_cut_parts_a_sheet_in_two() -> None:
    found = halved(SHEET, 400.0, upright=False)
    assert found is not None
    assert found.cut == line(0, 400, 508, 400)
    assert boxes(found.pieces) == [(0, 0, 508, 400), (0, 400, 508, 610)]


@pytest.mark.parametrize("at", [0.0, 508.0, -1.0, 509.0])
def test_a_line_beside_a_region_is_no_cut(at: float) -> None:
    assert halved(SHEET, at, upright=True) is None


def test_a_cut_reaches_no_further_than_the_film() -> None:
    """The hook is 20 wide above 20, and a cut at that very height ends where the foot begins."""
    for at in (30.0, 20.0):
        found = halved(HOOK, at, upright=False)
        assert found is not None
        assert found.cut == line(0, at, 20, at)


def test_a_cut_across_two_arms_leaves_three_pieces() -> None:
    found = halved(FORK, 30.0, upright=False)
    assert found is not None
    assert found.cut == line(0, 30, 90, 30)
    assert boxes(found.pieces) == [(0, 0, 90, 30), (0, 30, 30, 50), (60, 30, 90, 50)]


def test_a_cut_through_a_defect_leaves_it_a_notch_on_both_sides() -> None:
    found = halved(TORN, 40.0, upright=False)
    assert found is not None
    assert found.cut == line(0, 40, 100, 40)
    assert [(len(p.holes), area(p)) for p in found.pieces] == [(0, 3600.0), (0, 3600.0)]


def test_cuts_one_after_another_part_what_is_left() -> None:
    division = divided(SHEET, [line(0, 400, 508, 400), line(400, 0, 400, 400)])
    assert boxes(division.leaves()) == [
        (0, 0, 400, 400),
        (400, 0, 508, 400),
        (0, 400, 508, 610),
    ]


@pytest.mark.parametrize(
    "cut",
    [
        line(0, 300, 400, 300),  # ends within the sheet
        line(0, 300, 600, 300),  # reaches beyond it
        line(0, 0, 508, 610),  # aslant
        line(0, 610, 508, 610),  # along its edge
        line(200, 300, 200, 300),  # a point
    ],
)
def test_a_cut_that_does_not_reach_right_across_is_refused(cut: Line) -> None:
    with pytest.raises(StrayCutError, match="straight cut 2 does not reach right across a piece"):
        divided(SHEET, [line(0, 400, 508, 400), cut])


def test_only_the_cuts_that_free_what_is_wanted_are_made() -> None:
    first, second, third = (
        line(0, 400, 508, 400),
        line(400, 0, 400, 400),
        line(300, 400, 300, 610),
    )
    division = divided(SHEET, [first, second, third])
    corner, strip, *upper = division.leaves()
    assert list(division.freeing([corner]).cuts()) == [first, second]
    assert list(division.freeing([upper[0]]).cuts()) == [first, third]
    assert list(division.freeing([strip, upper[1]]).cuts()) == [first, second, third]
    assert division.freeing([]) == Division(SHEET)


def test_of_two_cuts_side_by_side_the_first_is_left_out_where_it_frees_nothing() -> None:
    """A corner of 200 x 300 takes two cuts, whatever lay beside it; the middle strip takes both."""
    first, second = Line(Point(300, 0), Point(300, 400)), Line(Point(200, 0), Point(200, 400))
    third = Line(Point(0, 300), Point(200, 300))
    division = divided(Region(rectangle(500, 400)), [first, second, third])
    corner, above, middle, right = division.leaves()
    assert list(division.freeing([corner]).cuts()) == [second, third]
    freed = list(division.freeing([corner]).leaves())
    assert corner in freed
    assert sum(map(area, freed)) == pytest.approx(500 * 400)
    assert list(division.freeing([middle]).cuts()) == [first, second]
    assert list(division.freeing([above, right]).cuts()) == [first, second, third]


def test_a_rectangle_at_the_origin_is_plain() -> None:
    aside = moved_region(Region(rectangle(400.0, 210.0)), math.pi / 2, 300.1, 20.7)
    assert at_origin(aside) == Region(rectangle(210.0, 400.0))
    assert tuple(region_bounds(at_origin(moved_region(HOOK, 0.0, 7.0, 9.0)))) == (0, 0, 60, 50)


@st.composite
def regions(draw: st.DrawFn) -> Region:
    """Draw one of the outlines above, a slice of a disc, or a disc with a hole aside."""
    ring = Region(circle(Point(40, 40), 40.0), (circle(Point(50, 40), 20.0, clockwise=True),))
    return draw(st.sampled_from((SHEET, HOOK, FORK, TORN, ring)))


@given(
    regions(),
    st.lists(st.tuples(st.booleans(), st.floats(0.02, 0.98), st.integers(0, 9)), max_size=6),
)
def test_pieces_make_up_the_region_and_share_nothing(
    region: Region, wishes: list[tuple[bool, float, int]]
) -> None:
    """The oracle is shapely; the cuts, taken again one by one, give the same pieces."""
    cuts: list[Line] = []
    for upright, share, which in wishes:
        leaves = list(divided(region, cuts).leaves())
        leaf = leaves[which % len(leaves)]
        box = region_bounds(leaf)
        place = box.x_min + share * box.width if upright else box.y_min + share * box.height
        found = halved(leaf, place, upright=upright)
        if found is not None:
            cuts.append(found.cut)
    pieces = [chords(leaf) for leaf in divided(region, cuts).leaves()]
    whole = chords(region)
    assert math.isclose(sum(p.area for p in pieces), whole.area, rel_tol=1e-4)
    assert shapely.union_all(pieces).symmetric_difference(whole).area < 1e-3 * whole.area
    for n, one in enumerate(pieces):
        assert all(one.intersection(other).area < 1e-3 for other in pieces[n + 1 :])
