"""Whether a segment lies within a distance, against many points of it."""

from __future__ import annotations

import math

from hypothesis import assume, given
from hypothesis import strategies as st
from oracles import sampled
from strategies import lengths, points, segments

from jobprep.geometry.outline import Arc, Line, Point, Segment
from jobprep.geometry.segment import segment_length
from jobprep.geometry.within import Source, apart, is_within

SOURCES: st.SearchStrategy[Source] = points() | segments().filter(
    lambda each: isinstance(each, Line) or abs(each.sweep) <= math.pi
)


@given(segments(), SOURCES)
def test_it_is_decided_at_the_farthest_point(segment: Segment, source: Source) -> None:
    farthest = max(apart(source, point) for point in sampled(segment, 2000))
    assert is_within(segment, source, farthest + segment_length(segment) / 2000)
    assert not is_within(segment, source, farthest * (1.0 - 1e-9) - 1e-8)


@given(points(), lengths(), st.floats(-3.0, 3.0), lengths(0.5, 3.0))
def test_a_moved_segment_is_just_within_the_distance_of_what_it_moved_from(
    start: Point, length: float, angle: float, distance: float
) -> None:
    end = Point(start.x + length * math.cos(angle), start.y + length * math.sin(angle))
    x, y = -distance * math.sin(angle), distance * math.cos(angle)
    moved = Line(Point(start.x + x, start.y + y), Point(end.x + x, end.y + y))
    assert is_within(moved, Line(start, end), distance)
    assert not is_within(moved, Line(start, end), distance - 1e-8)


@given(points(), lengths(), st.floats(-3.0, 3.0), st.floats(0.1, 3.1), lengths(0.5, 3.0))
def test_so_is_an_arc(
    centre: Point, radius: float, start: float, sweep: float, distance: float
) -> None:
    arc = Arc(centre, radius, start, sweep)
    assert is_within(arc._replace(radius=radius + distance), arc, distance)
    assume(radius > distance)
    assert is_within(arc._replace(radius=radius - distance), arc, distance)
