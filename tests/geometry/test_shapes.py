"""The common shapes: areas in closed form, and sides where they were asked for."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from oracles import same_curves
from strategies import placed_regions

from jobprep.geometry.boolean import difference, intersection
from jobprep.geometry.distance import distance
from jobprep.geometry.measure import area, contains, perimeter, region_bounds
from jobprep.geometry.outline import Arc, Line, Region, rectangle
from jobprep.geometry.shapes import (
    annular_sector,
    bar,
    ring,
    rounded,
    rounded_rectangle,
    slot_arc,
)


@given(st.floats(1.0, 50.0), st.floats(1.0, 50.0), st.floats(0.01, 6.28), st.floats(-7.0, 7.0))
def test_sector_measures_roark(inner: float, width: float, sweep: float, start: float) -> None:
    """Area th (R² - r²) / 2, perimeter th (R + r) + 2 (R - r)."""
    outer = inner + width
    sector = annular_sector(inner, outer, start, sweep)
    assert area(sector) == pytest.approx(0.5 * sweep * (outer**2 - inner**2))
    assert perimeter(sector) == pytest.approx(sweep * (outer + inner) + 2.0 * width)
    assert len(sector.outer.segments) == 4


@given(st.integers(2, 12), st.floats(2.0, 30.0), st.floats(1.0, 30.0), st.floats(0.01, 0.5))
def test_shifted_neighbours_leave_a_parallel_strip(
    number: int, inner: float, width: float, gap: float
) -> None:
    step = math.tau / number
    shift = (0.5 * gap, 0.5 * gap)
    assume(inner * math.sin(0.5 * step) > gap)
    pieces = [annular_sector(inner, inner + width, i * step, step, shift) for i in range(number)]
    for a, b in zip(pieces, pieces[1:] + pieces[:1], strict=True):
        assert distance(a, b) == pytest.approx(gap)
    # The strip is as wide at the rim as at the bore.
    for side in pieces[0].outer.segments:
        if isinstance(side, Line):
            offsets = [abs(x * math.sin(a) - y * math.cos(a)) for a in (0.0, step) for x, y in side]
            assert min(offsets[:2]) == pytest.approx(max(offsets[:2])) or min(
                offsets[2:]
            ) == pytest.approx(max(offsets[2:]))


def test_a_negative_shift_makes_neighbours_overlap_by_a_strip() -> None:
    pieces = [annular_sector(6.0, 60.0, i * math.pi / 2, math.pi / 2, (-0.1, -0.1)) for i in (0, 1)]
    (strip,) = intersection(*pieces)
    assert area(strip) == pytest.approx(0.2 * 54.0, rel=1e-3)


def test_sides_may_be_shifted_differently() -> None:
    sector = annular_sector(6.0, 60.0, 0.0, math.pi / 2, (1.0, 0.0))
    x_min, y_min, _, _ = region_bounds(sector)
    assert (x_min, y_min) == pytest.approx((0.0, 1.0))
    sector = annular_sector(6.0, 60.0, 0.0, math.pi / 2, (0.0, -2.0))
    x_min, y_min, _, _ = region_bounds(sector)
    assert (x_min, y_min) == pytest.approx((-2.0, 0.0))


@pytest.mark.parametrize("start", [0.0, 1.0, -20.0])
def test_a_whole_turn_is_a_ring_or_a_disc(start: float) -> None:
    assert annular_sector(6.0, 60.0, start, math.tau) == ring(6.0, 60.0)
    assert annular_sector(0.0, 60.0, start, math.tau, (0.1, 0.1)) == ring(0.0, 60.0)
    assert annular_sector(6.0, 60.0, start, sum([math.tau / 7.0] * 7)) == ring(6.0, 60.0)


def test_a_pie_piece_has_a_point() -> None:
    pie = annular_sector(0.0, 10.0, 0.0, 1.0)
    assert [type(each) for each in pie.outer.segments] == [Arc, Line, Line]
    assert pie.outer.segments[1].end == (0.0, 0.0)
    assert area(pie) == pytest.approx(50.0)
    half = annular_sector(0.0, 10.0, 0.0, math.pi)
    assert [type(each) for each in half.outer.segments] == [Arc, Line]


@pytest.mark.parametrize("sweep", [0.5, 1.5, math.pi, 4.0, 6.0])
@pytest.mark.parametrize("shift", [(0.2, 0.2), (-0.2, -0.2), (0.3, 0.0)])
def test_a_pie_piece_with_shifted_sides(sweep: float, shift: tuple[float, float]) -> None:
    """Each side moves parallel to itself; the point moves to where they cross."""
    pie = annular_sector(0.0, 10.0, 0.4, sweep, shift)
    first, second = shift
    for x, y in ((10.0 * i / 7.0, 10.0 * j / 7.0) for i in range(-6, 7) for j in range(-6, 7)):
        left = y * math.cos(0.4) - x * math.sin(0.4) - first
        right = x * math.sin(0.4 + sweep) - y * math.cos(0.4 + sweep) - second
        if min(abs(left), abs(right), abs(math.hypot(x, y) - 10.0)) < 1e-6:
            continue
        both = left > 0.0 and right > 0.0
        either = left > 0.0 or right > 0.0
        inside = (both if sweep <= math.pi else either) and math.hypot(x, y) < 10.0
        assert contains(pie, (x, y)) == inside


def test_a_shift_beyond_the_bore_leaves_a_point_instead_of_an_arc() -> None:
    sector = annular_sector(6.0, 60.0, 0.0, math.pi / 2, (7.0, 7.0))
    assert sorted(type(each).__name__ for each in sector.outer.segments) == ["Arc", "Line", "Line"]
    assert region_bounds(sector)[:2] == pytest.approx((7.0, 7.0))


@pytest.mark.parametrize(
    "arguments",
    [
        (6.0, 60.0, 0.0, 0.0),
        (6.0, 60.0, 0.0, -1.0),
        (6.0, 60.0, 0.0, 7.0),
        (60.0, 6.0, 0.0, 1.0),
        (-1.0, 6.0, 0.0, 1.0),
        (6.0, 60.0, 0.0, 0.1, (4.0, 4.0)),  # nothing left
        (6.0, 60.0, 0.0, 6.2, (7.0, 0.3)),  # falls apart
    ],
)
def test_impossible_sectors_are_refused(arguments: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match=r"ring|sector"):
        annular_sector(*arguments)  # type: ignore[arg-type]


@given(st.floats(0.5, 50.0), st.floats(0.01, 100.0))
def test_bar_measures(width: float, more: float) -> None:
    """A rectangle between two half discs, whose ends stay arcs."""
    shape = bar(width + more, width)
    assert area(shape) == pytest.approx(width * more + math.pi * width**2 / 4.0)
    assert perimeter(shape) == pytest.approx(2.0 * more + math.pi * width)
    assert region_bounds(shape) == pytest.approx((0.0, 0.0, width + more, width))
    assert [type(each).__name__ for each in shape.outer.segments] == ["Arc", "Line"] * 2


@pytest.mark.parametrize("arguments", [(5.0, 5.0), (5.0, 0.0), (5.0, -1.0)])
def test_impossible_bars_are_refused(arguments: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="bar"):
        bar(*arguments)


@given(st.floats(5.0, 50.0), st.floats(-7.0, 7.0), st.floats(1.0, 4.0), st.floats(1.0, 20.0))
def test_slot_measures(radius: float, direction: float, width: float, more: float) -> None:
    """A band along the circle and two half discs."""
    slot = slot_arc(radius, direction, width + more, width)
    assert area(slot) == pytest.approx(width * more + math.pi * width**2 / 4.0)
    # The two flanks are radius ± width / 2 long per radian: together twice the middle.
    assert perimeter(slot) == pytest.approx(2.0 * more + math.pi * width)
    middle = (radius * math.cos(direction), radius * math.sin(direction))
    assert contains(slot, middle)


def test_a_slot_as_long_as_wide_is_a_round_hole() -> None:
    slot = slot_arc(20.0, math.pi / 2, 3.0, 3.0)
    assert len(slot.outer.segments) == 1
    assert region_bounds(slot) == pytest.approx((-1.5, 18.5, 1.5, 21.5))


@pytest.mark.parametrize(
    "arguments", [(5.0, 0.0, 1.0, 2.0), (5.0, 0.0, 12.0, 11.0), (5.0, 0.0, 33.0, 2.0)]
)
def test_impossible_slots_are_refused(arguments: tuple[float, ...]) -> None:
    with pytest.raises(ValueError, match="slot"):
        slot_arc(*arguments)


def test_rounded_rectangle_measures() -> None:
    """Four quarter discs replace four squares."""
    region = rounded_rectangle(10.0, 6.0, 2.0)
    assert area(region) == pytest.approx(60.0 - (4.0 - math.pi) * 4.0)
    assert perimeter(region) == pytest.approx(32.0 - (8.0 - 2.0 * math.pi) * 2.0)
    assert region_bounds(region) == pytest.approx((0.0, 0.0, 10.0, 6.0))
    assert rounded_rectangle(10.0, 6.0, 0.0) == Region(rectangle(10.0, 6.0))


def test_the_roundest_rectangles_are_stadium_and_circle() -> None:
    assert [type(each) for each in rounded_rectangle(8.0, 4.0, 2.0).outer.segments] == [
        Arc, Line, Arc, Line
    ]  # fmt: skip
    (only,) = rounded_rectangle(4.0, 4.0, 2.0).outer.segments
    assert isinstance(only, Arc)
    assert (only.centre, only.radius) == ((2.0, 2.0), 2.0)
    with pytest.raises(ValueError, match="corner radius"):
        rounded_rectangle(4.0, 4.0, 2.1)


def test_rounding_a_rectangle_is_a_rounded_rectangle() -> None:
    found = rounded(Region(rectangle(10.0, 6.0)), 2.0)
    assert same_curves(found.outer.segments, rounded_rectangle(10.0, 6.0, 2.0).outer.segments)
    with pytest.raises(ValueError, match="too large"):
        rounded(Region(rectangle(10.0, 6.0)), 3.5)


@given(placed_regions(), st.floats(0.05, 1.0))
def test_rounding_only_takes_away_and_leaves_no_tight_convex_arc(
    region: Region, radius: float
) -> None:
    try:
        found = rounded(region, radius)
    except ValueError:
        return
    assert sum(map(area, difference(found, [region]))) <= 1e-6 * perimeter(region)
    for contour in found.contours:
        for segment in contour.segments:
            if isinstance(segment, Arc) and segment.sweep > 0.0:
                assert segment.radius >= radius - 1e-6
