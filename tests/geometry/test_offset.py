"""Offsets: Steiner's formula, shapely chord by chord, and laws that growing and shrinking obey."""

from __future__ import annotations

import math
from collections.abc import Iterable

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from oracles import all_chords, mirrored, same_curves, scaled, shapely_offset
from shapely.geometry import Polygon
from strategies import angles, placed_regions, points, regions

from jobprep.geometry.boolean import difference, union
from jobprep.geometry.measure import area, perimeter, signed_area
from jobprep.geometry.offset import offset, offset_contour
from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Point,
    Region,
    Segment,
    circle,
    moved_region,
    polygon,
    rectangle,
    reversed_contour,
)
from jobprep.geometry.segment import midpoint, point_along, point_distance, segment_length
from jobprep.geometry.shapes import annular_sector, ring, rounded_rectangle

THIN = 1e-6
DISTANCES = st.sampled_from((0.05, 0.1, 0.25, 0.5, 1.0, 2.0)) | st.floats(0.01, 3.0)


def total(found: Iterable[Region]) -> float:
    return math.fsum(map(area, found))


def grown(given: Iterable[Region], distance: float) -> list[Region]:
    return [each for region in given for each in offset(region, distance).regions]


def outline(region: Region) -> list[Segment]:
    return [segment for contour in region.contours for segment in contour.segments]


def length_after(region: Region, distance: float) -> float:
    return perimeter(region) + 2.0 * math.pi * abs(distance) * len(region.contours)


# Exact shapes.


def test_an_annular_sector_grows_to_two_arcs_two_sides_and_four_corners() -> None:
    sector = annular_sector(6.0, 60.0, -0.5, 1.0)
    (found,) = offset(sector, 3.0).regions
    arcs = [each for each in found.outer.segments if isinstance(each, Arc)]
    sides = [each for each in found.outer.segments if isinstance(each, Line)]
    assert sorted(arc.radius for arc in arcs) == [3.0, 3.0, 3.0, 3.0, 3.0, 63.0]
    assert [arc.sweep for arc in arcs if arc.radius == 63.0] == [pytest.approx(1.0)]
    assert [segment_length(side) for side in sides] == pytest.approx([54.0, 54.0])
    assert len(found.outer.segments) == 8
    assert found.holes == ()


def test_an_annular_sector_shrinks_to_two_arcs_and_two_sides() -> None:
    """Sides move in by d: the new corners lie where asin(d / radius) says."""
    (found,) = offset(annular_sector(6.0, 60.0, -0.5, 1.0), -1.0).regions
    expected = annular_sector(7.0, 59.0, -0.5, 1.0, (1.0, 1.0))
    assert same_curves(found.outer.segments, expected.outer.segments)


def test_a_ring_grows_on_both_sides() -> None:
    (found,) = offset(ring(10.0, 20.0), 1.5).regions
    assert found == ring(8.5, 21.5)
    (found,) = offset(ring(10.0, 20.0), -1.5).regions
    assert [each.segments[0] for each in found.contours] == [
        ring(11.5, 18.5).outer.segments[0],
        Arc(Point(0.0, 0.0), 11.5, pytest.approx(0.0), -math.tau),  # type: ignore[arg-type]
    ]


def test_half_kerf_rule_of_a_cutting_services_design_page() -> None:
    """To get 2.0 x 4.0 with a kerf of 0.2 the path runs at 2.2 x 4.2 (piece), 1.8 x 3.8 (hole)."""
    (piece,) = offset_contour(rectangle(2.0, 4.0), 0.1)
    assert abs(signed_area(piece)) == pytest.approx(2.2 * 4.2 - (4.0 - math.pi) * 0.01)
    (hole,) = offset_contour(reversed_contour(rectangle(2.0, 4.0)), -0.1)
    assert signed_area(hole) == pytest.approx(-1.8 * 3.8)


def test_concave_corners_stay_sharp_and_convex_ones_turn_round() -> None:
    angle = polygon([(0, 0), (10, 0), (10, 4), (4, 4), (4, 10), (0, 10)])
    (found,) = offset_contour(angle, 1.0)
    assert sum(isinstance(each, Arc) for each in found.segments) == 5
    assert sum(isinstance(each, Line) for each in found.segments) == 6
    (found,) = offset_contour(angle, -1.0)
    assert sum(isinstance(each, Arc) for each in found.segments) == 1
    assert sum(isinstance(each, Line) for each in found.segments) == 6


