"""Times against closed forms of kinematics and against linear programming."""

import cmath
import itertools
import math
from dataclasses import replace

import pytest
from cutting.sheets import CUTTER, HOOK
from head_time import Stretch, head_seconds
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.cutting.motion import (
    corner_speed,
    motion,
    path_seconds,
    rest_to_rest,
    segment_speed,
)
from jobprep.cutting.plan import Cut, Operation
from jobprep.geometry.outline import Arc, Line, Path, Point, circle, reversed_path

ROUNDED = 0.01
"""How far a controller may round a corner, mm: what the manual says of cutting times."""


def stretches(path: Path) -> list[Stretch]:
    """Say of each segment how long and how bent it is, and which way it begins and ends."""
    found = []
    for segment in path:
        if isinstance(segment, Arc):
            side = math.copysign(math.pi / 2.0, segment.sweep)
            ways = (segment.start_angle + side, segment.start_angle + segment.sweep + side)
            length = segment.radius * abs(segment.sweep)
            found.append(Stretch(length, segment.radius, *(cmath.rect(1.0, way) for way in ways)))
        else:
            step = complex(*segment.end) - complex(*segment.start)
            found.append(Stretch(abs(step), math.inf, step / abs(step), step / abs(step)))
    return found


def wavy_path(pieces: list[tuple[float, float, float]]) -> Path:
    """Lines and arcs one after another: length, turn at the joint, bend of the piece."""
    path: list[Line | Arc] = []
    place, heading = Point(0.0, 0.0), 0.0
    for length, turn, bend in pieces:
        heading += turn
        if bend == 0.0:
            end = Point(place.x + length * math.cos(heading), place.y + length * math.sin(heading))
            path.append(Line(place, end))
        else:
            radius = length / abs(bend)
            side = math.copysign(math.pi / 2.0, bend)
            centre = Point(
                place.x + radius * math.cos(heading + side),
                place.y + radius * math.sin(heading + side),
            )
            path.append(Arc(centre, radius, heading - side, bend))
            heading += bend
        place = path[-1].end
    return tuple(path)


turns = st.one_of(st.just(0.0), st.floats(0.05, 2.8), st.floats(-2.8, -0.05))
bends = st.one_of(st.just(0.0), st.floats(0.3, 3.0), st.floats(-3.0, -0.3))
paths = st.lists(st.tuples(st.floats(0.05, 8.0), turns, bends), min_size=1, max_size=6).map(
    wavy_path
)


@pytest.mark.parametrize(
    ("length", "seconds"), [(100.0, 2.05), (10.0, 0.25), (1.0, 0.06324555320336759), (0.0, 0.0)]
)
def test_trapezoidal_profile_closed_forms(length: float, seconds: float) -> None:
    # Kinematics, trapezoidal velocity profile, 50 mm/s and 1000 mm/s²: L/v + v/a where
    # L >= v²/a = 2.5 mm, else 2 sqrt(L/a)
    assert rest_to_rest(length, 50.0, 1000.0) == pytest.approx(seconds, rel=1e-12)


@pytest.mark.parametrize(("radius", "speed"), [(3.0, 54.772256), (0.5, 22.360680)])
def test_small_circles_are_slow_by_centripetal_acceleration(radius: float, speed: float) -> None:
    # Kinematics: v = sqrt(a R), a = 1000 mm/s²
    (arc,) = circle(Point(1.0, 2.0), radius).segments
    assert segment_speed(arc, 100.0, 1000.0) == pytest.approx(speed, abs=1e-6)
    assert segment_speed(arc, 10.0, 1000.0) == 10.0


def test_a_circle_takes_its_length_at_its_own_speed_and_two_ramps() -> None:
    radius, acceleration = 3.0, 1000.0
    speed = math.sqrt(acceleration * radius)
    expected = 2.0 * math.pi * radius / speed + speed / acceleration
    path = circle(Point(0.0, 0.0), radius).segments
    assert path_seconds(path, 100.0, acceleration) == pytest.approx(expected, rel=1e-12)


def test_corner_speed_is_that_of_the_circle_that_misses_the_tip_by_the_deviation() -> None:
    # A right angle: a circle of radius R touching both sides misses the tip by R (sqrt 2 - 1)
    radius = ROUNDED / (math.sqrt(2.0) - 1.0)
    assert corner_speed(math.pi / 2.0, 1000.0) == pytest.approx(math.sqrt(1000.0 * radius))
    assert corner_speed(-math.pi / 2.0, 1000.0) == corner_speed(math.pi / 2.0, 1000.0)
    assert corner_speed(0.0, 1000.0) == math.inf
    assert corner_speed(math.pi, 1000.0) < 0.1


