"""Which segments may meet: the sweep against looking at every pair."""

from __future__ import annotations

import itertools
import math
import random

import crowds
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import segments

from jobprep.geometry.distance import narrowest_web, path_distance, segment_distance
from jobprep.geometry.measure import bounds
from jobprep.geometry.near import Box, CrowdedError, near_boxes, near_segments
from jobprep.geometry.near_pieces import near_among_many
from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Point,
    Region,
    Segment,
    circle,
    moved_contour,
    polygon,
    reversed_contour,
    scaled_path,
)
from jobprep.geometry.segment import segment_box
from jobprep.geometry.shapes import annular_sector

ROUNDING = 1e-9


@st.composite
def boxes(draw: st.DrawFn) -> Box:
    """Draw boxes from dots to ones as large as all the others together."""
    x, y = draw(st.integers(0, 40)), draw(st.integers(0, 40))
    sides = st.sampled_from((0, 1, 3, 40))
    return float(x), float(y), float(x + draw(sides)), float(y + draw(sides))


def meet(a: Box, b: Box, tolerance: float) -> bool:
    return all(a[k] <= b[k + 2] + tolerance and b[k] <= a[k + 2] + tolerance for k in (0, 1))


@given(st.lists(boxes(), max_size=60), st.sampled_from((0.0, 0.5, 2.0)))
def test_the_sweep_finds_every_pair_once(found: list[Box], tolerance: float) -> None:
    pairs = [tuple(sorted(pair)) for pair in near_boxes(found, tolerance) or ()]
    every = itertools.combinations(range(len(found)), 2)
    assert sorted(pairs) == [(i, j) for i, j in every if meet(found[i], found[j], tolerance)]


@given(st.lists(segments(), max_size=12), st.sampled_from((0.0, 0.5, 2.0)))
def test_no_segment_that_is_near_is_passed_over(found: list[Segment], tolerance: float) -> None:
    near = {frozenset(pair) for pair in near_segments(found, tolerance)}
    for i, j in itertools.combinations(range(len(found)), 2):
        if segment_distance(found[i], found[j]) <= tolerance - ROUNDING:
            assert frozenset((i, j)) in near


def test_what_lies_far_inside_a_circle_is_not_held_against_it() -> None:
    around = circle(Point(0.0, 0.0), 50.0).segments
    inside = circle(Point(20.0, 0.0), 10.0).segments
    assert list(near_segments(around + inside, 1.0)) == []
    assert list(near_segments(around + inside, 20.0)) == [(0, 1)]


@pytest.mark.parametrize("limit", [0.2, 0.9, 5.0])
def test_the_narrowest_web_is_that_of_all_pairs_of_contours(limit: float) -> None:
    slot = annular_sector(30.0, 34.0, 0.0, 0.1)
    turns = [0.0, 0.12, 0.5, 0.9, 1.1, 2.0]
    holes = [reversed_contour(moved_contour(slot.outer, turn, 0.1, 0.0)) for turn in turns]
    region = Region(circle(Point(0.0, 0.0), 35.0), tuple(holes))
    every = itertools.combinations(region.contours, 2)
    least = min(path_distance(a.segments, b.segments) for a, b in every)
    assert 0.2 < least < 0.9
    assert narrowest_web(region, limit) == min(least, limit)


def crossing(tries: random.Random, size: float) -> list[Segment]:
    """Return segments of all lengths and directions, many of which cross."""
    found: list[Segment] = []
    for _ in range(60):
        x, y = tries.uniform(0.0, 20.0), tries.uniform(0.0, 20.0)
        length, angle = (
            size * tries.random() ** 3,
            tries.choice((0.0, 1.0, tries.uniform(0.0, 7.0))),
        )
        end = Point(x + length * math.cos(angle), y + length * math.sin(angle))
        arc = Arc(Point(x, y), 0.01 + length, angle, tries.uniform(-math.tau, math.tau))
        found.append(tries.choice((Line(Point(x, y), end), arc)))
    return found


