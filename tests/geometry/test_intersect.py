"""Where segments meet: closed forms, degenerate contacts, and a sampled twin."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from oracles import sampled
from shapely.geometry import LineString
from strategies import segments

from jobprep.geometry.intersect import SNAP, crossings, intersections
from jobprep.geometry.outline import Arc, Line, Point, Segment
from jobprep.geometry.segment import point_distance

UNIT = Arc(Point(0.0, 0.0), 1.0, 0.0, math.tau)


def places(a: Segment, b: Segment) -> set[tuple[float, float]]:
    """Return where two segments meet, rounded, however often each place is named."""
    return {(round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in intersections(a, b)}


def line(x0: float, y0: float, x1: float, y1: float) -> Line:
    return Line(Point(x0, y0), Point(x1, y1))


@pytest.mark.parametrize(
    ("a", "b", "expected"),
    [
        (line(0, 0, 2, 2), line(0, 2, 2, 0), {(1, 1)}),
        (line(0, 0, 2, 0), line(1, 0, 1, 5), {(1, 0)}),  # an end on the other
        (line(0, 0, 2, 0), line(2, 0, 3, 5), {(2, 0)}),  # a shared end
        (line(0, 0, 2, 0), line(0, 1, 2, 1), set()),  # parallel
        (line(0, 0, 4, 0), line(1, 0, 6, 0), {(1, 0), (4, 0)}),  # overlapping
        (line(0, 0, 4, 0), line(3, 0, 1, 0), {(1, 0), (3, 0)}),  # one along the other
        (line(0, 0, 1, 0), line(2, 0, 3, 0), set()),  # in line, apart
        (line(-2, 0, 2, 0), UNIT, {(-1, 0), (1, 0)}),
        (line(0, 0, 2, 0), UNIT, {(1, 0)}),
        (line(-2, 1, 2, 1), UNIT, {(0, 1)}),  # tangent
        (line(-2, 1.1, 2, 1.1), UNIT, set()),
        (line(-2, 0.6, 2, 0.6), UNIT, {(-0.8, 0.6), (0.8, 0.6)}),
        (line(-2, 0.6, 0, 0.6), UNIT, {(-0.8, 0.6)}),
        (UNIT, Arc(Point(1, 0), 1.0, 0.0, math.tau), {(0.5, 0.866025), (0.5, -0.866025)}),
        (UNIT, Arc(Point(3, 0), 2.0, 0.0, math.tau), {(1, 0)}),  # tangent from outside
        (UNIT, Arc(Point(0.5, 0), 0.5, 1.0, math.tau), {(1, 0)}),  # tangent inside
        (UNIT, Arc(Point(-1, 0), 2.0, 0.0, -math.tau), {(1, 0)}),
        (UNIT, Arc(Point(4, 0), 2.0, 0.0, math.tau), set()),
        (UNIT, Arc(Point(0, 0), 0.5, 0.0, math.tau), set()),  # one circle in the other
        (UNIT, Arc(Point(1, 0), 1.0, -math.pi / 2, math.pi), set()),  # the crossings are left out
    ],
)
def test_known_meetings(a: Segment, b: Segment, expected: set[tuple[float, float]]) -> None:
    assert places(a, b) == expected
    assert places(b, a) == expected


def test_arcs_of_one_circle_meet_in_the_ends_of_their_common_piece() -> None:
    centre = Point(3.0, 4.0)
    a = Arc(centre, 5.0, 0.0, 2.0)
    b = Arc(centre, 5.0, 3.0, -2.0)
    ends = {(round(p.x, 6), round(p.y, 6)) for p in (a.at(1.0), a.at(2.0))}
    assert places(a, b) == ends
    assert places(a, Arc(centre, 5.0, 2.5, 1.0)) == set()


def test_half_circles_that_complete_each_other_meet_at_both_joints() -> None:
    upper = Arc(Point(0.0, 0.0), 1.0, 0.0, math.pi)
    lower = Arc(Point(0.0, 0.0), 1.0, math.pi, math.pi)
    assert places(upper, lower) == {(1, 0), (-1, 0)}


@pytest.mark.parametrize("gap", [-0.5 * SNAP, 0.0, 0.5 * SNAP])
def test_a_gap_below_the_tolerance_is_a_touch_in_one_point(gap: float) -> None:
    assert places(line(-2, 1 + gap, 2, 1 + gap), UNIT) == {(0, 1)}
    assert places(Arc(Point(3 + gap, 0), 2.0, 0.0, math.tau), UNIT) == {(1, 0)}
    assert crossings(line(-2, 1 + gap, 2, 1 + gap), UNIT).sine == 0.0


def test_an_overlap_above_the_tolerance_is_two_crossings() -> None:
    found = crossings(line(-2, 1 - 1e-5, 2, 1 - 1e-5), UNIT)
    half = math.sqrt(1.0 - (1.0 - 1e-5) ** 2)
    assert [p.x for p in found.points] == pytest.approx([-half, half])
    assert found.sine == pytest.approx(half)


def test_sine_is_that_of_the_crossing_angle() -> None:
    assert crossings(line(0, 0, 2, 2), line(0, 1, 2, 1)).sine == pytest.approx(math.sqrt(0.5))
    assert crossings(UNIT, Arc(Point(1, 0), 1.0, 0.0, math.tau)).sine == pytest.approx(
        math.sin(math.pi / 3)
    )


def test_a_fillet_meets_its_side_in_the_joint_only() -> None:
    """Rounding would have a line cross the circle it is tangent to a hair beside the joint."""
    for i in range(200):
        turn = 0.37 * i
        arc = Arc(Point(31.4, -2.7), 7.3, turn, 1.2)
        side = Line(arc.end, Point(*move(arc.end, turn + 1.2 + math.pi / 2, 40.0)))
        assert len(places(arc, side)) == 1


def move(point: Point, angle: float, distance: float) -> tuple[float, float]:
    return point.x + distance * math.cos(angle), point.y + distance * math.sin(angle)


@given(segments(), segments())
def test_every_meeting_lies_on_both(a: Segment, b: Segment) -> None:
    for point in intersections(a, b):
        assert point_distance(a, point) <= 2.0 * SNAP
        assert point_distance(b, point) <= 2.0 * SNAP


@given(segments(), segments())
def test_crossings_of_chords_are_found(a: Segment, b: Segment) -> None:
    """Where fine chords cross well inside both, the segments meet within a chord of there."""
    fine_a, fine_b = LineString(sampled(a, 1500)), LineString(sampled(b, 1500))
    crossing = fine_a.intersection(fine_b)
    found = intersections(a, b)
    if crossings(a, b).sine < 0.05 or crossing.length > 0.0 or crossing.is_empty:
        return  # touching or overlapping: chords cannot tell
    for part in getattr(crossing, "geoms", (crossing,)):
        assert min(math.dist(point, part.coords[0]) for point in found) < 0.2


@given(segments(), segments())
def test_order_and_direction_do_not_matter(a: Segment, b: Segment) -> None:
    assert places(a, b) == places(b, a)
