"""Unions, differences and intersections: identities, shapely, and every way to touch."""

from __future__ import annotations

import math
import random
from collections.abc import Iterable, Sequence

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from oracles import all_chords, chords, mirrored, same_curves, scaled
from strategies import angles, placed_regions, points, regions

from jobprep.errors import CannotDoError
from jobprep.geometry import boolean
from jobprep.geometry.boolean import difference, intersection, union
from jobprep.geometry.measure import area, perimeter, signed_area
from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Point,
    Region,
    circle,
    moved_region,
    polygon,
    rectangle,
)
from jobprep.geometry.shapes import annular_sector, ring, slot_arc

THIN = 1e-6
"""What is thinner than this, mm, may go either way."""


def total(found: Iterable[Region]) -> float:
    return math.fsum(map(area, found))


def disc(x: float, y: float, radius: float) -> Region:
    return Region(circle(Point(x, y), radius))


def box(x: float, y: float, width: float, height: float) -> Region:
    return moved_region(Region(rectangle(width, height)), 0.0, x, y)


def length_of(*given: Region) -> float:
    return math.fsum(map(perimeter, given))


def assert_well_formed(found: Sequence[Region]) -> None:
    """Outer contours run anticlockwise, holes clockwise, no piece of a curve is cut in two."""
    for region in found:
        assert signed_area(region.outer) > 0.0
        assert all(signed_area(hole) < 0.0 for hole in region.holes)
        for contour in region.contours:
            pairs = zip(contour.segments, contour.segments[1:] + contour.segments[:1], strict=True)
            for a, b in pairs:
                if a is not b and isinstance(a, Arc) and isinstance(b, Arc):
                    same_way = (a.sweep > 0.0) == (b.sweep > 0.0)
                    assert not (same_way and (a.centre, a.radius) == (b.centre, b.radius))


# Identities of sets, exact to the thinnest piece.


@given(placed_regions(), placed_regions())
def test_parts_add_up(a: Region, b: Region) -> None:
    """|A| + |B| = |A or B| + |A and B|, and A is what B leaves of it and what they share."""
    either, both = union([a, b]), intersection(a, b)
    only_a, only_b = difference(a, [b]), difference(b, [a])
    close = THIN * length_of(a, b)
    assert total(either) + total(both) == pytest.approx(area(a) + area(b), abs=close)
    assert total(only_a) + total(both) == pytest.approx(area(a), abs=close)
    assert total(only_a) + total(only_b) + total(both) == pytest.approx(total(either), abs=close)
    for found in (either, both, only_a, only_b):
        assert_well_formed(found)


@given(placed_regions(), placed_regions())
def test_pieces_join_to_the_whole_again(a: Region, b: Region) -> None:
    pieces = [*difference(a, [b]), *intersection(a, b)]
    whole = union(pieces)
    assert total(whole) == pytest.approx(area(a), abs=THIN * length_of(a, b))
    assert total(difference(a, whole)) == pytest.approx(0.0, abs=THIN * length_of(a, b))


@given(placed_regions(), st.lists(placed_regions(), min_size=1, max_size=4), st.randoms())
def test_order_does_not_matter(
    region: Region, cutters: list[Region], shuffler: random.Random
) -> None:
    close = THIN * length_of(region, *cutters)
    at_once = total(difference(region, cutters))
    joined = total(union([region, *cutters]))
    shuffler.shuffle(cutters)
    one_by_one: Sequence[Region] = (region,)
    for cutter in cutters:
        one_by_one = [left for piece in one_by_one for left in difference(piece, [cutter])]
    assert total(one_by_one) == pytest.approx(at_once, abs=close)
    assert total(difference(region, cutters)) == pytest.approx(at_once, abs=close)
    assert total(union([*cutters, region])) == pytest.approx(joined, abs=close)


@given(regions(), regions(), points(5.0), angles(), points(1000.0))
def test_moving_both_moves_the_answer(
    a: Region, b: Region, apart: Point, angle: float, to: Point
) -> None:
    b = moved_region(b, 0.0, apart.x, apart.y)
    moved = [moved_region(each, angle, to.x, to.y) for each in (a, b)]
    close = THIN * length_of(a, b)
    assert total(difference(moved[0], [moved[1]])) == pytest.approx(
        total(difference(a, [b])), abs=close
    )
    assert total(union(moved)) == pytest.approx(total(union([a, b])), abs=close)