@pytest.mark.slow
@pytest.mark.parametrize("size", [0.5, 5.0, 40.0])
@pytest.mark.parametrize("tolerance", [1e-7, 0.1, 3.0])
def test_the_search_among_many_passes_over_none(size: float, tolerance: float) -> None:
    tries = random.Random(size)
    for _ in range(20):
        found = crossing(tries, size)
        near = near_among_many(found, tolerance, math.inf)
        assert near == sorted(set(near))
        boxes = [segment_box(each) for each in found]
        for i, j in itertools.combinations(range(len(found)), 2):
            if not meet(boxes[i], boxes[j], tolerance):
                continue
            if segment_distance(found[i], found[j]) <= tolerance - ROUNDING:
                assert (i, j) in near


@given(st.lists(segments(), max_size=12), st.sampled_from((0.0, 0.5, 2.0)))
def test_nor_does_it_where_ends_and_lines_coincide(found: list[Segment], tolerance: float) -> None:
    near = near_among_many(found, tolerance, math.inf)
    for i, j in itertools.combinations(range(len(found)), 2):
        if segment_distance(found[i], found[j]) <= tolerance - ROUNDING:
            assert (i, j) in near


@pytest.mark.parametrize("shape", crowds.SHAPES)
def test_work_grows_with_the_edges_whatever_their_shape(shape: str) -> None:
    """As many pairs are looked at as would be among edges that keep apart: a few for each."""
    for count in (1000, 4000):
        outline = polygon(crowds.SHAPES[shape](count))
        near = list(near_segments(outline.segments, 1e-6, most=16 * count))
        assert len(near) < 16 * count


def test_more_pairs_than_asked_for_are_refused() -> None:
    """All edges of a zigzag lie within its width of each other."""
    outline = polygon(crowds.SHAPES["zigzag"](1000))
    with pytest.raises(CrowdedError):
        list(near_segments(outline.segments, 200.0, most=50_000))


@pytest.mark.slow
@pytest.mark.parametrize("apart", [-50.0, 1e-3, 0.4, 30.0])
@pytest.mark.parametrize("shape", crowds.OUTLINES)
def test_the_least_distance_of_long_paths_is_that_of_all_pairs(shape: str, apart: float) -> None:
    outline = crowds.OUTLINES[shape](330)
    box = bounds(outline.segments)
    beside = moved_contour(outline, 0.0, box.width + apart, 0.0).segments
    paths = outline.segments, beside
    own, other = ([(each, segment_box(each)) for each in path] for path in paths)
    expected = min(
        segment_distance(a, b) for a, box in own for b, aside in other if meet(box, aside, 120.0)
    )
    assert path_distance(*paths) == pytest.approx(expected, abs=1e-12)
    assert path_distance(*paths, 0.3) == pytest.approx(min(expected, 0.3), abs=1e-12)


@pytest.mark.slow
def test_the_narrowest_web_of_many_edges_is_found_between_any_two_contours() -> None:
    """The holes are zigzags whose own edges are nearer to each other than any web."""
    hole = Contour(scaled_path(crowds.OUTLINES["zigzag"](400).segments, 0.04))
    places = [(0.0, 0.0), (12.0, 0.0), (0.0, 12.0), (12.0, 12.03), (24.0, 0.0)]
    holes = [reversed_contour(moved_contour(hole, 0.0, x, y)) for x, y in places]
    region = Region(circle(Point(15.0, 10.0), 60.0), tuple(holes))
    every = itertools.combinations(region.contours, 2)
    expected = min(path_distance(a.segments, b.segments) for a, b in every)
    assert 0.5 < expected < 5.0
    for limit in (0.1, 5.0, 40.0):
        assert narrowest_web(region, limit) == pytest.approx(min(limit, expected), abs=1e-12)
