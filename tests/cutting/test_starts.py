"""Starts: corners of parts, middles of long sides in holes, spread round circles."""

import math

import pytest
from cutting.sheets import hole, placed, sheet_of, square_hole

from jobprep.cutting.kerf import tool_paths
from jobprep.cutting.starts import (
    MOST_STARTS,
    ROUND_STARTS,
    Start,
    begun_at,
    possible_starts,
    start_point,
)
from jobprep.geometry.measure import path_length, signed_area
from jobprep.geometry.outline import Arc, Contour, Line, Point, Region, circle, polygon, rectangle


@pytest.mark.parametrize("kerf", [0.0, 0.2])
def test_a_sector_starts_at_its_four_corners(kerf: float) -> None:
    (part,) = sheet_of(["sector"], 4)
    corners = [segment.start for segment in part.region.outer.segments]
    path = tool_paths(part, kerf).outer
    starts = [start_point(path, each) for each in possible_starts(path, kerf, hole=False)]
    assert len(starts) == 4
    for corner in corners:
        assert min(math.dist(corner, start) for start in starts) == pytest.approx(kerf / 2.0)


def test_concave_corners_are_no_starts() -> None:
    notched = polygon(((0, 0), (10, 0), (10, 10), (5, 10), (5, 5), (0, 5)))
    starts = [start_point(notched, each) for each in possible_starts(notched, 0.0, hole=False)]
    assert Point(5, 5) not in starts
    assert len(starts) == 5


def test_a_hole_starts_in_the_middle_of_its_long_sides() -> None:
    path = square_hole(0.0, 0.0, 6.0)
    starts = [start_point(path, each) for each in possible_starts(path, 0.0, hole=True)]
    assert sorted(starts) == sorted([(3.0, 0.0), (-3.0, 0.0), (0.0, 3.0), (0.0, -3.0)])


def test_short_sides_are_no_starts_beside_long_ones() -> None:
    starts = possible_starts(rectangle(10.0, 1.0), 0.0, hole=True)
    assert [start.segment for start in starts] == [0, 2]


def test_a_circle_offers_points_all_round() -> None:
    for path, is_hole in ((circle(Point(1.0, 2.0), 3.0), False), (hole(1.0, 2.0, 3.0), True)):
        starts = possible_starts(path, 0.0, hole=is_hole)
        assert len(starts) == ROUND_STARTS
        assert len({start_point(path, each) for each in starts}) == ROUND_STARTS


def test_many_corners_are_thinned_out() -> None:
    star = [
        (r * math.cos(math.pi * i / 30), r * math.sin(math.pi * i / 30))
        for i, r in enumerate([10.0, 5.0] * 30)
    ]
    assert 1 < len(possible_starts(polygon(star), 0.0, hole=False)) <= MOST_STARTS


@pytest.mark.parametrize("kind", ["sector", "plate", "ring"])
def test_begun_anywhere_a_contour_is_the_same(kind: str) -> None:
    for part in sheet_of([kind], 6):
        for contour in part.region.contours:
            for segment in range(len(contour.segments)):
                for fraction in (0.0, 0.25, 0.5):
                    start = Start(segment, fraction)
                    begun = begun_at(contour, start)
                    assert math.dist(begun.segments[0].start, start_point(contour, start)) < 1e-9
                    assert math.dist(begun.segments[-1].end, begun.segments[0].start) < 1e-9
                    assert signed_area(begun) == pytest.approx(signed_area(contour))
                    assert path_length(begun.segments) == pytest.approx(
                        path_length(contour.segments)
                    )
                    split = fraction > 0.0 and len(contour.segments) > 1
                    assert len(begun.segments) == len(contour.segments) + split


def test_a_circle_stays_one_arc_wherever_it_begins() -> None:
    begun = begun_at(circle(Point(0.0, 0.0), 2.0), Start(0, 0.25))
    assert begun == Contour((Arc(Point(0.0, 0.0), 2.0, math.pi / 2.0, math.tau),))


def test_smooth_outlines_start_on_their_sides() -> None:
    stadium = Contour(
        (
            Line(Point(0, 0), Point(10, 0)),
            Arc(Point(10, 2), 2.0, -math.pi / 2.0, math.pi),
            Line(Point(10, 4), Point(0, 4)),
            Arc(Point(0, 2), 2.0, math.pi / 2.0, math.pi),
        )
    )
    path = tool_paths(placed(Region(stadium)), 0.2).outer
    starts = possible_starts(path, 0.2, hole=False)
    assert {start.fraction for start in starts} == {0.5}
    assert all(isinstance(path.segments[start.segment], Line) for start in starts)
