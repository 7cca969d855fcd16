"""The walk to corners against plain loops, and where it must end."""

from __future__ import annotations

import functools
import itertools
import math

import numpy as np
import pytest

from jobprep.nesting.columns import SPOT, TURN, WALL, X, Y
from jobprep.nesting.fields import FieldPacker, Fields
from jobprep.nesting.kernels_cost import spot_cost
from jobprep.nesting.kernels_overlap import pair_overlap
from jobprep.nesting.kernels_spot import enter, turn_spot
from jobprep.nesting.kernels_walk import MOST_WALLS, best_step, find_walls, walk
from jobprep.nesting.layout import Scene, Shapes, Weights, lay_out
from jobprep.nesting.prepare import build_shapes

SQUARE = np.array([(-5, -5), (5, -5), (5, 5), (-5, 5)], float)
NOTCHED = np.array([(-6, -6), (6, -6), (6, -2), (-2, -2), (-2, 3), (6, 3), (6, 6), (-6, 6)], float)
TRIANGLE = np.array([(-4, -3), (5, -2), (0, 6)], float)
SMALL = np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)], float)
RINGS = [SQUARE, NOTCHED, TRIANGLE, SMALL]
FAR = 1e300


@functools.cache
def all_shapes() -> tuple[Fields, Shapes]:
    packer = FieldPacker()
    kinds = len(RINGS)
    shapes = build_shapes([[ring] for ring in RINGS], [4] * kinds, [0.0] * kinds, packer)
    return packer.packed(), shapes


def prepared(places: list[tuple[int, int, float, float]], width: float = 100.0) -> Scene:
    """Lay out parts, each given by its kind, turn, x and y, on a sheet of a width."""
    fields, shapes = all_shapes()
    n = len(places)
    spots = np.zeros((n, SPOT))
    for spot, (kind, turn, x, y) in zip(spots, places, strict=True):
        turn_spot(shapes, kind, turn, 0.0, spot)
        spot[X], spot[Y] = x, y
    kinds = np.array([place[0] for place in places], np.int64)
    layout = lay_out(kinds, spots, np.array([(0.0, 0.0, width, 100.0)]), np.array([-1], np.int64))
    enter(layout)
    weights = Weights(np.ones((n, n), np.float32), np.ones(n), np.ones(n))
    return Scene(fields, shapes, layout, weights)


def walls_of(places: list[tuple[int, int, float, float]], reach: float) -> np.ndarray:
    """Return the walls around the first part, without the four of the sheet."""
    walls = np.zeros((MOST_WALLS + 1, WALL))
    scene = prepared(places)
    count = find_walls(scene, 0, scene.layout.spots[0], reach, walls)
    return walls[4:count]


def slow_cost(walls: np.ndarray, x: float, y: float) -> float:
    return sum(w * max(0.0, d - nx * x - ny * y) for nx, ny, d, w in walls)


@pytest.mark.parametrize("seed", range(30))
def test_the_best_step_ends_where_the_best_of_all_corners_lies(seed: int) -> None:
    draw = np.random.default_rng(seed)
    n = int(draw.integers(2, 9))
    angle = draw.uniform(0.0, math.tau, n)
    walls = np.zeros((MOST_WALLS + 1, WALL))
    walls[:n] = np.stack(
        [np.cos(angle), np.sin(angle), draw.uniform(-1, 1, n), draw.uniform(1, 9, n)], axis=1
    )
    corners = [(0.0, 0.0), *(wall[2] * wall[:2] for wall in walls[:n])]
    for a, b in itertools.combinations(walls[:n], 2):
        corners.append(np.linalg.solve([a[:2], b[:2]], [a[2], b[2]]))
    least = min(slow_cost(walls[:n], *corner) for corner in corners if math.hypot(*corner) <= 2.0)
    step = np.zeros(4)
    assert best_step(walls, n, 2.0, step) == pytest.approx(least, abs=1e-6)
    assert slow_cost(walls[:n], step[0], step[1]) == pytest.approx(least, abs=1e-6)
    assert math.hypot(step[0], step[1]) <= 2.0


