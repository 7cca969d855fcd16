"""Areas, moments, boxes and containment against handbook values and slow twins.

Roark: Roark's Formulas for Stress and Strain, appendix "Properties of a plane area"; Machinery's
Handbook: "Areas and volumes", "Moments of inertia"; both from memory, the numbers recomputed.
MathWorld: "Circular Sector". List of centroids: the usual table of plane figures.
"""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from oracles import chords, mirrored, polygon_moments, sampled, scaled
from strategies import angles, placed_regions, points, regions, segments

from jobprep.geometry.measure import (
    area,
    bounds,
    centroid,
    contains,
    contour_contains,
    encloses,
    path_length,
    perimeter,
    region_bounds,
    second_moments,
    signed_area,
)
from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Point,
    Region,
    circle,
    moved_region,
    rectangle,
    reversed_contour,
)
from jobprep.geometry.shapes import annular_sector, ring

RELATIVE = 1e-9
DEGREE = math.pi / 180.0


def on_bisector(inner: float, outer: float, degrees: float) -> Region:
    """Return an annular sector whose bisector is the x axis."""
    sweep = degrees * DEGREE
    return annular_sector(inner, outer, -0.5 * sweep, sweep)


def circular_segment(radius: float, degrees: float) -> Region:
    """Return the area between an arc and its chord, its bisector on the x axis."""
    sweep = degrees * DEGREE
    arc = Arc(Point(0.0, 0.0), radius, -0.5 * sweep, sweep)
    return Region(Contour((arc, Line(arc.end, arc.start))))


def test_disc_roark_machinerys_handbook() -> None:
    disc = ring(0.0, 100.0)
    assert area(disc) == pytest.approx(31415.926536, rel=RELATIVE)
    assert perimeter(disc) == pytest.approx(628.318531, rel=RELATIVE)
    xx, yy, xy = second_moments(disc)
    assert xx == pytest.approx(78_539_816.3397, rel=RELATIVE)
    assert yy == pytest.approx(78_539_816.3397, rel=RELATIVE)
    assert xx + yy == pytest.approx(157_079_632.6795, rel=RELATIVE)
    assert xy == pytest.approx(0.0, abs=1e-6)


def test_annulus_roark_machinerys_handbook() -> None:
    annulus = ring(30.0, 100.0)
    assert area(annulus) == pytest.approx(28588.493148, rel=RELATIVE)
    xx, yy, _ = second_moments(annulus)
    assert xx == pytest.approx(77_903_643.8274, rel=RELATIVE)
    assert xx + yy == pytest.approx(155_807_287.6548, rel=RELATIVE)


def test_quarter_disc_mathworld_circular_sector() -> None:
    sector = on_bisector(0.0, 100.0, 90.0)
    assert area(sector) == pytest.approx(7853.981634, rel=RELATIVE)
    assert perimeter(sector) == pytest.approx(357.079633, rel=RELATIVE)
    assert centroid(sector) == pytest.approx((60.021088, 0.0), abs=1e-6)


def test_half_disc_list_of_centroids() -> None:
    half = on_bisector(0.0, 100.0, 180.0)
    assert area(half) == pytest.approx(15707.963268, rel=RELATIVE)
    assert centroid(half) == pytest.approx((42.441318, 0.0), abs=1e-6)


def test_sector_limits_mathworld() -> None:
    thin = on_bisector(0.0, 100.0, 1e-3)
    assert centroid(thin).x == pytest.approx(200.0 / 3.0, abs=1e-6)
    assert centroid(on_bisector(0.0, 100.0, 360.0)) == pytest.approx((0.0, 0.0), abs=1e-9)


@pytest.mark.parametrize(
    ("outer", "inner", "degrees", "size", "centre", "polar"),
    [
        (100.0, 30.0, 60.0, 4764.748858, 68.069345, 25_967_881.2758),
        (100.0, 30.0, 120.0, 9529.497716, 58.949782, 51_935_762.5516),
        (150.0, 25.0, 90.0, 17180.584824, 92.175242, 198_650_512.0312),
    ],
)
def test_annular_sector_roark_sector_of_hollow_circle(
    outer: float, inner: float, degrees: float, size: float, centre: float, polar: float
) -> None:
    sector = on_bisector(inner, outer, degrees)
    assert area(sector) == pytest.approx(size, rel=RELATIVE)
    assert centroid(sector) == pytest.approx((centre, 0.0), abs=1e-6)
    xx, yy, xy = second_moments(sector)
    assert xx + yy == pytest.approx(polar, rel=RELATIVE)
    assert xy == pytest.approx(0.0, abs=1e-6)
    sweep = degrees * DEGREE
    assert perimeter(sector) == pytest.approx((outer + inner) * sweep + 2.0 * (outer - inner))


