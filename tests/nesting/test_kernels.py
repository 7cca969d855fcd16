"""Kernels of the search against shapely and plain loops."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import affinity

from jobprep.nesting.columns import ANGLE, SPOT, X, Y
from jobprep.nesting.fields import FieldPacker, Fields, polygon_edges
from jobprep.nesting.kernels_overlap import disc_overlap, edges_cross, pair_overlap
from jobprep.nesting.kernels_spot import random_unit, turn_spot
from jobprep.nesting.kernels_weights import raise_weights, reset_weights
from jobprep.nesting.layout import Pose, Shapes, Weights
from jobprep.nesting.prepare import build_shapes

SQUARE = np.array([(-5, -5), (5, -5), (5, 5), (-5, 5)], float)
NOTCHED = np.array([(-6, -6), (6, -6), (6, -2), (-2, -2), (-2, 3), (6, 3), (6, 6), (-6, 6)], float)
TRIANGLE = np.array([(-4, -3), (5, -2), (0, 6)], float)
RINGS = [SQUARE, NOTCHED, TRIANGLE]


def prepared(n_turns: int) -> tuple[Fields, Shapes]:
    packer = FieldPacker()
    shapes = build_shapes([[ring] for ring in RINGS], [n_turns] * 3, [0.0] * 3, packer)
    return packer.packed(), shapes


def spot_at(shapes: Shapes, kind: int, turn: int, angle: float, x: float, y: float) -> np.ndarray:
    spot = np.zeros(SPOT)
    turn_spot(shapes, kind, turn, angle, spot)
    spot[X], spot[Y] = x, y
    return spot


def placed(kind: int, spot: np.ndarray) -> shapely.Polygon:
    turned = affinity.rotate(
        shapely.Polygon(RINGS[kind]), float(spot[ANGLE]), origin=(0, 0), use_radians=True
    )
    return affinity.translate(turned, float(spot[X]), float(spot[Y]))


@pytest.mark.parametrize("n_turns", [1, 4, 0])
def test_parts_overlap_exactly_when_their_polygons_do(n_turns: int) -> None:
    fields, shapes = prepared(n_turns)
    draw = np.random.default_rng(3)
    for _ in range(300):
        kinds = draw.integers(3, size=2)
        turns = draw.integers(n_turns, size=2) if n_turns else (-1, -1)
        spots = [
            spot_at(shapes, kind, turn, draw.uniform(0, math.tau), *draw.uniform(-8, 8, 2))
            for kind, turn in zip(kinds, turns, strict=True)
        ]
        a, b = (placed(kind, spot) for kind, spot in zip(kinds, spots, strict=True))
        shared = a.intersection(b).area
        found = pair_overlap(fields, shapes, kinds[0], spots[0], kinds[1], spots[1])
        back = pair_overlap(fields, shapes, kinds[1], spots[1], kinds[0], spots[0])
        assert found == pytest.approx(back, rel=0.1, abs=0.2)
        if shared == 0.0:
            assert found == 0.0
        elif shared > (1e-6 if n_turns else 0.5):
            assert found > 0.0


def test_moving_by_the_overlap_can_separate_two_squares() -> None:
    fields, shapes = prepared(1)
    still = spot_at(shapes, 0, 0, 0.0, 0.0, 0.0)
    spot = spot_at(shapes, 0, 0, 0.0, 8.7, 2.0)
    depth = pair_overlap(fields, shapes, 0, spot, 0, still)
    assert depth == pytest.approx(1.3, abs=1e-9)
    spot[X] += depth
    assert pair_overlap(fields, shapes, 0, spot, 0, still) == 0.0


def test_discs_overlap_by_what_their_radii_exceed_their_distance() -> None:
    assert disc_overlap(5.0, 3.0, 4.0) == 0.0
    assert disc_overlap(6.0, 3.0, 4.0) == pytest.approx(1.0)
    assert disc_overlap(6.0, 0.0, 0.0) == pytest.approx(6.0)


@pytest.mark.parametrize("seed", range(5))
def test_edges_cross_when_the_outlines_do(seed: int) -> None:
    draw = np.random.default_rng(seed)
    edges = [polygon_edges([ring]) for ring in RINGS]
    for _ in range(100):
        i, j = draw.integers(3, size=2)
        angle, x, y = draw.uniform(0, math.tau), *draw.uniform(-12, 12, 2)
        pose = Pose(angle, math.cos(angle), math.sin(angle), x, y)
        crossed = edges_cross(edges[i], 0, len(edges[i]), pose, edges[j], 0, len(edges[j]))
        moved = placed(i, np.array([x, y, angle]))
        assert crossed == moved.exterior.crosses(shapely.Polygon(RINGS[j]).exterior)


def test_edges_that_only_touch_do_not_cross() -> None:
    edges = polygon_edges([SQUARE])
    for x, y in ((10.0, 0.0), (10.0, 10.0), (10.0, 3.0), (0.0, 10.0)):
        assert not edges_cross(edges, 0, 4, Pose(0.0, 1.0, 0.0, x, y), edges, 0, 4)


def test_random_numbers_are_spread_evenly() -> None:
    state = np.array([12345], np.uint64)
    numbers = np.array([random_unit(state) for _ in range(20_000)])
    assert ((numbers >= 0.0) & (numbers < 1.0)).all()
    counts = np.histogram(numbers, 20, (0.0, 1.0))[0]
    # Chi squared with 19 degrees of freedom; 43.8 is its 0.1 % point.
    assert ((counts - 1000.0) ** 2 / 1000.0).sum() < 43.8


def test_weights_grow_while_parts_overlap_and_sink_to_their_hefts() -> None:
    heft = np.array([0.5, 1.0, 1.5])
    weights = Weights(np.zeros((3, 3), np.float32), np.zeros(3), heft)
    reset_weights(weights)
    least = np.outer(heft, heft)
    np.testing.assert_allclose(weights.pair, least)
    np.testing.assert_allclose(weights.edge, heft**2)

    expected, edge = least.copy(), heft**2
    overlapping = np.array([[1, 0], [2, 1]])
    depths, over = np.array([3.0, 1.0]), np.array([0.0, 0.0, 6.0])
    for _ in range(4):
        raise_weights(weights, overlapping, depths, 2, over)
        expected = np.maximum(least, 0.95 * expected)
        for (i, j), depth in zip(overlapping, depths, strict=True):
            expected[i, j] *= (1.2 + 0.8 * depth / 6.0) / 0.95
            expected[j, i] = expected[i, j]
        edge[2] *= 2.0
    np.testing.assert_allclose(weights.pair, expected, rtol=1e-6)
    np.testing.assert_allclose(weights.edge, edge)
    for _ in range(200):
        raise_weights(weights, overlapping, depths, 0, np.zeros(3))
    np.testing.assert_allclose(weights.pair, least)
    np.testing.assert_allclose(weights.edge, heft**2)