@pytest.mark.parametrize("distance", [0.5, -0.5, 2.0])
def test_direction_is_kept(distance: float) -> None:
    square = rectangle(10.0, 8.0)
    (anticlockwise,) = offset_contour(square, distance)
    (clockwise,) = offset_contour(reversed_contour(square), distance)
    assert signed_area(anticlockwise) == pytest.approx(-signed_area(clockwise))
    assert (abs(signed_area(anticlockwise)) > 80.0) == (distance > 0.0)


def test_no_distance_changes_nothing() -> None:
    square = rectangle(10.0, 8.0)
    assert offset_contour(square, 0.0) == (square,)
    washer = ring(3.0, 8.0)
    assert offset(washer, 0.0) == ((washer,), ())


# Collapses.


@pytest.mark.parametrize("distance", [-1.0, -1.0000001, -1.5, -3.0, -50.0])
def test_what_is_too_narrow_vanishes(distance: float) -> None:
    for region in (
        Region(rectangle(2.0, 9.0)),
        Region(circle(Point(0.0, 0.0), 1.0)),
        ring(5.0, 7.0),
        Region(polygon([(0, 0), (3, 0), (0, 2)])),
    ):
        left = offset(region, distance)
        assert left.regions == ()
        assert left.lost == region.contours


def test_a_circle_shrunk_by_its_radius_vanishes_wherever_it_lies() -> None:
    """Rounding may make the box around it a hair wider than the circle."""
    for x in (0.0, 0.5, 7.3, 1e3):
        disc = Region(circle(Point(x, 0.1 * x), 0.635428272379757))
        assert offset(disc, -0.635428272379757).regions == ()


def test_a_closed_hole_is_reported_lost() -> None:
    holes = (
        circle(Point(-5.0, 0.0), 0.4, clockwise=True),
        circle(Point(5.0, 0.0), 2.0, clockwise=True),
    )
    grown_disc = offset(Region(circle(Point(0.0, 0.0), 20.0), holes), 0.5)
    assert grown_disc.lost == holes[:1]
    assert [len(region.holes) for region in grown_disc.regions] == [1]


def test_a_neck_parts_where_it_is_narrower_than_twice_the_distance() -> None:
    dumbbell = union(
        [
            Region(circle(Point(-10.0, 0.0), 5.0)),
            Region(circle(Point(10.0, 0.0), 5.0)),
            moved_region(Region(rectangle(20.0, 1.0)), 0.0, -10.0, -0.5),
        ]
    )[0]
    assert len(offset(dumbbell, -0.499).regions) == 1
    for distance in (-0.5, -0.501, -2.0):
        pieces = offset(dumbbell, distance).regions
        assert len(pieces) == 2
        expected = shapely_offset(dumbbell, distance, 1e-5).area
        assert total(pieces) == pytest.approx(expected, rel=1e-5)


def test_a_concave_arc_tighter_than_the_distance_leaves_no_trace() -> None:
    """A notch with a round bottom of radius 1, grown by 2, closes to straight walls' round ends."""
    notched = difference(
        Region(rectangle(20.0, 10.0)),
        [
            moved_region(Region(rectangle(2.0, 6.0)), 0.0, 9.0, 5.0),
            Region(circle(Point(10.0, 5.0), 1.0)),
        ],
    )[0]
    (found,) = offset(notched, 2.0).regions
    radii = {round(each.radius, 9) for each in found.outer.segments if isinstance(each, Arc)}
    assert radii == {2.0}
    assert area(found) == pytest.approx(shapely_offset(notched, 2.0).area, abs=1e-2)


def test_growing_closes_a_gap_and_leaves_a_hole() -> None:
    """A C with a mouth of width 1: growing it by 0.6 shuts the mouth."""
    letter = annular_sector(5.0, 8.0, 0.1, math.tau - 0.2, (0.0, 0.0))
    contours = offset_contour(letter.outer, 0.6)
    assert [signed_area(each) > 0.0 for each in contours] == [True, False]
    (found,) = offset(letter, 0.6).regions
    assert len(found.holes) == 1
    (hole,) = shapely_offset(letter, 0.6, 1e-5).interiors
    assert -signed_area(found.holes[0]) == pytest.approx(Polygon(hole).area, rel=1e-4)