@pytest.mark.parametrize("seed", range(200))
def test_a_wall_says_how_the_overlap_falls_and_where_it_begins(seed: int) -> None:
    draw = np.random.default_rng(seed)
    kinds = draw.integers(len(RINGS), size=2)
    turns = draw.integers(4, size=2)
    x, y = draw.uniform(-9, 9, 2)
    places = [
        (int(kinds[0]), int(turns[0]), 50.0 + x, 50.0 + y),
        (int(kinds[1]), int(turns[1]), 50.0, 50.0),
    ]
    fields, shapes, layout, _ = prepared(places)
    here, there = layout.spots

    def overlap(dx: float, dy: float) -> float:
        moved = here.copy()
        moved[X] += dx
        moved[Y] += dy
        return pair_overlap(fields, shapes, kinds[0], moved, kinds[1], there)

    found = overlap(0.0, 0.0)
    for nx, ny, depth, weight in walls_of(places, 1.0):
        assert weight == 1.0
        assert math.hypot(nx, ny) == pytest.approx(1.0)
        if found > 0.0:
            assert depth == pytest.approx(found, rel=1e-6)
            # Deep inside depths are interpolated: there only the way down must be right.
            assert overlap(0.01 * nx, 0.01 * ny) < found
        elif depth < 0.0:
            assert overlap((depth - 0.01) * nx, (depth - 0.01) * ny) > 0.0
            assert overlap(0.5 * depth * nx, 0.5 * depth * ny) == 0.0


def test_all_edges_of_a_notch_are_walls_from_outside() -> None:
    """A small square in the notch, 0.5 mm from its end and 0.25 mm from its upper side."""
    walls = walls_of([(3, 0, 50.0 - 2.0 + 1.5, 50.0 + 3.0 - 1.25), (1, 0, 50.0, 50.0)], 0.6)
    assert {tuple(wall) for wall in walls.round(9).tolist()} == {
        (1.0, 0.0, -0.5, 1.0),
        (0.0, -1.0, -0.25, 1.0),
    }


@pytest.mark.parametrize("seed", range(40))
def test_a_walk_never_goes_uphill_and_tells_the_cost_where_it_ends(seed: int) -> None:
    draw = np.random.default_rng(seed)
    places = [
        (
            int(draw.integers(len(RINGS))),
            int(draw.integers(4)),
            *map(float, draw.uniform(20, 50, 2)),
        )
        for _ in range(8)
    ]
    scene = prepared(places)
    spot = scene.layout.spots[0].copy()
    start = spot_cost(scene, 0, spot, FAR)
    walls, trial = np.zeros((MOST_WALLS + 1, WALL)), np.zeros(SPOT)
    cost, tried = walk(scene, 0, spot, start, 3.0, walls, trial)
    assert 0.0 <= cost <= start
    assert cost == spot_cost(scene, 0, spot, FAR)
    assert tried > 0 or start == 0.0


@pytest.mark.parametrize("offset", [0.3, -1.2, 2.0])
def test_a_walk_ends_exactly_in_a_gap_that_just_fits(offset: float) -> None:
    """Between two squares, on the lower edge of the sheet: only one spot is free."""
    places = [(0, 0, 15.0 + offset, 6.5), (0, 0, 5.0, 5.0), (0, 0, 25.0, 5.0), (0, 0, 15.0, 15.5)]
    scene = prepared(places)
    spot = scene.layout.spots[0].copy()
    start = spot_cost(scene, 0, spot, FAR)
    walls, trial = np.zeros((MOST_WALLS + 1, WALL)), np.zeros(SPOT)
    cost, _ = walk(scene, 0, spot, start, 3.0, walls, trial)
    assert start > 0.0
    assert cost == 0.0
    assert spot[X] == pytest.approx(15.0, abs=1e-6)


def test_a_walk_leaves_free_turns_to_others() -> None:
    scene = prepared([(0, 0, 20.0, 20.0), (0, 0, 25.0, 20.0)])
    scene.layout.spots[1, TURN] = -1.0
    walls, trial = np.zeros((MOST_WALLS + 1, WALL)), np.zeros(SPOT)
    spot = scene.layout.spots[0].copy()
    assert walk(scene, 0, spot, 5.0, 3.0, walls, trial) == (5.0, -1)
