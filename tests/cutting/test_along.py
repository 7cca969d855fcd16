"""Pieces of paths: they add up to the whole and keep arcs arcs."""

import itertools
import math

import pytest
from cutting.sheets import sheet_of
from hypothesis import given
from hypothesis import strategies as st

from jobprep.cutting.along import begun_at_length, is_closed, piece, rest
from jobprep.geometry.measure import path_length
from jobprep.geometry.outline import Arc, Line, Path, Point, circle

(SECTOR,) = sheet_of(["sector"], 1)
PATH: Path = SECTOR.region.outer.segments
LENGTH = path_length(PATH)


@given(first=st.floats(0.0, 0.98), share=st.floats(0.01, 1.0))
def test_a_piece_is_as_long_as_its_span_and_joined_up(first: float, share: float) -> None:
    low = first * LENGTH
    high = low + share * (LENGTH - low)
    kept = piece(PATH, (low, high))
    assert path_length(kept) == pytest.approx(high - low, abs=1e-5)
    for before, after in itertools.pairwise(kept):
        assert math.dist(before.end, after.start) < 1e-5


def test_the_whole_is_the_same_path() -> None:
    assert piece(PATH, (0.0, LENGTH)) == PATH


def test_a_piece_within_an_arc_is_an_arc() -> None:
    (ring,) = circle(Point(1.0, 2.0), 10.0).segments
    (kept,) = piece((ring,), (5.0 * math.pi, 10.0 * math.pi))
    assert isinstance(kept, Arc)
    assert kept.centre == (1.0, 2.0)
    assert kept[1:] == pytest.approx((10.0, math.pi / 2.0, math.pi / 2.0))


def test_gaps_and_the_rest_make_up_a_path() -> None:
    gaps = [(30.0, 31.0), (0.0, 2.0), (LENGTH - 1.0, LENGTH)]
    kept = rest(PATH, gaps)
    assert [path_length(each) for each in kept] == pytest.approx([28.0, LENGTH - 32.0])
    assert rest(PATH, []) == (PATH,)


@pytest.mark.parametrize("length", [0.0, 3.0, 50.0, LENGTH - 0.5])
def test_a_closed_path_may_begin_anywhere(length: float) -> None:
    begun = begun_at_length(PATH, length)
    assert is_closed(begun)
    assert path_length(begun) == pytest.approx(LENGTH, abs=1e-5)
    assert (
        math.dist(begun[0].start, piece(PATH, (0.0, length))[-1].end if length else PATH[0].start)
        < 1e-5
    )


def test_a_circle_begun_anywhere_stays_one_arc() -> None:
    begun = begun_at_length(circle(Point(0.0, 0.0), 10.0).segments, 5.0 * math.pi)
    assert begun == (Arc(Point(0.0, 0.0), 10.0, math.pi / 2.0, math.tau),)


def test_an_open_path_is_not_closed() -> None:
    assert not is_closed((Line(Point(0.0, 0.0), Point(1.0, 0.0)),))