def test_growing_holes_merge_and_open_to_the_outside() -> None:
    holes = (
        circle(Point(-3.0, 0.0), 2.0, clockwise=True),
        circle(Point(3.0, 0.0), 2.0, clockwise=True),
    )
    disc = Region(circle(Point(0.0, 0.0), 10.0), holes)
    assert [len(each.holes) for each in offset(disc, -0.9).regions] == [2]
    assert [len(each.holes) for each in offset(disc, -1.2).regions] == [1]
    opened = offset(disc, -2.6).regions
    assert total(opened) == pytest.approx(shapely_offset(disc, -2.6, 1e-4).area, abs=5e-3)


@pytest.mark.slow
@pytest.mark.parametrize("distance", [-1.5, -4.0, -7.0])
def test_many_holes_grow_into_each_other(distance: float) -> None:
    """More holes than are taken away at a time, here apart, overlapping, and all in one."""
    holes = tuple(
        circle(
            Point(9.0 * x + 0.3 * y, 9.0 * y - 0.2 * x), 2.0 + 0.05 * (x * y % 7), clockwise=True
        )
        for x in range(5)
        for y in range(3)
    )
    plate = Region(moved_region(Region(rectangle(110.0, 80.0)), 0.0, -20.0, -20.0).outer, holes)
    found = offset(plate, distance).regions
    assert total(found) == pytest.approx(shapely_offset(plate, distance, 1e-4).area, abs=0.1)
    together = grown([Region(reversed_contour(hole)) for hole in holes], -distance)
    (inside,) = offset(Region(plate.outer), distance).regions
    assert total(found) == pytest.approx(area(inside) - total(union(together)), rel=1e-9)


def test_an_island_is_left_where_a_hole_grows_around_it() -> None:
    """A slot that nearly closes around a disc parts it from the rest when it grows."""
    slot = reversed_contour(annular_sector(5.0, 6.0, 0.05, math.tau - 0.1).outer)
    disc = Region(circle(Point(0.0, 0.0), 10.0), (slot,))
    assert len(offset(disc, -0.1).regions) == 1
    pieces = offset(disc, -0.5).regions
    assert sorted(map(area, pieces)) == pytest.approx(
        [math.pi * 4.5**2, math.pi * (9.5**2 - 6.5**2)], rel=1e-3
    )


def test_a_cusp_counts_as_the_corner_it_is() -> None:
    """Between two circles that touch lies a corner that turns right back, inwards or outwards."""
    left, right = Point(-1.0, 0.0), Point(1.0, 0.0)
    floor = Line(Point(-1.0, -1.0), Point(1.0, -1.0))
    horn = Contour(
        (
            floor,
            Arc(right, 1.0, -math.pi / 2, -math.pi / 2),
            Arc(left, 1.0, 0.0, -math.pi / 2),
        )
    )
    horn_area = 2.0 - math.pi / 2
    assert signed_area(horn) == pytest.approx(horn_area)
    (found,) = offset_contour(horn, 0.2)
    expected = shapely_offset(Region(horn), 0.2, 1e-5).area
    assert signed_area(found) == pytest.approx(expected, abs=1e-3)
    assert offset_contour(horn, -0.15)
    frame = Region(circle(Point(0.0, 0.0), 9.0), (reversed_contour(horn),))
    assert total(offset(frame, -0.2).regions) == pytest.approx(
        shapely_offset(frame, -0.2, 1e-4).area, abs=1e-2
    )


# Laws.


@given(st.integers(3, 9), st.floats(2.0, 9.0), angles(), DISTANCES)
def test_steiners_formula_for_convex_polygons(
    number: int, radius: float, turn: float, distance: float
) -> None:
    """Area A + P d + pi d², perimeter P + 2 pi d (Jakob Steiner, 1840)."""
    convex = Region(
        polygon(
            (
                radius * math.cos(turn + i * math.tau / number),
                radius * math.sin(turn + i * math.tau / number),
            )
            for i in range(number)
        )
    )
    (found,) = offset(convex, distance).regions
    assert area(found) == pytest.approx(
        area(convex) + perimeter(convex) * distance + math.pi * distance**2
    )
    assert perimeter(found) == pytest.approx(perimeter(convex) + math.tau * distance)
    assert len(found.outer.segments) == 2 * number


@given(regions(), st.floats(0.001, 3.0))
def test_steiners_formula_is_the_most_that_growing_adds(region: Region, distance: float) -> None:
    solid = Region(region.outer)
    (found,) = offset(solid, distance).regions
    most = area(solid) + perimeter(solid) * distance + math.pi * distance**2
    assert area(solid) < area(found) <= most + 1e-9
    assert perimeter(Region(found.outer)) <= perimeter(solid) + math.tau * distance + 1e-9