@given(placed_regions(), placed_regions(), st.sampled_from((1e-2, 1e2)))
def test_scaling_and_mirroring_both_does_so_to_the_answer(
    a: Region, b: Region, factor: float
) -> None:
    close = THIN * length_of(a, b) * max(1.0, 1.0 / factor)
    large = total(difference(scaled(a, factor), [scaled(b, factor)]))
    assert large / factor**2 == pytest.approx(total(difference(a, [b])), abs=close)
    mirror = total(intersection(mirrored(a), mirrored(b)))
    assert mirror == pytest.approx(total(intersection(a, b)), abs=close)


@given(placed_regions())
def test_a_region_with_itself(region: Region) -> None:
    assert difference(region, [region]) == ()
    for found in (union([region, region]), intersection(region, region)):
        assert total(found) == pytest.approx(area(region))
        assert len(found) == 1
        assert len(found[0].holes) == len(region.holes)


# Shapely on fine chords.


@given(placed_regions(), st.lists(placed_regions(), min_size=1, max_size=3))
def test_answers_cover_what_shapely_covers(region: Region, others: list[Region]) -> None:
    whole, cutters = chords(region), all_chords(others)
    first = chords(others[0])
    close = 5e-4 * length_of(region, *others)
    for found, expected in (
        (union([region, *others]), whole.union(cutters, grid_size=1e-9)),
        (difference(region, others), whole.difference(cutters, grid_size=1e-9)),
        (intersection(region, others[0]), whole.intersection(first, grid_size=1e-9)),
    ):
        # Where outlines touch, shapely's answer holds lines and points beside the polygons.
        surface = shapely.union_all(
            [part for part in shapely.get_parts(expected) if part.geom_type == "Polygon"]
        )
        missed = all_chords(found).symmetric_difference(surface, grid_size=1e-9)
        assert missed.area == pytest.approx(0.0, abs=close)
        assert total(found) == pytest.approx(expected.area, abs=close)


# Arcs stay arcs.


def test_arcs_keep_centre_and_radius_bit_by_bit() -> None:
    centre, radius = Point(0.1, 0.2), 1.0 / 3.0 + 7.0
    part = moved_region(annular_sector(2.0, 9.0, 0.3, 1.9), 0.7, 0.1, 0.2)
    cutter = disc(centre.x + 6.0, centre.y + 1.0, radius)
    curves = {
        (arc.centre, arc.radius)
        for region in (part, cutter)
        for arc in region.outer.segments
        if isinstance(arc, Arc)
    }
    for found in (difference(part, [cutter]), intersection(part, cutter), union([part, cutter])):
        for region in found:
            for segment in region.outer.segments:
                if isinstance(segment, Arc):
                    assert (segment.centre, segment.radius) in curves


def test_what_nothing_touches_is_returned_as_it_came() -> None:
    part = annular_sector(6.0, 60.0, 0.1, 1.0)
    hole = disc(30.0, 12.0, 2.0)
    (found,) = difference(part, [hole])
    assert found.outer == part.outer
    assert len(found.holes) == 1
    assert union([part, disc(500.0, 0.0, 1.0)])[0] == part


# Degenerate contacts, each by name.


def test_equal_sectors_join_to_a_plain_ring() -> None:
    sectors = [annular_sector(6.0, 60.0, i * math.pi / 3, math.pi / 3) for i in range(6)]
    (found,) = union(sectors)
    assert [len(contour.segments) for contour in found.contours] == [1, 1]
    assert area(found) == pytest.approx(area(ring(6.0, 60.0)))


def test_a_cutter_with_the_outer_circle_of_the_part() -> None:
    (found,) = difference(ring(6.0, 60.0), [annular_sector(40.0, 60.0, 0.2, 0.5)])
    outer = found.outer.segments
    assert len(outer) == 4
    assert area(found) == pytest.approx(area(ring(6.0, 60.0)) - 0.25 * (60.0**2 - 40.0**2))


