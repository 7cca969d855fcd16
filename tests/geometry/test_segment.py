"""Measures of one segment against points sampled on it."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from oracles import sampled
from strategies import points, segments

from jobprep.geometry.outline import Arc, Line, Point, Segment, reversed_segment
from jobprep.geometry.segment import (
    end_direction,
    heading,
    midpoint,
    point_along,
    point_distance,
    reach,
    segment_box,
    segment_length,
    start_direction,
    sweeps_over,
)

QUARTER = Arc(Point(1.0, 2.0), 10.0, 0.0, math.pi / 2)


def test_a_quarter_circle() -> None:
    assert segment_length(QUARTER) == pytest.approx(5.0 * math.pi)
    assert start_direction(QUARTER) == pytest.approx((0.0, 1.0))
    assert end_direction(QUARTER) == pytest.approx((-1.0, 0.0))
    back = reversed_segment(QUARTER)
    assert start_direction(back) == pytest.approx((1.0, 0.0))
    assert end_direction(back) == pytest.approx((0.0, -1.0))
    assert reach(QUARTER) == pytest.approx(10.0 * math.sqrt(2.0))
    assert sweeps_over(QUARTER, 1.0, 1.0)
    assert not sweeps_over(QUARTER, -1.0, 1.0)


@given(segments())
def test_length_is_that_of_many_chords(segment: Segment) -> None:
    some = sampled(segment, 4000)
    length = sum(math.dist(a, b) for a, b in itertools.pairwise(some))
    assert segment_length(segment) == pytest.approx(length, rel=1e-6)


@given(segments(), points(20.0))
def test_point_distance_is_that_of_the_nearest_sample(segment: Segment, point: Point) -> None:
    nearest = min(math.dist(each, point) for each in sampled(segment, 4000))
    exact = point_distance(segment, point)
    assert exact <= nearest + 1e-12
    # A sample lies within half a step of the nearest point.
    assert nearest - exact <= segment_length(segment) / 8000 + 1e-12


@given(segments(), st.floats(0.0, 1.0))
def test_points_along_lie_on_the_segment_and_in_its_box(segment: Segment, share: float) -> None:
    x, y = point = point_along(segment, share)
    assert point_distance(segment, point) <= 1e-12
    x_min, y_min, x_max, y_max = segment_box(segment)
    assert x_min - 1e-12 <= x <= x_max + 1e-12
    assert y_min - 1e-12 <= y <= y_max + 1e-12
    assert point_along(reversed_segment(segment), 1.0 - share) == pytest.approx(point, abs=1e-9)
    assert midpoint(segment) == point_along(segment, 0.5)


@given(segments())
def test_directions_are_those_of_the_first_and_last_steps(segment: Segment) -> None:
    for end, direction, turned in (
        (segment, start_direction(segment), segment),
        (segment, end_direction(segment), reversed_segment(segment)),
    ):
        sign = 1.0 if turned is end else -1.0
        near = turned.start
        far = point_along(turned, 1e-6)
        step = math.dist(near, far)
        seen = (sign * (far.x - near.x) / step, sign * (far.y - near.y) / step)
        assert seen == pytest.approx(direction, abs=1e-4)


@given(segments(), st.floats(0.01, 0.99))
def test_heading_points_to_where_the_segment_is_that_far_away(
    segment: Segment, share: float
) -> None:
    distance = share * reach(segment)
    angle = heading(segment.start, segment, distance)
    x, y = segment.start
    there = (x + distance * math.cos(angle), y + distance * math.sin(angle))
    assert point_distance(segment, there) <= 1e-9


def test_heading_tells_apart_what_sets_out_the_same_way() -> None:
    start = Point(0.0, 0.0)
    straight = Line(start, Point(5.0, 0.0))
    left = Arc(Point(0.0, 3.0), 3.0, -math.pi / 2, 1.0)
    right = Arc(Point(0.0, -3.0), 3.0, math.pi / 2, -1.0)
    order = [heading(start, each, 0.5) for each in (right, straight, left)]
    assert order == sorted(order)
    assert order[1] == 0.0