@given(placed_regions(), DISTANCES, st.sampled_from((1.0, -1.0)))
def test_every_piece_lies_at_the_distance(region: Region, distance: float, way: float) -> None:
    source = outline(region)
    for left in offset(region, way * distance).regions:
        for segment in outline(left):
            for share in (0.1, 0.5, 0.9):
                point = point_along(segment, share)
                nearest = min(point_distance(each, point) for each in source)
                assert nearest == pytest.approx(distance, abs=1e-6)


@given(placed_regions(), DISTANCES, st.sampled_from((1.0, -1.0)))
def test_no_slivers(region: Region, distance: float, way: float) -> None:
    for left in offset(region, way * distance).regions:
        assert all(segment_length(each) > 1e-6 for each in outline(left))


@given(placed_regions(), st.sampled_from((0.1, 0.5, 1.0, 2.0)), st.sampled_from((1.0, -1.0)))
def test_offsets_cover_what_shapely_covers(region: Region, distance: float, way: float) -> None:
    expected = shapely_offset(region, way * distance)
    found = offset(region, way * distance).regions
    close = 5e-3 * length_after(region, distance)
    assert total(found) == pytest.approx(expected.area, abs=close)
    missed = all_chords(found).symmetric_difference(expected, grid_size=1e-9)
    assert missed.area == pytest.approx(0.0, abs=close)


@given(st.floats(1.0, 20.0), st.floats(2.0, 20.0), st.floats(0.2, 6.0), st.floats(0.01, 0.4))
def test_out_and_back_returns_the_contour(
    inner: float, width: float, sweep: float, distance: float
) -> None:
    sector = annular_sector(inner, inner + width, 0.3, sweep)
    (out,) = offset(sector, distance).regions
    assume(not out.holes)  # a mouth that growing closes is lost
    (back,) = offset(out, -distance).regions
    assume(len(out.outer.segments) == 8)
    assert same_curves(back.outer.segments, sector.outer.segments, 1e-7)


@given(placed_regions(), DISTANCES, DISTANCES)
def test_growing_twice_is_growing_by_the_sum(region: Region, a: float, b: float) -> None:
    twice, once = grown(grown([region], a), b), grown([region], a + b)
    assert total(twice) == pytest.approx(total(once), abs=THIN * length_after(region, a + b))


@given(placed_regions(), DISTANCES, DISTANCES)
def test_shrinking_twice_is_shrinking_by_the_sum(region: Region, a: float, b: float) -> None:
    twice, once = grown(grown([region], -a), -b), grown([region], -a - b)
    assert total(twice) == pytest.approx(total(once), abs=THIN * length_after(region, a + b))


@given(placed_regions(), DISTANCES)
def test_opening_stays_inside_and_closing_around(region: Region, distance: float) -> None:
    """Morphology (Jean Serra, 1982): both are idempotent, too."""
    close = THIN * length_after(region, distance)
    opened = grown(grown([region], -distance), distance)
    assert sum(total(difference(each, [region])) for each in opened) <= close
    closed = grown(grown([region], distance), -distance)
    assert total(difference(region, closed)) <= close
    assert total(grown(grown(opened, -distance), distance)) == pytest.approx(
        total(opened), abs=close
    )
    assert total(grown(grown(closed, distance), -distance)) == pytest.approx(
        total(closed), abs=close
    )


def test_sides_that_coincide_but_for_rounding_do_not_cross() -> None:
    """Where two lines cross at an angle of 1e-16 may be anywhere, so it must not be asked."""
    strip = Region(
        polygon(
            (
                (2.198321877357005, 15.57582086808938),
                (5.678866058445645, 10.542906425212783),
                (7.0688794458912, 11.504179075924435),
                (3.5883352648025615, 16.537093518801033),
            )
        )
    )
    opened = grown(grown([strip], -0.5), 0.5)
    assert sum(total(difference(each, [strip])) for each in opened) == pytest.approx(0.0)
    assert total(difference(strip, opened)) == pytest.approx((4.0 - math.pi) * 0.25)


@given(placed_regions(), placed_regions(), DISTANCES)
def test_growing_a_union_is_the_union_of_the_grown(a: Region, b: Region, d: float) -> None:
    joined_first = union(grown(union([a, b]), d))
    grown_first = union(grown([a, b], d))
    close = THIN * (length_after(a, d) + length_after(b, d))
    assert total(joined_first) == pytest.approx(total(grown_first), abs=close)