def test_a_cutter_that_takes_everything_outside() -> None:
    (found,) = difference(ring(6.0, 60.0), [ring(40.0, 60.0)])
    assert area(found) == pytest.approx(area(ring(6.0, 40.0)))


def test_a_hole_tangent_to_an_edge_stays_a_hole() -> None:
    square = box(0.0, 0.0, 10.0, 10.0)
    (found,) = difference(square, [disc(5.0, 2.0, 2.0)])
    assert area(found) == pytest.approx(100.0 - 4.0 * math.pi)
    assert len(found.outer.segments) == 4
    assert [len(hole.segments) for hole in found.holes] == [1]


def test_a_hole_tangent_to_the_outer_circle_stays_a_hole() -> None:
    (found,) = difference(disc(0.0, 0.0, 10.0), [disc(7.0, 0.0, 3.0)])
    assert [len(contour.segments) for contour in found.contours] == [1, 1]


def test_holes_tangent_to_each_other_stay_two() -> None:
    (found,) = difference(disc(0.0, 0.0, 10.0), [disc(2.0, 0.0, 2.0), disc(-2.0, 0.0, 2.0)])
    assert len(found.holes) == 2
    assert area(found) == pytest.approx((100.0 - 8.0) * math.pi)


def test_a_hole_tangent_to_a_bore_parts_nothing() -> None:
    (found,) = difference(ring(5.0, 20.0), [disc(7.0, 0.0, 2.0)])
    assert area(found) == pytest.approx((400.0 - 25.0 - 4.0) * math.pi)


def test_squares_that_touch_in_a_corner_stay_two() -> None:
    found = union([box(0.0, 0.0, 1.0, 1.0), box(1.0, 1.0, 1.0, 1.0)])
    assert [len(region.outer.segments) for region in found] == [4, 4]


def test_four_squares_around_a_square_hole() -> None:
    """Neighbours share a corner only, so the middle is open to the outside through points."""
    around = [box(1, 0, 1, 1), box(2, 1, 1, 1), box(1, 2, 1, 1), box(0, 1, 1, 1)]
    found = union(around)
    assert total(found) == pytest.approx(4.0)
    assert_well_formed(found)


def test_squares_with_a_common_side_join_without_a_joint() -> None:
    (found,) = union([box(0.0, 0.0, 2.0, 3.0), box(2.0, 0.0, 5.0, 3.0)])
    assert len(found.outer.segments) == 4
    assert area(found) == pytest.approx(21.0)


def test_squares_with_part_of_a_side_in_common() -> None:
    (found,) = union([box(0.0, 0.0, 2.0, 3.0), box(2.0, 1.0, 5.0, 1.0)])
    assert len(found.outer.segments) == 8


def test_sector_sides_on_the_flats_of_a_bore() -> None:
    """A square bore whose flat lies on the sector's sides."""
    part = annular_sector(0.0, 60.0, 0.0, math.pi / 2)
    bore = box(0.0, 0.0, 5.0, 5.0)
    (found,) = difference(part, [bore])
    assert area(found) == pytest.approx(math.pi * 900.0 - 25.0)
    assert len(found.outer.segments) == 5
    half = annular_sector(6.0, 60.0, 0.0, math.pi)
    (found,) = difference(half, [box(-8.0, 0.0, 16.0, 8.0)])
    assert area(found) == pytest.approx(0.5 * math.pi * (3600.0 - 36.0) - (128.0 - 18.0 * math.pi))


def test_two_halves_cut_from_a_disc_leave_nothing() -> None:
    halves = [annular_sector(0.0, 10.0, angle, math.pi) for angle in (0.0, math.pi)]
    assert difference(disc(0.0, 0.0, 10.0), halves) == ()
    (left,) = difference(disc(0.0, 0.0, 10.0), halves[:1])
    assert area(left) == pytest.approx(50.0 * math.pi)


def test_a_cutter_inside_and_one_around() -> None:
    part = disc(0.0, 0.0, 5.0)
    assert difference(part, [disc(1.0, 0.0, 20.0)]) == ()
    (found,) = difference(disc(1.0, 0.0, 20.0), [part])
    assert len(found.holes) == 1
    (found,) = intersection(part, disc(1.0, 0.0, 20.0))
    assert same_curves(found.outer.segments, part.outer.segments)