def test_annular_sector_axes_roark() -> None:
    xx, yy, _ = second_moments(on_bisector(30.0, 100.0, 60.0))
    assert yy == pytest.approx(2_246_308.1627, rel=RELATIVE)  # about the bisector
    assert xx == pytest.approx(23_721_573.1131, rel=RELATIVE)
    assert perimeter(on_bisector(30.0, 100.0, 60.0)) == pytest.approx(276.135682, abs=1e-6)
    assert perimeter(on_bisector(30.0, 100.0, 120.0)) == pytest.approx(412.271363, abs=1e-6)


def test_circular_segment_list_of_centroids() -> None:
    piece = circular_segment(100.0, 120.0)
    assert area(piece) == pytest.approx(6141.848493, rel=RELATIVE)
    assert centroid(piece) == pytest.approx((70.502016, 0.0), abs=1e-6)
    chord = piece.outer.segments[1]
    assert path_length((chord,)) == pytest.approx(173.205081, abs=1e-6)
    box = region_bounds(piece)
    assert box.width == pytest.approx(50.0)  # sagitta
    assert box.height == pytest.approx(173.205081, abs=1e-6)  # chord


def test_circular_segment_worked_answer() -> None:
    """A published answer prints 2.26465175; its last two digits are its own rounding."""
    assert area(circular_segment(5.0, 60.0)) == pytest.approx(2.26465175, abs=1e-7)
    assert area(circular_segment(5.0, 60.0)) == pytest.approx(2.264651843, abs=1e-9)


@given(st.integers(2, 24), st.floats(1.0, 50.0), st.floats(1.0, 50.0))
def test_equal_sectors_add_up_to_the_ring(number: int, inner: float, width: float) -> None:
    step = math.tau / number
    pieces = [annular_sector(inner, inner + width, i * step, step) for i in range(number)]
    whole = ring(inner, inner + width)
    assert sum(map(area, pieces)) == pytest.approx(area(whole))
    for axis in (0, 1):
        first = sum(area(piece) * centroid(piece)[axis] for piece in pieces)
        assert first == pytest.approx(0.0, abs=1e-9 * area(whole) * (inner + width))
    polar = sum(sum(second_moments(piece)[:2]) for piece in pieces)
    assert polar == pytest.approx(sum(second_moments(whole)[:2]))


@given(placed_regions())
def test_moments_equal_those_of_fine_chords(region: Region) -> None:
    expected = polygon_moments(chords(region, 1e-5))
    size = area(region)
    first = [size * each for each in centroid(region)]
    # The chords miss slivers of 1e-5 mm along the outline, at most this far out.
    reach = max(map(abs, region_bounds(region)))
    missed = 1e-5 * perimeter(region)
    assert size == pytest.approx(expected.area, abs=missed)
    assert first == pytest.approx(expected[1:3], abs=missed * reach)
    assert second_moments(region) == pytest.approx(expected[3:], abs=missed * reach * reach)


@given(placed_regions(), st.sampled_from((1e-2, 1e2)))
def test_measures_scale_by_their_powers(region: Region, factor: float) -> None:
    large = scaled(region, factor)
    assert perimeter(large) == pytest.approx(factor * perimeter(region))
    assert area(large) == pytest.approx(factor**2 * area(region))
    around = sum(second_moments(region)[:2])
    assert sum(second_moments(large)[:2]) == pytest.approx(factor**4 * around)


@given(regions(), angles(), points(1000.0))
def test_measures_do_not_change_when_moved(region: Region, angle: float, to: Point) -> None:
    moved = moved_region(region, angle, to.x, to.y)
    assert area(moved) == pytest.approx(area(region), rel=1e-9)
    assert perimeter(moved) == pytest.approx(perimeter(region), rel=1e-12)
    x, y = centroid(region)
    cos, sin = math.cos(angle), math.sin(angle)
    expected = (cos * x - sin * y + to.x, sin * x + cos * y + to.y)
    assert centroid(moved) == pytest.approx(expected, abs=1e-9)


@given(placed_regions())
def test_steiners_theorem_links_moments_about_two_points(region: Region) -> None:
    size, (x, y) = area(region), centroid(region)
    about_centroid = second_moments(moved_region(region, 0.0, -x, -y))
    xx, yy, xy = second_moments(region)
    shifted = (xx - size * x * x, yy - size * y * y, xy - size * x * y)
    assert shifted == pytest.approx(about_centroid, abs=1e-9 * max(xx, yy))