@given(regions(), DISTANCES, st.sampled_from((1.0, -1.0)), angles(), points(1000.0))
def test_moving_commutes(
    region: Region, distance: float, way: float, angle: float, to: Point
) -> None:
    moved = total(grown([moved_region(region, angle, to.x, to.y)], way * distance))
    close = THIN * length_after(region, distance)
    assert moved == pytest.approx(total(grown([region], way * distance)), abs=close)


@given(placed_regions(), DISTANCES, st.sampled_from((1e-2, 1e2)))
def test_scaling_and_mirroring_commute(region: Region, distance: float, factor: float) -> None:
    close = THIN * length_after(region, distance) * max(1.0, 1.0 / factor)
    for way in (1.0, -1.0):
        plain = total(grown([region], way * distance))
        large = total(grown([scaled(region, factor)], way * distance * factor))
        assert large / factor**2 == pytest.approx(plain, abs=close)
        assert total(grown([mirrored(region)], way * distance)) == pytest.approx(plain, abs=close)


@given(st.integers(0, 40))
def test_where_an_outline_starts_does_not_matter(start: int) -> None:
    segments = annular_sector(6.0, 60.0, 0.0, 1.0).outer.segments
    turned = Contour(segments[start % 4 :] + segments[: start % 4])
    for distance in (0.1, -0.1, 7.0, -10.0):
        found = [signed_area(each) for each in offset_contour(turned, distance)]
        same = [signed_area(each) for each in offset_contour(Contour(segments), distance)]
        assert found == pytest.approx(same)


# Outlines as drawings have them.


@pytest.mark.parametrize("distance", [0.1, -0.1, 2.0, -2.0])
def test_a_curve_of_two_thousand_chords(distance: float) -> None:
    angles_around = [i * math.tau / 2000 for i in range(2000)]
    wavy = Region(
        polygon(
            (
                (60.0 + 3.0 * math.sin(12 * a)) * math.cos(a),
                (60.0 + 3.0 * math.sin(12 * a)) * math.sin(a),
            )
            for a in angles_around
        )
    )
    (found,) = offset(wavy, distance).regions
    expected = all_chords([wavy]).buffer(distance, quad_segs=200)
    assert area(found) == pytest.approx(expected.area, rel=1e-5)


@pytest.mark.parametrize("noise", [1e-12, 1e-9, 1e-7, 1e-6])
def test_joints_that_are_smooth_but_for_noise_leave_no_slivers(noise: float) -> None:
    region = rounded_rectangle(20.0, 10.0, 2.0)
    bent = Contour(
        tuple(
            each._replace(start_angle=each.start_angle + noise / 8.0)
            if isinstance(each, Arc)
            else each
            for each in region.outer.segments
        )
    )
    for distance in (0.5, -0.5, -1.9):
        (found,) = offset_contour(bent, distance)
        assert len(found.segments) == 8
        assert signed_area(found) == pytest.approx(
            area(offset(region, distance).regions[0]), abs=1e-4
        )
    assert midpoint(bent.segments[0]) != midpoint(region.outer.segments[0])


@given(
    st.lists(st.tuples(st.integers(0, 3), st.floats(0.0, 1.0)), max_size=12),
    st.sampled_from((0.0, 1e-9, 1e-7, 1e-6, 1e-4)),
    st.sampled_from((0.1, -0.1, 1.0, -1.0)),
)
def test_repeated_and_needless_points_change_nothing(
    extra: list[tuple[int, float]], apart: float, distance: float
) -> None:
    corners = [(0.0, 0.0), (9.0, 1.0), (4.0, 4.0), (2.0, 8.0)]
    dense: list[tuple[float, float]] = []
    for side, ((x0, y0), (x1, y1)) in enumerate(
        zip(corners, corners[1:] + corners[:1], strict=True)
    ):
        shares = [share for at, share in extra if at == side]
        shares = sorted({0.0, *shares, *(min(share + apart, 1.0) for share in shares)})
        dense.extend((x0 + share * (x1 - x0), y0 + share * (y1 - y0)) for share in shares)
        dense.append(dense[-1])
    plain = total(grown([Region(polygon(corners))], distance))
    assert total(grown([Region(polygon(dense))], distance)) == pytest.approx(plain, abs=1e-5)
