"""Polygons around and inside outlines: they contain, are contained, and stay near."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from oracles import sampled
from shapely.geometry import LineString, Polygon
from strategies import placed_regions, segments

from jobprep.geometry.flatten import (
    Polygons,
    flatten_alike,
    flatten_inside,
    flatten_outside,
    flatten_path,
)
from jobprep.geometry.measure import area, contains, encloses, perimeter, signed_area
from jobprep.geometry.outline import (
    JOIN_TOLERANCE,
    Arc,
    Contour,
    Line,
    Point,
    Region,
    circle,
    rectangle,
)
from jobprep.geometry.segment import point_distance
from jobprep.geometry.shapes import annular_sector, ring, rounded_rectangle, slot_arc

TOLERANCES = st.sampled_from((0.001, 0.01, 0.05, 0.2))


def as_shape(polygons: Polygons) -> Polygon:
    return Polygon(polygons.outer, polygons.holes)


def signed(points: tuple[Point, ...]) -> float:
    return signed_area(Contour(tuple(map(Line, points, points[1:] + points[:1]))))


@pytest.mark.parametrize(("tolerance", "number"), [(0.05, 100), (0.01, 223)])
def test_chords_of_a_circle_elementary(tolerance: float, number: int) -> None:
    """N >= pi / acos(1 - s / R) for R = 100."""
    points = flatten_path(circle(Point(0.0, 0.0), 100.0).segments, tolerance)
    assert len(points) == number


@pytest.mark.parametrize(
    ("number", "sagitta"),
    [(16, 1.921471), (32, 0.481527), (64, 0.120454), (128, 0.030118), (360, 0.003808)],
)
def test_chord_heights_elementary(number: int, sagitta: float) -> None:
    """s = R (1 - cos(pi / N)): a hair more tolerance than printed takes just N chords."""
    path = circle(Point(0.0, 0.0), 100.0).segments
    assert len(flatten_path(path, sagitta + 1e-6)) == number
    assert len(flatten_path(path, sagitta - 1e-6)) == number + 1


@pytest.mark.parametrize(("number", "ratio"), [(64, 0.9983944), (360, 0.9999492)])
def test_chord_areas_elementary(number: int, ratio: float) -> None:
    """Area of the polygon over that of the circle: N sin(2 pi / N) / (2 pi)."""
    sagitta = 100.0 * (1.0 - math.cos(math.pi / number))
    points = flatten_path(circle(Point(0.0, 0.0), 100.0).segments, sagitta + 1e-9)
    assert signed(points) / (math.pi * 1e4) == pytest.approx(ratio, abs=1e-7)


@given(segments(), TOLERANCES)
def test_chords_of_a_path_stay_within_tolerance(segment: Line | Arc, tolerance: float) -> None:
    points = flatten_path((segment,), tolerance)
    assert points[0] == segment.start
    is_closed = math.dist(segment.start, segment.end) <= JOIN_TOLERANCE
    ends = (*points, points[0]) if is_closed else points
    assert math.dist(ends[-1], segment.end) < 1e-9
    chain = LineString(ends)
    assert max(chain.distance(LineString((p, p))) for p in sampled(segment, 500)) <= (
        tolerance + 1e-9
    )


def test_the_end_of_a_closed_path_is_not_repeated() -> None:
    square = rectangle(2.0, 2.0).segments
    assert flatten_path(square, 0.1) == ((0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0))
    assert flatten_path(square[:3], 0.1)[-1] == (0.0, 2.0)


def outline_samples(region: Region) -> list[Point]:
    return [
        point
        for contour in region.contours
        for segment in contour.segments
        for point in sampled(segment, 240)
    ]


def edge_samples(polygons: Polygons) -> list[Point]:
    return [
        point
        for corners in (polygons.outer, *polygons.holes)
        for edge in map(Line, corners, corners[1:] + corners[:1])
        for point in sampled(edge, 12)
    ]


def depth(region: Region, point: Point) -> float:
    """Return how deep inside a region a point lies, 0 outside."""
    if not encloses(region.outer, point) or any(encloses(hole, point) for hole in region.holes):
        return 0.0
    segments = [segment for contour in region.contours for segment in contour.segments]
    return min(point_distance(each, point) for each in segments)


@given(placed_regions(), TOLERANCES)
def test_outside_contains_the_arcs_not_only_their_ends(region: Region, tolerance: float) -> None:
    polygons = flatten_outside(region, tolerance)
    assume(as_shape(polygons).is_valid)  # gaps narrower than the tolerance may close
    outline = shapely.points(outline_samples(region))
    assert shapely.distance(as_shape(polygons), outline).max() <= 1e-9
    assert max(depth(region, point) for point in edge_samples(polygons)) <= 1e-9


@given(placed_regions(), TOLERANCES)
def test_inside_is_contained(region: Region, tolerance: float) -> None:
    polygons = flatten_inside(region, tolerance)
    assume(as_shape(polygons).is_valid)
    assert all(contains(region, point) for point in edge_samples(polygons))
    within = as_shape(polygons).buffer(-1e-9)
    assert not shapely.intersects(within, shapely.points(outline_samples(region))).any()


@given(placed_regions(), TOLERANCES)
def test_both_stay_within_tolerance_of_the_outline(region: Region, tolerance: float) -> None:
    segments = [segment for contour in region.contours for segment in contour.segments]
    for polygons in (flatten_outside(region, tolerance), flatten_inside(region, tolerance)):
        for point in edge_samples(polygons):
            assert min(point_distance(each, point) for each in segments) <= tolerance + 1e-9


@given(placed_regions())
def test_area_error_falls_in_proportion_to_the_tolerance(region: Region) -> None:
    for tolerance in (0.1, 0.01, 0.001):
        most = tolerance * perimeter(region) * 1.01 + math.pi * tolerance**2
        outside = as_shape(flatten_outside(region, tolerance)).area
        inside = as_shape(flatten_inside(region, tolerance)).area
        assert -1e-9 <= outside - area(region) <= most
        assert -1e-9 <= area(region) - inside <= most


@given(placed_regions(), TOLERANCES)
def test_polygons_run_like_their_contours(region: Region, tolerance: float) -> None:
    for polygons in (flatten_outside(region, tolerance), flatten_inside(region, tolerance)):
        assert signed(polygons.outer) > 0.0
        assert all(signed(hole) < 0.0 for hole in polygons.holes)
        assert polygons.outer[0] != polygons.outer[-1]


def test_a_sector_of_a_disc_takes_few_corners() -> None:
    """13 tangents outside, 3 points inside and the 4 corners; a circle its tangents alone."""
    sector = annular_sector(6.0, 60.0, 0.0, 1.0)
    assert len(flatten_outside(sector, 0.05).outer) == 20
    assert len(flatten_outside(ring(6.0, 60.0), 0.05).outer) == 77


def test_smooth_joints_leave_no_corner() -> None:
    """The tangents of a round corner run on in its sides: only their crossings are corners."""
    polygon = flatten_outside(rounded_rectangle(20.0, 10.0, 2.0), 1.0)
    assert len(polygon.outer) == 4
    assert {(round(x, 9), round(y, 9)) for x, y in polygon.outer} == {
        (0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0)
    }  # fmt: skip


def test_a_bulge_flatter_than_the_tolerance_keeps_its_area() -> None:
    arc = Arc(Point(0.0, 0.0), 10.0, -0.1, 0.2)
    sliver = Region(Contour((arc, Line(arc.end, arc.start))))
    assert len(flatten_inside(sliver, 0.5).outer) >= 3
    assert len(flatten_outside(sliver, 0.5).outer) >= 3


def test_a_hole_too_flat_for_any_polygon_is_left_out_only_around() -> None:
    disc = circle(Point(0.0, 0.0), 30.0)
    arc = Arc(Point(0.0, 0.0), 10.0, 0.0, -1e-4)
    region = Region(disc, (Contour((arc, Line(arc.end, arc.start))),))
    assert flatten_outside(region, 0.1).holes == ()
    assert len(flatten_inside(region, 0.1).holes) == 1


def test_alike_polygons_lie_inside_with_as_many_corners_each() -> None:
    """Parallel slots 1 and 3 mm wide: both true to their own outline, corner for corner."""
    slots = [slot_arc(12.0, 0.4, 6.0 + grow, 1.0 + grow) for grow in (0.0, 2.0)]
    thin, wide = flatten_alike(slots, 0.001)
    assert len(thin.outer) == len(wide.outer)
    for slot, flat in zip(slots, (thin, wide), strict=True):
        polygon = as_shape(flat)
        assert polygon.is_valid
        assert area(slot) - perimeter(slot) * 0.001 <= polygon.area <= area(slot)
    # Parallel by 1 mm: every corner of the wide one lies that far from the thin one.
    gaps = [as_shape(thin).distance(shapely.Point(corner)) for corner in wide.outer]
    assert gaps == pytest.approx([1.0] * len(gaps), abs=0.003)


def test_alike_polygons_of_a_plate_keep_out_of_its_widened_holes() -> None:
    radii = (2.0, 2.5)
    holes = [circle(Point(9.0, 0.0), radius, clockwise=True) for radius in radii]
    plates = [Region(circle(Point(0.0, 0.0), 20.0), (hole,)) for hole in holes]
    for radius, plate, flat in zip(radii, plates, flatten_alike(plates, 0.001), strict=True):
        found = as_shape(flat)
        assert found.area <= area(plate)
        assert found.area == pytest.approx(area(plate), rel=1e-3)
        assert shapely.Point(9.0, 0.0).distance(found) >= radius - 1e-9