def test_a_part_in_the_hole_of_another() -> None:
    outer, inner = ring(10.0, 20.0), ring(3.0, 5.0)
    assert sorted(len(each.holes) for each in union([outer, inner])) == [1, 1]
    assert intersection(outer, inner) == ()
    assert difference(outer, [inner]) == (outer,)
    target = union([outer, inner, disc(0.0, 0.0, 1.0)])
    assert sorted(len(each.holes) for each in target) == [0, 1, 1]


def test_a_cutter_may_have_holes() -> None:
    (outside, inside) = sorted(difference(disc(0, 0, 10), [ring(4.0, 6.0)]), key=area)[::-1]
    assert area(outside) == pytest.approx(64.0 * math.pi)
    assert area(inside) == pytest.approx(16.0 * math.pi)


def test_cutters_that_overlap_each_other_cut_once() -> None:
    cross = [box(4.0, -1.0, 2.0, 12.0), box(-1.0, 4.0, 12.0, 2.0)]
    found = difference(box(0.0, 0.0, 10.0, 10.0), cross)
    assert len(found) == 4
    assert [area(each) for each in found] == pytest.approx([16.0] * 4)


def test_a_slot_with_a_side_on_a_circle_of_the_part() -> None:
    slot = slot_arc(9.0, 0.0, 6.0, 2.0)
    (found,) = difference(ring(2.0, 10.0), [slot])
    assert area(found) == pytest.approx(area(ring(2.0, 10.0)) - area(slot), abs=1e-6)


def test_a_full_circle_crossed_at_its_own_seam() -> None:
    """A circle starts at its rightmost point, and there the other outline has a corner."""
    wedge = Region(polygon([(10.0, 0.0), (20.0, -5.0), (20.0, 5.0)]))
    (found,) = union([disc(0.0, 0.0, 10.0), disc(10.0, 0.0, 3.0), wedge])
    assert_well_formed([found])
    assert area(found) == pytest.approx(chords(found, 1e-6).area, abs=1e-4)
    pieces = union([disc(0.0, 0.0, 10.0), wedge])
    assert len(pieces) == 2  # they touch in a point


def test_joints_a_micrometre_thousandth_open_are_one_joint() -> None:
    corners = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
    gap = 8e-7
    sides = [
        Line(Point(x0 + gap, y0), Point(x1, y1 - gap / 2))
        for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True)
    ]
    loose = Region(Contour(tuple(sides)))
    (found,) = difference(loose, [disc(0.0, 0.0, 3.0), disc(10.0, 5.0, 1.0)])
    assert area(found) == pytest.approx(100.0 - 9.0 * math.pi / 4 - math.pi / 2, abs=1e-4)


def shaken_sectors(noise: float, chance: random.Random) -> list[Region]:
    return [
        moved_region(
            annular_sector(6.0, 60.0, i * math.pi / 4, math.pi / 4),
            noise * chance.uniform(-0.1, 0.1),
            noise * chance.uniform(-1.0, 1.0),
            noise * chance.uniform(-1.0, 1.0),
        )
        for i in range(8)
    ]


def assert_sectors_join(sectors: list[Region], noise: float) -> None:
    close = 1e-6 + 1e3 * noise  # strips of that width along eight sides and two circles
    assert total(union(sectors)) == pytest.approx(area(ring(6.0, 60.0)), abs=close)
    assert total(difference(ring(6.0, 60.0), sectors)) == pytest.approx(0.0, abs=close)


@pytest.mark.parametrize("noise", [0.0, 1e-12, 1e-9, 1e-8, 5e-8, 1e-7, 2e-7, 3e-7, 1e-6, 1e-5])
def test_shared_edges_may_be_off_by_any_small_amount(noise: float) -> None:
    """Ring sectors, each turned and shifted a little, still join to about the ring."""
    chance = random.Random(7)
    for _ in range(20):
        assert_sectors_join(shaken_sectors(noise, chance), noise)


