"""Depth fields against shapely: sums of polygons, and how deep a point lies in them."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
import shapely

from jobprep.nesting.check import TOLERANCE
from jobprep.nesting.fields import (
    FieldPacker,
    convex_pieces,
    edge_bounds,
    polygon_edges,
    reversed_edges,
)
from jobprep.nesting.kernels_field import sum_edges
from jobprep.nesting.kernels_inner import depth_from_edges
from jobprep.nesting.kernels_overlap import field_depth

SLACK = 1e-9
SQUARE = np.array([(0, 0), (10, 0), (10, 10), (0, 10)], float)
TRIANGLE = np.array([(0, 0), (9, 2), (3, 8)], float)
NOTCHED = np.array([(0, 0), (12, 0), (12, 4), (4, 4), (4, 9), (12, 9), (12, 13), (0, 13)], float)
ARROW = np.array([(0, 0), (6, 5), (0, 10), (2, 5)], float)
SHAPES = {"square": SQUARE, "triangle": TRIANGLE, "notched": NOTCHED, "arrow": ARROW}


def slow_sum(a: np.ndarray, b: np.ndarray) -> shapely.Geometry:
    """Return ``{b - a}`` as the union of the hulls of all differences of triangles' corners."""

    def triangles(ring: np.ndarray) -> list[np.ndarray]:
        found = shapely.get_parts(shapely.constrained_delaunay_triangles(shapely.Polygon(ring)))
        return [np.array(each.exterior.coords)[:3] for each in found]

    hulls = [
        shapely.MultiPoint([q - p for p in mine for q in theirs]).convex_hull
        for mine in triangles(a)
        for theirs in triangles(b)
    ]
    return shapely.union_all(hulls)


@pytest.mark.parametrize("name", SHAPES)
def test_convex_pieces_are_convex_and_make_up_the_polygon(name: str) -> None:
    pieces = convex_pieces([SHAPES[name]])
    polygons = [shapely.Polygon(pieces.points[a:b]) for a, b in itertools.pairwise(pieces.starts)]
    for polygon in polygons:
        assert polygon.exterior.is_ccw
        assert polygon.convex_hull.area == pytest.approx(polygon.area)
    assert sum(each.area for each in polygons) == pytest.approx(shapely.Polygon(SHAPES[name]).area)
    assert shapely.union_all(polygons).symmetric_difference(
        shapely.Polygon(SHAPES[name])
    ).area == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(("one", "other"), list(itertools.product(SHAPES, SHAPES)))
def test_depth_in_a_sum_is_the_distance_to_its_boundary(one: str, other: str) -> None:
    a, b = SHAPES[one], SHAPES[other]
    pieces, others = convex_pieces([a]), convex_pieces([b])
    edges = sum_edges(pieces.points, pieces.starts, others.points, others.starts, 1e-11)
    whole = slow_sum(a, b)
    x0, y0, x1, y1 = edge_bounds(edges)
    assert (x0, y0, x1, y1) == pytest.approx(whole.bounds)
    draw = np.random.default_rng(7)
    every = np.arange(len(edges), dtype=np.int32)
    packer = FieldPacker()
    field = packer.add(edges, 24)
    fields = packer.packed()
    for x, y in draw.uniform((x0 - 1, y0 - 1), (x1 + 1, y1 + 1), (200, 2)):
        point = shapely.Point(x, y)
        away = whole.boundary.distance(point)
        expected = away if whole.contains(point) else -away
        found = depth_from_edges(edges, every, 0, len(edges), x, y, SLACK)
        assert found == pytest.approx(expected, abs=1e-7)
        # Exact near the boundary, interpolated inside, nothing outside.
        cell = max(x1 - x0, y1 - y0) / 24
        error = 1e-6 if abs(expected) < 1e-3 * cell else 0.6 * cell
        assert field_depth(fields, field, x, y) == pytest.approx(max(0.0, expected), abs=error)
        if abs(expected) > 1e-6:
            assert (field_depth(fields, field, x, y) > 0.0) == (expected > 0.0)


def test_parts_that_fit_exactly_leave_a_slit_in_the_sum() -> None:
    """A bar as wide as the notch may lie in it, touching both sides."""
    bar = np.array([(0, 0), (5, 0), (5, 5), (0, 5)], float)
    pieces, others = convex_pieces([bar]), convex_pieces([NOTCHED])
    edges = sum_edges(pieces.points, pieces.starts, others.points, others.starts, 1e-11)
    every = np.arange(len(edges), dtype=np.int32)

    def depth(x: float, y: float) -> float:
        return depth_from_edges(edges, every, 0, len(edges), x, y, SLACK)

    assert depth(6.0, 4.0) == pytest.approx(0.0, abs=1e-9)
    assert depth(6.0, 4.1) == pytest.approx(0.1)
    assert depth(6.0, 3.9) == pytest.approx(0.1)
    # Pushed on into the end of the notch: in line with both sides of the slit.
    assert depth(4.0, 4.0) == pytest.approx(0.0, abs=1e-9)
    assert depth(3.9, 4.0) == pytest.approx(0.1)
    assert depth(3.999, 4.0) == pytest.approx(0.001)


def test_of_large_parts_no_more_may_overlap_than_the_proof_forgives() -> None:
    """The cells of their fields are large, and what counts as touching once grew with them."""
    packer = FieldPacker()
    field = packer.add(polygon_edges([1000.0 * SQUARE]), 20)
    fields = packer.packed()
    assert field_depth(fields, field, TOLERANCE, 5000.0) > 0.0
    assert field_depth(fields, field, 1e-8, 5000.0) == 0.0


def test_holes_are_outside() -> None:
    hole = np.array([(3, 3), (3, 7), (7, 7), (7, 3)], float)
    packer = FieldPacker()
    field = packer.add(polygon_edges([SQUARE, hole]), 20)
    outside = packer.add(reversed_edges(polygon_edges([SQUARE, hole])), 20)
    fields = packer.packed()
    assert field_depth(fields, field, 5.0, 5.0) == 0.0
    assert field_depth(fields, field, 1.5, 5.0) == pytest.approx(1.5, abs=0.2)
    assert field_depth(fields, outside, 5.0, 5.0) == pytest.approx(2.0, abs=0.2)
    assert field_depth(fields, outside, 1.5, 5.0) == 0.0