@given(placed_regions())
def test_mirrored_area_and_moments_are_mirrored(region: Region) -> None:
    mirror = mirrored(region)
    assert area(mirror) == pytest.approx(area(region))
    xx, yy, xy = second_moments(region)
    assert second_moments(mirror) == pytest.approx((xx, yy, -xy), abs=1e-9 * (xx + yy))


def test_small_and_large_sweeps_agree_where_their_formulas_meet() -> None:
    """A lens of two nearly straight arcs keeps its digits: 2/3 chord times sagitta, twice."""
    below, above = (circular_segment(10.0, 0.5 / DEGREE * (1.0 + e)) for e in (-1e-9, 1e-9))
    assert area(below) == pytest.approx(area(above), rel=1e-8)
    assert second_moments(below) == pytest.approx(second_moments(above), rel=1e-8, abs=1e-9)
    flat = circular_segment(1e7, math.degrees(1e-6))
    assert area(flat) == pytest.approx(1e7**2 * 1e-18 / 12.0, rel=1e-6)


def test_clockwise_contours_have_negative_area() -> None:
    square = rectangle(3.0, 2.0)
    assert signed_area(square) == 6.0
    assert signed_area(reversed_contour(square)) == -6.0
    assert signed_area(circle(Point(5.0, 5.0), 2.0, clockwise=True)) == pytest.approx(-4 * math.pi)


@given(segments())
def test_box_holds_a_segment_and_is_touched_on_all_sides(segment: Line | Arc) -> None:
    x_min, y_min, x_max, y_max = bounds((segment,))
    xs, ys = zip(*sampled(segment, 2000), strict=True)
    assert min(xs) >= x_min - 1e-9 and max(xs) <= x_max + 1e-9
    assert min(ys) >= y_min - 1e-9 and max(ys) <= y_max + 1e-9
    # Sampled points miss an extreme by less than the sagitta between two of them.
    near = 10.0 * (1.0 - math.cos(math.tau / 2000)) + 1e-9
    assert (min(xs), min(ys), max(xs), max(ys)) == pytest.approx(
        (x_min, y_min, x_max, y_max), abs=near
    )


@given(placed_regions(), st.lists(points(20.0), min_size=1, max_size=20))
def test_contains_agrees_with_shapely(region: Region, where: list[Point]) -> None:
    fine = chords(region, 1e-5)
    for point in where:
        if fine.boundary.distance(shapely.Point(point)) > 1e-4:
            assert contains(region, point) == fine.contains(shapely.Point(point))
            assert encloses(region.outer, point) == contour_contains(region.outer, point)


@given(placed_regions())
def test_every_contour_belongs_to_its_region(region: Region) -> None:
    for contour in region.contours:
        for segment in contour.segments:
            for point in sampled(segment, 7):
                assert contains(region, point)


def test_points_in_line_with_corners_and_chords_fall_on_the_right_side() -> None:
    half = annular_sector(0.0, 10.0, 0.0, math.pi)
    assert contains(half, (0.0, 5.0))
    assert contains(half, (3.0, 0.0))
    assert not contains(half, (0.0, -5.0))
    assert not contains(half, (11.0, 0.0))
    wide = annular_sector(2.0, 10.0, 0.0, 1.5 * math.pi)
    assert contains(wide, (-5.0, 0.0))
    assert contains(wide, (0.0, -5.0))
    assert not contains(wide, (5.0, -5.0))
    assert not contains(wide, (1.0, 0.0))
    diamond = Region(moved_region(Region(rectangle(2.0, 2.0)), math.pi / 4, 0.0, 0.0).outer)
    assert not contains(diamond, (-5.0, math.sqrt(2.0)))
    assert contains(diamond, (0.5, math.sqrt(2.0)))


def test_a_point_just_on_the_chord_of_an_arc_is_inside_once() -> None:
    """(0.5, 0.5) is exactly on the chord from (1, 0) to (0, 1), in both directions of it."""
    arc = Arc(Point(0.0, 0.0), 1.0, 0.0, 0.5 * math.pi)
    bulge = Contour(
        (
            arc,
            Line(Point(0.0, 1.0), Point(-1.0, -1.0)),
            Line(Point(-1.0, -1.0), Point(1.0, 0.0)),
        )
    )
    notch = Contour(
        (
            arc,
            Line(Point(0.0, 1.0), Point(3.0, 3.0)),
            Line(Point(3.0, 3.0), Point(1.0, 0.0)),
        )
    )
    for contour in (bulge, reversed_contour(bulge)):
        assert encloses(contour, (0.5, 0.5))
        assert encloses(contour, (0.25, 0.75))
    for contour in (notch, reversed_contour(notch)):
        assert not encloses(contour, (0.5, 0.5))
        assert encloses(contour, (1.0, 1.0))
