"""Polygons as people write them against shapely, which decides in its own way."""

from __future__ import annotations

import math
import random

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.geometry.measure import signed_area
from jobprep.geometry.outline import polygon
from jobprep.geometry.polygons import corners, defect_faults, polygon_fault

SQUARE = [[0, 0], [10, 0], [10, 10], [0, 10]]
L_SHAPE = [[0, 0], [210, 0], [210, 180], [90, 180], [90, 297], [0, 297]]

grid_points = st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=3, max_size=8)


def test_corners_run_anticlockwise_from_the_same_first_point() -> None:
    assert corners(SQUARE) == ((0, 0), (10, 0), (10, 10), (0, 10))
    assert corners(SQUARE[::-1]) == ((0, 10), (0, 0), (10, 0), (10, 10))
    assert corners([*SQUARE, [0, 0]]) == corners(SQUARE)


@settings(max_examples=400)
@given(points=grid_points)
def test_faults_agree_with_shapely(points: list[tuple[int, int]]) -> None:
    """Integer points touch, fold and cross often, and exactly."""
    ring = points[:-1] if points[0] == points[-1] else points
    if len(set(ring)) < 3 or len(ring) < 3:
        assert polygon_fault(points)
        return
    shape = shapely.Polygon(ring)
    repeats = any(ring[i] == ring[i - 1] for i in range(len(ring)))
    valid = shape.is_valid and shape.area > 0 and shape.exterior.is_simple and not repeats
    assert (polygon_fault(points) == "") == valid


@settings(max_examples=100)
@given(seed=st.integers(0, 2**32), count=st.integers(3, 40), scale=st.sampled_from([0.01, 1, 1000]))
def test_star_shaped_polygon_has_no_fault_and_the_area_of_shapely(
    seed: int, count: int, scale: float
) -> None:
    chance = random.Random(seed)
    angles = [2 * math.pi * (i + 0.4 * chance.random()) / count for i in range(count)]
    radii = [scale * (0.5 + chance.random()) for _ in angles]
    points = [
        [5 + radius * math.cos(angle), -3 + radius * math.sin(angle)]
        for radius, angle in zip(radii, angles, strict=True)
    ]
    assert polygon_fault(points) == ""
    assert polygon_fault(points[::-1]) == ""
    area = shapely.Polygon(points).area
    assert signed_area(polygon(corners(points))) == pytest.approx(area, rel=1e-9)
    assert signed_area(polygon(corners(points[::-1]))) == pytest.approx(area, rel=1e-9)


@settings(max_examples=300)
@given(inner=grid_points, outer=grid_points)
def test_containment_agrees_with_shapely(
    inner: list[tuple[int, int]], outer: list[tuple[int, int]]
) -> None:
    if polygon_fault(inner) or polygon_fault(outer):
        return
    expected = shapely.Polygon(outer).covers(shapely.Polygon(inner))
    assert (not any(defect_faults(corners(outer), [corners(inner)]))) == expected


def test_far_from_the_origin() -> None:
    far = [[x + 9000, y - 9000] for x, y in L_SHAPE]
    assert polygon_fault(far) == ""
    assert signed_area(polygon(corners(far))) == pytest.approx(210 * 180 + 90 * 117)


def test_close_points_count_as_one() -> None:
    assert polygon_fault([[0, 0], [10, 0], [10, 1e-7], [0, 10]]) == (
        "points 2 and 3 are the same; leave one out"
    )


def test_each_defect_beyond_its_sheet_is_named() -> None:
    """Crossing the edge and outside of it, beside one that is right and one along the edge."""
    sheet = corners([[0, 0], [30, 0], [30, 30], [0, 30]])
    defects = [[[x + 20, y + 25] for x, y in SQUARE], SQUARE, [[x + 40, y] for x, y in SQUARE]]
    defects.append([[5, 5], [9, 5], [9, 9]])
    faults = defect_faults(sheet, [corners(each) for each in defects])
    assert sorted({fault.contour for fault in faults}) == [1, 3]
