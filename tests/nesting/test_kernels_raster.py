"""Raster kernels against slow twins that look at every cell."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.nesting.kernels_raster import block, count_runs, first_fit, mark_touched, spans_of
from jobprep.nesting.shapes import ring_starts

blocked_grids = st.integers(0, 2**32 - 1).map(
    lambda seed: (np.random.default_rng(seed).random((9, 12)) < 0.25).astype(np.uint8)
)


def runs_of(blocked: np.ndarray) -> np.ndarray:
    runs = np.zeros(blocked.shape, np.int32)
    count_runs(blocked, runs)
    return runs


def needs_of(part: np.ndarray) -> np.ndarray:
    return slow_runs(1 - part).max(axis=1)


def slow_runs(blocked: np.ndarray) -> np.ndarray:
    runs = np.zeros(blocked.shape, np.int32)
    for x, y in np.ndindex(blocked.shape):
        while y + runs[x, y] < blocked.shape[1] and not blocked[x, y + runs[x, y]]:
            runs[x, y] += 1
    return runs


def slow_first_fit(blocked: np.ndarray, part: np.ndarray) -> tuple[int, int] | None:
    width, height = part.shape
    for x in range(blocked.shape[0] - width + 1):
        for y in range(blocked.shape[1] - height + 1):
            if not (blocked[x : x + width, y : y + height] & part).any():
                return x, y
    return None


def random_ring(draw: np.random.Generator, *, whole: bool) -> np.ndarray:
    """Return corners round the middle of twelve cells, at whole numbers or anywhere."""
    angles = np.sort(draw.uniform(0, 2 * np.pi, draw.integers(3, 9)))
    radii = draw.uniform(1.0, 5.5, len(angles))
    ring = np.column_stack([6 + radii * np.cos(angles), 6 + radii * np.sin(angles)])
    return np.round(ring) if whole else ring


@pytest.mark.parametrize("seed", range(30))
def test_marked_cells_are_those_the_polygon_touches(seed: int) -> None:
    draw = np.random.default_rng(seed)
    ring = random_ring(draw, whole=seed % 3 == 0)
    while not shapely.Polygon(ring).is_valid or shapely.Polygon(ring).area == 0:
        ring = random_ring(draw, whole=seed % 3 == 0)
    polygon = shapely.Polygon(ring)
    marks = np.zeros((12, 12), np.uint8)
    mark_touched(np.ascontiguousarray(ring), ring_starts([ring]), marks)
    for x, y in np.ndindex(marks.shape):
        shared = polygon.intersection(shapely.box(x, y, x + 1, y + 1)).area
        if shared > 1e-6:
            assert marks[x, y]
        elif shared == 0.0 and polygon.distance(shapely.box(x, y, x + 1, y + 1)) > 1e-6:
            assert not marks[x, y]


@given(blocked_grids)
@settings(max_examples=30, deadline=None)
def test_runs_count_free_cells_upwards(blocked: np.ndarray) -> None:
    assert (runs_of(blocked) == slow_runs(blocked)).all()


@given(blocked_grids, st.integers(0, 2**32 - 1))
@settings(max_examples=60, deadline=None)
def test_first_fit_is_the_first_free_place(blocked: np.ndarray, seed: int) -> None:
    part = (np.random.default_rng(seed).random((3, 4)) < 0.6).astype(np.uint8)
    place = np.zeros(2, np.int64)
    runs = runs_of(blocked)
    first_fit(runs, runs.max(axis=1), spans_of(part), needs_of(part), 4, place)
    expected = slow_first_fit(blocked, part)
    assert place[0] < 0 if expected is None else tuple(place) == expected


@given(blocked_grids, st.integers(0, 2**32 - 1))
@settings(max_examples=60, deadline=None)
def test_blocking_a_part_leaves_the_runs_of_the_new_grid(blocked: np.ndarray, seed: int) -> None:
    part = (np.random.default_rng(seed).random((3, 4)) < 0.6).astype(np.uint8)
    expected = slow_first_fit(blocked, part)
    if expected is None:
        return
    x, y = expected
    runs = runs_of(blocked)
    tallest = runs.max(axis=1)
    block(runs, tallest, spans_of(part), x, y)
    taken = blocked.copy()
    taken[x : x + 3, y : y + 4] |= part
    assert (runs == slow_runs(taken)).all()
    assert (tallest == runs.max(axis=1)).all()
