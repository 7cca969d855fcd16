"""Whether contours meet and how deep they lie in each other, against shapely."""

from __future__ import annotations

import math

import crowds
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import MultiPoint, Polygon, box
from shapely.geometry.polygon import orient

from jobprep.geometry.meetings import depths, first_meeting
from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Point,
    circle,
    moved_contour,
    polygon,
    rectangle,
)

CORNERS = st.lists(
    st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=3, max_size=10, unique=True
)


@given(CORNERS)
def test_a_polygon_meets_itself_where_shapely_says_so(corners: list[tuple[int, int]]) -> None:
    """On a grid of integers both are exact."""
    meeting = first_meeting([polygon(corners)])
    assert (meeting is None) == Polygon(corners).is_valid


@st.composite
def hulls(draw: st.DrawFn) -> Polygon:
    """Draw a convex polygon with corners of integers, small or large."""
    size = draw(st.sampled_from((1, 2, 8)))
    x, y = draw(st.integers(0, 12 - size)), draw(st.integers(0, 12 - size))
    hull = MultiPoint(
        [(x + size * i // 6, y + size * j // 6) for i, j in draw(CORNERS)]
    ).convex_hull
    return hull if isinstance(hull, Polygon) else box(x, y, x + size, y + size)


def contour(shape: Polygon) -> Contour:
    return polygon(orient(shape).exterior.coords[:-1])


@given(st.lists(hulls(), min_size=2, max_size=4))
def test_polygons_meet_where_shapely_says_so(shapes: list[Polygon]) -> None:
    rings = [shape.exterior for shape in shapes]
    expected = any(a.intersects(b) for n, a in enumerate(rings) for b in rings[:n])
    meeting = first_meeting([contour(shape) for shape in shapes])
    assert (meeting is not None) == expected
    if meeting is not None:
        assert rings[meeting.first].intersects(rings[meeting.second])
        assert meeting.first != meeting.second


@given(st.lists(hulls(), min_size=1, max_size=12), st.integers(0, 3))
def test_depth_is_in_how_many_others_a_polygon_lies(given: list[Polygon], around: int) -> None:
    shapes: list[Polygon] = []
    for shape in given:
        if not any(shape.exterior.intersects(other.exterior) for other in shapes):
            shapes.append(shape)
    rings = [circle(Point(6.0, 6.0), 15.0 + number) for number in range(around)]
    expected = [
        around + sum(other.contains(shape) for other in shapes if other is not shape)
        for shape in shapes
    ]
    found = depths([*map(contour, shapes), *rings])
    assert found == expected + list(range(around - 1, -1, -1))


def test_a_cusp_is_no_meeting_but_a_side_run_back_over_is() -> None:
    """Circles that touch from inside run into their common point along each other."""
    outer = Arc(Point(0.0, 0.0), 50.0, 0.0, math.tau)
    inner = Arc(Point(20.0, 0.0), 30.0, 0.0, -math.tau)
    assert first_meeting([Contour((outer, inner))]) is None
    start, end = Point(0.0, 0.0), Point(30.0, 0.0)
    there_and_back = Contour((Line(start, end), Line(end, start)))
    assert first_meeting([there_and_back]) is None
    halves = Contour((Line(start, end), Line(end, Point(9.0, 0.0)), Line(Point(9.0, 0.0), start)))
    meeting = first_meeting([halves])
    assert meeting is not None
    assert meeting.is_joint


@pytest.mark.parametrize("shape", crowds.OUTLINES)
def test_a_crowd_of_edges_is_simple_until_one_crosses(shape: str) -> None:
    outline = crowds.OUTLINES[shape](2000)
    assert first_meeting([outline]) is None
    middle = outline.segments[1000].start
    bar = moved_contour(rectangle(0.3, 0.3), 0.2, middle.x, middle.y)
    meeting = first_meeting([outline, bar])
    assert meeting is not None
    assert {meeting.first, meeting.second} == {0, 1}
    assert math.dist(meeting.point, middle) < 0.5


def test_thousands_of_holes_and_rings_each_find_their_depth() -> None:
    grid = range(40)
    holes = [moved_contour(rectangle(0.5, 0.5), 0.1, x + 0.3, y + 0.3) for x in grid for y in grid]
    rings = [circle(Point(20.0, 20.0), 40.0 + number) for number in range(500)]
    assert depths([*holes, *rings]) == [500] * 1600 + list(range(499, -1, -1))
