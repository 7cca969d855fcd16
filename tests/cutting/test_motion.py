"""Times against closed forms of kinematics and against an integration in small steps."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from cutting.sheets import CUTTER, HOOK
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from jobprep.cutting.motion import (
    CORNER_DEVIATION,
    corner_speed,
    motion,
    path_seconds,
    rest_to_rest,
    segment_speed,
)
from jobprep.cutting.plan import Cut, Operation
from jobprep.geometry.outline import Arc, Line, Path, Point, circle, reversed_path

STEP = 0.002
"""Step of the integration along the path, mm."""


def integrated_seconds(path: Path, speed: float, acceleration: float) -> float:
    """Time along a path, by pushing a body along it in steps of ``STEP``.

    Works on points alone: it finds the speed limit of arcs from the curvature through three
    points and that of corners from the turn at a joint, and the highest permitted speed of every
    step by running forwards and backwards over all of them.
    """
    limits: list[NDArray[np.float64]] = []
    steps: list[NDArray[np.float64]] = []
    joints = []
    for segment in path:
        points = np.array(points_on(segment))
        chords = np.hypot(*np.diff(points, axis=0).T)
        a, b, c = points[0], points[len(points) // 2], points[-1]
        limit = min(speed, math.sqrt(acceleration * radius_through(a, b, c)))
        limits.append(np.full(len(chords), limit))
        steps.append(chords)
        joints.append((points[1] - points[0], points[-1] - points[-2]))
    highest = np.concatenate(limits)
    length = np.concatenate(steps)
    at_ends = np.minimum(np.append(highest, np.inf), np.append(np.inf, highest))
    at_ends[0] = at_ends[-1] = 0.0
    ends = np.cumsum([len(each) for each in steps])[:-1]
    for index, (before, after) in enumerate(itertools.pairwise(joints)):
        turn = math.acos(np.clip(np.dot(before[1], after[0]) / norm(before[1], after[0]), -1, 1))
        if turn > 0.01:  # below lie the chords of arcs
            tip = CORNER_DEVIATION / (1.0 / math.cos(turn / 2.0) - 1.0)
            at_ends[ends[index]] = min(at_ends[ends[index]], math.sqrt(acceleration * tip))
    for index in range(len(length)):
        gained = at_ends[index] ** 2 + 2.0 * acceleration * length[index]
        at_ends[index + 1] = min(at_ends[index + 1], math.sqrt(gained))
    for index in reversed(range(len(length))):
        gained = at_ends[index + 1] ** 2 + 2.0 * acceleration * length[index]
        at_ends[index] = min(at_ends[index], math.sqrt(gained))
    return float(np.sum(2.0 * length / (at_ends[:-1] + at_ends[1:])))


def points_on(segment: Line | Arc) -> list[tuple[float, float]]:
    if isinstance(segment, Arc):
        count = 2 * math.ceil(segment.radius * abs(segment.sweep) / STEP / 2.0)
        return [
            segment.at(segment.start_angle + segment.sweep * i / count) for i in range(count + 1)
        ]
    (x0, y0), (x1, y1) = segment
    count = 2 * math.ceil(math.hypot(x1 - x0, y1 - y0) / STEP / 2.0)
    return [(x0 + (x1 - x0) * i / count, y0 + (y1 - y0) * i / count) for i in range(count + 1)]


def norm(a: NDArray[np.float64], b: NDArray[np.float64]) -> float:
    return float(np.hypot(*a) * np.hypot(*b))


def radius_through(a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64]) -> float:
    """Radius of the circle through three points (Heron), infinite when they are in line."""
    u, v = b - a, c - a
    twice_area = abs(u[0] * v[1] - u[1] * v[0])
    sides = float(np.hypot(*u) * np.hypot(*v) * np.hypot(*(c - b)))
    return sides / (2.0 * twice_area) if twice_area > 1e-9 * sides else math.inf


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
    radius = CORNER_DEVIATION / (math.sqrt(2.0) - 1.0)
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


@settings(max_examples=40, deadline=None)
@given(path=paths, speed=st.floats(5.0, 200.0), acceleration=st.floats(100.0, 5000.0))
def test_times_agree_with_a_numerical_integration(
    path: Path, speed: float, acceleration: float
) -> None:
    expected = integrated_seconds(path, speed, acceleration)
    assert path_seconds(path, speed, acceleration) == pytest.approx(expected, rel=2e-3)


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
    # home to the line, on to the hook, on to the ring; the second ring starts where the first ends
    travels = [3.0, 6.0, 36.0, 0.0]
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
