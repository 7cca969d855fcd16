"""Overlaps of convex hulls at any angle against plain loops and shapely."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
import shapely
from nesting_problems import sector
from shapely import affinity

from jobprep.nesting.columns import (
    ANGLE,
    BEARING,
    BEARINGS,
    CORNER_X,
    CORNER_Y,
    END,
    FIRST,
    SPOT,
    X,
    Y,
)
from jobprep.nesting.fields import FieldPacker, Fields
from jobprep.nesting.hulls import hull_ring, hull_rows, support_table, width
from jobprep.nesting.kernels_draw import lay_against, lay_flush
from jobprep.nesting.kernels_hull import corner_at, hull_overlap
from jobprep.nesting.kernels_overlap import discs_overlap, pair_overlap
from jobprep.nesting.kernels_spot import placed as point_placed
from jobprep.nesting.kernels_spot import pose_on_sheet, pose_seen, turn_spot
from jobprep.nesting.layout import CONVEX, DENTED, HOLLOW, Shapes, lay_out
from jobprep.nesting.prepare import build_shapes
from jobprep.nesting.shapes import Polygon, part_polygon

SLIVER = [np.array([(0, 0), (30, 0.5), (0, 1)], float)]
TRIANGLE = [np.array([(0, 0), (20, 0), (0, 20)], float) - 10.0]
FAR = [np.array([(4, 3), (14, 5), (6, 12)], float)]  # does not hold its own origin
ELL = [np.array([(0, 0), (20, 0), (20, 4), (4, 4), (4, 20), (0, 20)], float) - 8.0]
PARTS: list[Polygon] = [
    SLIVER,
    TRIANGLE,
    FAR,
    part_polygon(sector(20, 5, 75.5), 0.0),
    part_polygon(sector(20, 5, 180), 0.6),
    ELL,
]


@pytest.fixture(scope="module")
def prepared() -> tuple[Fields, Shapes]:
    packer = FieldPacker()
    shapes = build_shapes(PARTS, [0] * len(PARTS), [0.0] * len(PARTS), packer)
    return packer.packed(), shapes


def spot_at(shapes: Shapes, kind: int, angle: float, x: float, y: float) -> np.ndarray:
    spot = np.zeros(SPOT)
    turn_spot(shapes, kind, -1, angle, spot)
    spot[X], spot[Y] = x, y
    return spot


def placed(polygon: Polygon, spot: np.ndarray) -> shapely.Polygon:
    turned = affinity.rotate(
        shapely.Polygon(polygon[0]), float(spot[ANGLE]), origin=(0, 0), use_radians=True
    )
    return affinity.translate(turned, float(spot[X]), float(spot[Y]))


def slow_depth(a: shapely.Polygon, b: shapely.Polygon) -> float:
    """Return the least move that separates two convex polygons: tried along every normal."""
    rings = [np.array(each.convex_hull.exterior.coords) for each in (a, b)]
    moves = []
    for ring in rings:
        for (ux, uy), (vx, vy) in itertools.pairwise(ring):
            normal = np.array([vy - uy, ux - vx])
            normal /= math.hypot(*normal)
            for sign in (1.0, -1.0):
                mine, theirs = (each @ normal * sign for each in rings)
                moves.append(theirs.max() - mine.min())
    return max(0.0, min(moves))


def test_a_hull_is_the_one_that_shapely_finds() -> None:
    for polygon in PARTS:
        ring = hull_ring(polygon)
        assert shapely.Polygon(ring).exterior.is_ccw
        assert shapely.Polygon(ring).equals(shapely.Polygon(polygon[0]).convex_hull)


@pytest.mark.parametrize("count", [3, 4, 5, 30, 200])
def test_a_ring_is_as_wide_as_the_narrowest_strip_along_a_side_of_its_hull(count: int) -> None:
    """Every side against every corner; the least is along a side (Houle and Toussaint, 1988)."""
    generator = np.random.default_rng(count)
    for squeezed in (1.0, 0.3, 1e-6):
        ring = generator.normal(size=(count, 2)) * (100.0, 100.0 * squeezed)
        hull = hull_ring([ring])
        step = np.roll(hull, -1, axis=0) - hull
        normal = np.column_stack([-step[:, 1], step[:, 0]]) / np.hypot(*step.T)[:, None]
        expected = np.ptp(ring @ normal.T, axis=0).min()
        assert width(ring) == pytest.approx(expected, rel=1e-9, abs=1e-11)


def test_a_round_ring_of_thousands_of_corners_is_as_wide_as_its_circle() -> None:
    """Side against corner that would be a table of 3 GB."""
    turns = np.linspace(0.0, 2.0 * math.pi, 20_000, endpoint=False)
    ring = 50.0 * np.column_stack([np.cos(turns), np.sin(turns)])
    assert width(ring) == pytest.approx(100.0 * math.cos(math.pi / 20_000), rel=1e-12)


def test_the_farthest_corner_is_found_in_any_direction(prepared: tuple[Fields, Shapes]) -> None:
    _, shapes = prepared
    for kind, polygon in enumerate(PARTS):
        ring = hull_ring(polygon)
        at_normals = hull_rows(polygon)[: len(ring), BEARING]
        draw = np.random.default_rng(kind).uniform(-2 * BEARINGS, 2 * BEARINGS, 500)
        for bearing in (*draw, *at_normals, *(at_normals + 1e-12), *range(BEARINGS)):
            way = 2.0 * math.pi * bearing / BEARINGS
            direction = np.array([math.cos(way), math.sin(way)])
            row = corner_at(shapes.hulls, kind, float(bearing))
            found = shapes.hulls.corners[row, [CORNER_X, CORNER_Y]] @ direction
            assert found == pytest.approx((ring @ direction).max(), abs=1e-9)


@pytest.mark.parametrize("seed", range(4))
def test_hulls_overlap_by_the_least_move_that_separates_them(
    prepared: tuple[Fields, Shapes], seed: int
) -> None:
    fields, shapes = prepared
    draw = np.random.default_rng(seed)
    seen = 0
    for _ in range(400):
        i, j = draw.integers(len(PARTS), size=2)
        one = spot_at(shapes, i, draw.uniform(-9, 9), *draw.uniform(-20, 20, 2))
        other = spot_at(shapes, j, draw.uniform(-9, 9), *draw.uniform(-20, 20, 2))
        depth, corner = hull_overlap(shapes.hulls, i, j, pose_seen(one, other))
        a, b = placed(PARTS[i], one), placed(PARTS[j], other)
        assert depth == pytest.approx(slow_depth(a, b), abs=1e-9)
        found = pair_overlap(fields, shapes, i, one, j, other)
        shared = a.intersection(b).area
        if max(shapes.hollow[i], shapes.hollow[j]) != HOLLOW:
            assert found in (0.0, depth)
        if shared == 0.0:
            assert found == 0.0
        elif shared > (0.0 if shapes.hollow[i] == shapes.hollow[j] == CONVEX else 1.0):
            assert found > 0.0
        if depth > 0.0:
            seen += 1
            first, end = shapes.hulls.table[i, [FIRST, END]]
            mine = first <= corner < 2 * end - first
            mover, still, where = (a, b, one) if mine else (b, a, other)
            x, y = shapes.hulls.corners[corner, [CORNER_X, CORNER_Y]]
            point = shapely.Point(point_placed(pose_on_sheet(where), x, y))
            assert mover.convex_hull.distance(point) < 1e-9
            assert still.convex_hull.exterior.distance(point) <= depth + 1e-9 or not (
                still.convex_hull.contains(point)
            )
    assert seen > 50


def test_discs_inside_parts_never_overlap_more_than_the_parts(
    prepared: tuple[Fields, Shapes],
) -> None:
    fields, shapes = prepared
    draw = np.random.default_rng(8)
    for _ in range(500):
        i, j = draw.integers(len(PARTS), size=2)
        one = spot_at(shapes, i, draw.uniform(-9, 9), *draw.uniform(-12, 12, 2))
        other = spot_at(shapes, j, draw.uniform(-9, 9), *draw.uniform(-12, 12, 2))
        found = pair_overlap(fields, shapes, i, one, j, other)
        assert not discs_overlap(shapes.hulls.disc, i, one, j, other, found + 1e-9)


def test_parts_know_how_hollow_they_are(prepared: tuple[Fields, Shapes]) -> None:
    _, shapes = prepared
    wanted = [CONVEX, CONVEX, CONVEX, DENTED, DENTED, HOLLOW]
    assert shapes.hollow.tolist() == wanted


@pytest.mark.parametrize("lay", [lay_against, lay_flush])
def test_spots_drawn_against_another_part_touch_its_hull(lay, prepared) -> None:  # type: ignore[no-untyped-def]
    _, shapes = prepared
    n = len(PARTS)
    whole = np.array([[-1e3, -1e3, 1e3, 1e3]])
    layout = lay_out(np.arange(n), np.zeros((n, SPOT)), whole, np.array([-1]))
    random = np.array([77], np.uint64)
    for kind in range(n):
        for other in range(n):
            there = spot_at(shapes, other, 0.3 + other, 5.0, -7.0)
            spot = np.zeros(SPOT)
            for _ in range(10):
                assert lay(shapes, layout, kind, other, there, random, spot)
                a, b = placed(PARTS[kind], spot), placed(PARTS[other], there)
                assert a.convex_hull.distance(b.convex_hull) < 1e-6
                if lay is lay_against:
                    assert a.convex_hull.intersection(b.convex_hull).area < 1e-6


def test_points_nearly_in_line_turn_no_full_circle() -> None:
    draw = np.random.default_rng(6)
    turning_back = 0
    for _ in range(1000):
        corners = draw.uniform(-20, 20, (3, 2)) + 5.0
        along = np.concatenate([[0.0], np.sort(draw.uniform(size=4))])[:, None]
        sides = [
            start + along * (end - start)
            for start, end in zip(corners, np.roll(corners, -1, axis=0), strict=True)
        ]
        hull = hull_rows([np.concatenate(sides)])
        turns = np.diff(hull[: len(hull) // 2, BEARING])
        if not ((turns < 0.0) & (turns > -1.0)).any():
            continue
        turning_back += 1
        for number, (first, last) in enumerate(support_table(hull)):
            bearing = math.tau * (number + draw.uniform()) / BEARINGS
            reach = hull[:, [CORNER_X, CORNER_Y]] @ np.array([math.cos(bearing), math.sin(bearing)])
            assert reach[first : last + 1].max() == pytest.approx(reach.max(), abs=1e-9)
    assert turning_back > 10