def test_edges_that_contradict_each_other_are_judged_more_widely(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    refused = 0
    for noise, seed in ((2e-7, 89), (4e-7, 13), (5e-7, 115), (6e-7, 58)):
        sectors = shaken_sectors(noise, random.Random(seed))
        assert_sectors_join(sectors, noise)
        with monkeypatch.context() as narrow:
            narrow.setattr(boolean, "TOLERANCES", boolean.TOLERANCES[:1])
            try:
                assert_sectors_join(sectors, noise)
            except CannotDoError as error:
                assert "outlines run too close to each other near (" in str(error)
                refused += 1
    assert refused  # all four where sines are rounded as here


def test_where_circles_touch_from_outside_their_edges_run_opposite_ways() -> None:
    """The box crosses both circles where less than the tolerance parts them."""
    left, right = disc(0.0, 0.0, 3.5), disc(5.0, 0.0, 1.5)
    bridge = box(3.0, -2e-4, 1.0, 4e-4)
    joined = total(union([left, right, bridge]))
    assert joined == pytest.approx(area(left) + area(right), abs=1e-6)
    cut = total(difference(left, [right, bridge]))
    assert cut == pytest.approx(area(left) - 0.5 * 4e-4, abs=1e-6)


@pytest.mark.parametrize("slope", [0.01, 0.03, 0.1, 0.3, 1.0])
@pytest.mark.parametrize("place", [-3e-4, -1e-4, 0.0, 2e-4, 4e-4])
def test_a_third_outline_may_cross_where_two_touch(slope: float, place: float) -> None:
    """A lid on a disc, and a wedge whose flat side runs through where they touch."""
    touching = [disc(0.0, 0.0, 1.0), box(-2.0, 1.0, 4.0, 1.0)]
    wedge = Region(
        polygon([(place - 1.0, 1.0 - slope), (place + 1.0, 1.0 + slope), (place, 1.5 + slope)])
    )
    for others in (touching, touching[::-1]):
        apart = [total(intersection(each, wedge)) for each in others]
        assert total(union([*others, wedge])) == pytest.approx(
            sum(map(area, others)) + area(wedge) - sum(apart), abs=1e-6
        )
        assert total(difference(wedge, others)) == pytest.approx(area(wedge) - sum(apart), abs=1e-6)


def test_a_hole_belongs_to_the_piece_it_touches() -> None:
    """The middle of the hole's longest arc is where it touches the outer circle."""
    outer, cutter = ring(2.0, 5.5), moved_region(ring(2.0, 2.5), math.pi, 3.0, 0.0)
    found = difference(outer, [cutter])
    assert total(found) == pytest.approx(area(outer) - total(intersection(outer, cutter)))
    assert sorted(len(each.holes) for each in found) == [0, 1]


def test_five_hundred_and_forty_openings() -> None:
    openings = [
        annular_sector(radius, radius + 8.0, math.radians(2.0 * i), math.radians(1.2))
        for radius in (20.0, 35.0, 50.0)
        for i in range(180)
    ]
    (found,) = difference(ring(6.0, 60.0), openings)
    assert len(found.holes) == 541
    assert area(found) == pytest.approx(area(ring(6.0, 60.0)) - total(openings))


@pytest.mark.parametrize("many", [False, True])
def test_a_side_that_is_level_but_for_rounding_says_nothing_of_what_lies_beside_it(
    many: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Its ends lay on one side of the axis, one of its nodes on the other.

    Where a ray met it was then extrapolated far beyond both ends, and the bore of the other region,
    which lies outside the quarter ring, was cut out of that.
    """
    if many:
        monkeypatch.setattr("jobprep.geometry.winding.MANY", 0)
    r = 42.411539159950266
    middle = Point(0.0, 0.0)
    quarter = Region(
        Contour(
            (
                Line(Point(2.596957783957286e-15, -r), Point(9.18485099360515e-16, -15.0)),
                Arc(middle, 15.0, -math.pi / 2.0, -math.pi / 2.0),
                Line(Point(-15.0, -1.83697019872103e-15), Point(-r, -5.193915567914572e-15)),
                Arc(middle, r, math.pi, math.pi / 2.0),
            )
        )
    )
    (found,) = intersection(quarter, ring(3.0, 60.0))
    assert found.holes == ()
    assert area(found) == pytest.approx(math.pi * (r * r - 225.0) / 4.0, rel=1e-12)