def test_a_split_line_takes_no_longer_than_the_whole() -> None:
    whole = (Line(Point(0.0, 0.0), Point(30.0, 40.0)),)
    split = (
        Line(Point(0.0, 0.0), Point(3.0, 4.0)),
        Line(Point(3.0, 4.0), Point(3.03, 4.04)),
        Line(Point(3.03, 4.04), Point(30.0, 40.0)),
    )
    expected = path_seconds(whole, 50.0, 1000.0)
    assert path_seconds(split, 50.0, 1000.0) == pytest.approx(expected, rel=1e-9)


def test_a_square_slows_at_its_corners_only() -> None:
    side, speed, acceleration = 20.0, 50.0, 1000.0
    corners = [Point(0, 0), Point(side, 0), Point(side, side), Point(0, side), Point(0, 0)]
    path = tuple(Line(*ends) for ends in itertools.pairwise(corners))
    slow = corner_speed(math.pi / 2.0, acceleration)
    ramps = 2 * speed + 6 * (speed - slow)
    ramp_length = (2 * speed**2 + 6 * (speed**2 - slow**2)) / (2.0 * acceleration)
    expected = ramps / acceleration + (4 * side - ramp_length) / speed
    assert path_seconds(path, speed, acceleration) == pytest.approx(expected, rel=1e-9)


@settings(max_examples=100, deadline=None)
@given(path=paths, speed=st.floats(5.0, 200.0), acceleration=st.floats(100.0, 5000.0))
def test_times_are_the_fastest_that_linear_programming_finds(
    path: Path, speed: float, acceleration: float
) -> None:
    (expected,) = head_seconds([stretches(path)], [speed], acceleration)
    assert path_seconds(path, speed, acceleration) == pytest.approx(expected, rel=1e-3)


def test_linear_programming_finds_the_closed_forms() -> None:
    """A line takes L/v + v/a, a circle the same at v = sqrt(a R) (kinematics)."""
    line = [Stretch(100.0, math.inf, 1.0 + 0j, 1.0 + 0j)]
    ring = [Stretch(6.0 * math.pi, 3.0, 1j, 1j)]
    v = math.sqrt(3000.0)
    expected = [100.0 / 50.0 + 50.0 / 1000.0, 6.0 * math.pi / v + v / 1000.0]
    assert head_seconds([line, ring], [50.0, 100.0], 1000.0) == pytest.approx(expected, rel=1e-6)


@settings(max_examples=40, deadline=None)
@given(path=paths, speed=st.floats(5.0, 200.0), acceleration=st.floats(100.0, 5000.0))
def test_times_are_the_same_backwards_and_scale(
    path: Path, speed: float, acceleration: float
) -> None:
    seconds = path_seconds(path, speed, acceleration)
    backwards = path_seconds(reversed_path(path), speed, acceleration)
    assert backwards == pytest.approx(seconds, rel=1e-6)
    assert path_seconds(path, 2.0 * speed, 2.0 * acceleration) <= seconds * (1.0 + 1e-9)


def test_motion_adds_up_travel_marks_pierces_and_cuts() -> None:
    ring = circle(Point(30.0, 0.0), 10.0).segments
    line = (Line(Point(3.0, 0.0), Point(8.0, 0.0)),)
    cutter = replace(CUTTER, pierce_time=0.25, travel_speed=100.0, mark_speed=20.0)
    cuts = (
        Cut(operation=Operation.MARK, part=0, strokes=(line, HOOK)),
        Cut(operation=Operation.CUT_INNER, part=0, strokes=(ring,)),
        Cut(operation=Operation.CUT_OUTER, part=0, strokes=(ring,)),
    )
    total = motion(cuts, cutter, 50.0)
    assert total.mark_length == pytest.approx(5.0 + 2.0 * math.sqrt(2.0))
    assert total.cut_length == pytest.approx(40.0 * math.pi)
    # home to the line, on to the hook, on to the ring; the second ring starts where the first
    # ends, and from there the head goes home
    travels = [3.0, 6.0, 36.0, 0.0, 40.0]
    assert total.travel_length == pytest.approx(sum(travels))
    assert total.travel_seconds == pytest.approx(
        sum(rest_to_rest(length, 100.0, 1000.0) for length in travels)
    )
    assert total.pierces == 2
    assert total.pierce_seconds == pytest.approx(0.5)
    assert total.mark_seconds == pytest.approx(
        path_seconds(line, 20.0, 1000.0) + path_seconds(HOOK, 20.0, 1000.0)
    )
    assert total.cut_seconds == pytest.approx(2.0 * path_seconds(ring, 50.0, 1000.0))
    assert total.seconds == pytest.approx(
        total.mark_seconds + total.cut_seconds + total.travel_seconds + total.pierce_seconds
    )


def test_no_cuts_take_no_time() -> None:
    assert motion((), CUTTER, 50.0).seconds == 0.0
