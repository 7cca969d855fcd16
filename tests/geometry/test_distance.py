"""Least distances: known cases, a sampled twin, and what regions and containers must obey."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from oracles import chords, sampled_distance
from strategies import angles, placed_regions, points, regions, segments

from jobprep.geometry.boolean import intersection
from jobprep.geometry.distance import clearance, distance, path_distance, segment_distance
from jobprep.geometry.measure import area, contains, region_bounds
from jobprep.geometry.offset import offset
from jobprep.geometry.outline import (
    Arc,
    Line,
    Point,
    Region,
    Segment,
    circle,
    moved_path,
    moved_region,
    polygon,
    rectangle,
)
from jobprep.geometry.shapes import annular_sector, ring

UNIT = Arc(Point(0.0, 0.0), 1.0, 0.0, math.tau)
RIGHT_HALF = Arc(Point(0.0, 0.0), 1.0, -math.pi / 2, math.pi)


def line(x0: float, y0: float, x1: float, y1: float) -> Line:
    return Line(Point(x0, y0), Point(x1, y1))


def arc(x: float, y: float, radius: float, start_deg: float, sweep_deg: float) -> Arc:
    return Arc(Point(x, y), radius, math.radians(start_deg), math.radians(sweep_deg))


def disc(x: float, y: float, radius: float) -> Region:
    return Region(circle(Point(x, y), radius))


@pytest.mark.parametrize(
    ("a", "b", "expected"),
    [
        (line(0, 0, 4, 0), line(2, -1, 2, 1), 0.0),
        (line(0, 0, 4, 0), line(1, 2, 3, 5), 2.0),
        (line(0, 0, 4, 0), line(7, 4, 7, 9), 5.0),
        (line(0, 0, 4, 0), line(1, 3, 9, 3), 3.0),
        (line(0, 0, 4, 0), line(5, 0, 9, 0), 1.0),
        (line(0, 0, 4, 0), line(2, 0, 9, 0), 0.0),
        (line(-5, 3, 5, 3), UNIT, 2.0),  # past the circle
        (line(-5, 3, -4, 3), UNIT, 4.0),  # the foot is off the line
        (line(-0.5, 0, 0.5, 0), UNIT, 0.5),  # inside the circle
        (line(-5, 0.5, 5, 0.5), UNIT, 0.0),
        (line(-5, 1, 5, 1), UNIT, 0.0),  # tangent
        (line(-3, -5, -3, 5), RIGHT_HALF, 3.0),  # the near side is left out
        (line(-0.2, -0.2, -0.2, 0.2), RIGHT_HALF, math.hypot(0.2, 0.8)),
        (UNIT, Arc(Point(5, 0), 1.0, 0.0, math.tau), 3.0),
        (UNIT, Arc(Point(0.5, 0), 3.0, 0.0, math.tau), 1.5),  # inside another circle
        (Arc(Point(0.5, 0), 3.0, 0.0, math.tau), UNIT, 1.5),
        (UNIT, Arc(Point(0, 0), 3.0, 0.3, 0.2), 2.0),  # concentric
        (UNIT, Arc(Point(1.5, 0), 1.0, 0.0, math.tau), 0.0),
        (UNIT, Arc(Point(2, 0), 1.0, 0.0, math.tau), 0.0),  # tangent
        (RIGHT_HALF, Arc(Point(-4, 0), 1.0, -math.pi / 2, math.pi), math.sqrt(17.0) - 1.0),
        # 3, 4, 5: along the line of centres, at 53.13 degrees, whichever arc is short of a turn
        (arc(0, 0, 1, 30, 50), arc(3, 4, 1, 0, 360), 3.0),
        (arc(0, 0, 1, 0, 360), arc(3, 4, 1, -150, 50), 3.0),
        (arc(0, 0, 10, 30, 50), arc(3, 4, 1, 0, 360), 4.0),
        (arc(0, 0, 10, 0, 360), arc(3, 4, 1, 30, 50), 4.0),
        (arc(3, 4, 10, -150, 50), arc(0, 0, 1, 0, 360), 4.0),
        (arc(3, 4, 10, 0, 360), arc(0, 0, 1, -150, 50), 4.0),
        (line(7, -1, -1, 5), arc(0, 0, 1, 30, 50), 2.4),  # 3 x + 4 y = 17 is 17 / 5 off the centre
    ],
)
def test_known_distances(a: Segment, b: Segment, expected: float) -> None:
    assert segment_distance(a, b) == pytest.approx(expected, abs=1e-12)
    assert segment_distance(b, a) == pytest.approx(expected, abs=1e-12)


@given(segments(), segments())
def test_distance_is_that_of_fine_chords(a: Segment, b: Segment) -> None:
    number = 2000
    sagitta = 10.0 * (1.0 - math.cos(math.pi / number))
    assert segment_distance(a, b) == pytest.approx(
        sampled_distance(a, b, number), abs=2.0 * sagitta + 1e-6
    )


@given(segments(), segments(), angles(), points(1000.0))
def test_distance_does_not_change_when_both_move(
    a: Segment, b: Segment, angle: float, to: Point
) -> None:
    moved_a, moved_b = (moved_path((each,), angle, to.x, to.y)[0] for each in (a, b))
    assert segment_distance(moved_a, moved_b) == pytest.approx(segment_distance(a, b), abs=1e-6)


@given(regions(), regions(), points(40.0))
def test_distance_of_regions_is_shapelys(a: Region, b: Region, to: Point) -> None:
    b = moved_region(b, 0.0, to.x, to.y)
    expected = chords(a).distance(chords(b))
    assert distance(a, b) == pytest.approx(expected, abs=3e-4)
    assert distance(b, a) == pytest.approx(distance(a, b), abs=1e-12)


@given(regions(), regions(), points(40.0))
def test_distance_stops_at_the_limit(a: Region, b: Region, to: Point) -> None:
    b = moved_region(b, 0.0, to.x, to.y)
    exact = distance(a, b)
    for limit in (0.5, 5.0, 50.0):
        assert distance(a, b, limit) == min(exact, limit)


@given(placed_regions(), placed_regions())
def test_regions_that_share_area_have_no_distance(a: Region, b: Region) -> None:
    if sum(map(area, intersection(a, b))) > 1e-3:
        assert distance(a, b) == 0.0


def test_a_part_in_the_hole_of_another_has_a_distance_from_the_hole() -> None:
    outer = ring(10.0, 20.0)
    assert distance(outer, disc(1.0, 0.0, 3.0)) == pytest.approx(6.0)
    assert distance(disc(1.0, 0.0, 3.0), outer) == pytest.approx(6.0)
    assert distance(outer, disc(15.0, 0.0, 1.0)) == 0.0  # in its material
    assert distance(outer, disc(10.0, 0.0, 1.0)) == 0.0  # across the edge of the hole
    assert distance(outer, disc(0.0, 0.0, 30.0)) == 0.0  # all of it covered
    assert distance(outer, ring(25.0, 30.0)) == pytest.approx(5.0)
    assert distance(outer, ring(25.0, 30.0), 3.0) == 3.0
    assert distance(outer, disc(0.0, 0.0, 1.0), 2.0) == 2.0


@given(placed_regions(), points(30.0))
def test_a_growing_point_touches_at_the_distance(region: Region, point: Point) -> None:
    """A disc of radius r about a point is nearer than the point by just r."""
    tiny, small = (disc(point.x, point.y, radius) for radius in (1e-3, 0.1))
    if not contains(region, point) and distance(region, small) > 0.0:
        assert distance(region, tiny) - distance(region, small) == pytest.approx(0.099, abs=1e-9)


def test_path_distance_takes_open_paths() -> None:
    assert path_distance((line(0, 0, 4, 0),), (line(0, 3, 1, 2), line(1, 2, 9, 9))) == 2.0
    assert path_distance((line(0, 0, 4, 0),), (line(0, 3, 1, 2),), 1.5) == 1.5


# Clearance.

SHEET = Region(rectangle(50.0, 40.0))


def test_clearance_is_the_least_distance_to_the_edge() -> None:
    part = moved_region(annular_sector(5.0, 10.0, 0.0, math.pi / 2), 0.0, 12.0, 7.0)
    assert clearance(part, SHEET) == pytest.approx(7.0)
    assert clearance(disc(25.0, 25.0, 10.0), SHEET) == pytest.approx(5.0)
    assert clearance(disc(10.0, 10.0, 10.0), SHEET) == 0.0


@pytest.mark.parametrize("place", [(-30.0, 20.0), (0.0, 20.0), (50.0, 20.0), (9.9999, 20.0)])
def test_what_is_not_inside_has_no_clearance(place: tuple[float, float]) -> None:
    assert clearance(disc(*place, 10.0), SHEET) == -math.inf


def test_a_sheet_inside_a_part_or_in_its_hole_is_no_container() -> None:
    assert clearance(disc(25.0, 20.0, 100.0), SHEET) == -math.inf
    assert clearance(moved_region(ring(90.0, 100.0), 0.0, 25.0, 20.0), SHEET) == -math.inf


def test_a_defect_may_lie_beside_a_part_or_in_its_hole_but_not_in_it() -> None:
    sheet = Region(rectangle(50.0, 40.0), (circle(Point(25.0, 20.0), 2.0, clockwise=True),))
    washer = ring(5.0, 8.0)
    assert clearance(moved_region(washer, 0.0, 25.0, 20.0), sheet) == pytest.approx(3.0)
    assert clearance(moved_region(washer, 0.0, 27.0, 20.0), sheet) == pytest.approx(1.0)
    assert clearance(moved_region(washer, 0.0, 28.0, 20.0), sheet) == 0.0  # touches
    assert clearance(moved_region(washer, 0.0, 29.0, 20.0), sheet) == -math.inf
    assert clearance(moved_region(washer, 0.0, 31.5, 20.0), sheet) == -math.inf  # in its material
    assert clearance(moved_region(washer, 0.0, 36.0, 20.0), sheet) == pytest.approx(1.0)
    assert clearance(disc(25.0, 20.0, 1.0), sheet) == -math.inf  # in the defect


def test_a_leftover_may_have_any_outline() -> None:
    leftover = Region(polygon([(0, 0), (210, 0), (210, 180), (90, 180), (90, 297), (0, 297)]))
    assert clearance(disc(95.0, 175.0, 4.0), leftover) == pytest.approx(1.0)
    assert clearance(disc(85.0, 185.0, 4.0), leftover) == pytest.approx(1.0)
    assert clearance(disc(95.0, 185.0, 4.0), leftover) == -math.inf


@given(regions(), points(20.0))
def test_clearance_agrees_with_the_grown_part(region: Region, at: Point) -> None:
    """A part grown by less than its clearance still lies inside, by more it does not."""
    part = moved_region(region, 0.0, 25.0 + at.x, 20.0 + at.y)
    free = clearance(part, SHEET)
    x_min, y_min, x_max, y_max = region_bounds(part)
    edge = min(x_min, y_min, 50.0 - x_max, 40.0 - y_max)
    if edge > 1e-5:
        assert free == pytest.approx(edge)
        (larger,) = offset(Region(part.outer), 0.5 * free).regions
        assert clearance(larger, SHEET) == pytest.approx(0.5 * free)
    elif edge < -1e-5:
        assert free == -math.inf


@given(placed_regions())
def test_a_region_touches_itself_as_container(region: Region) -> None:
    assert clearance(region, region) == pytest.approx(0.0, abs=1e-9)
    inner = offset(region, -0.2).regions
    for each in inner:
        assert clearance(each, region) == pytest.approx(0.2, abs=1e-6)
