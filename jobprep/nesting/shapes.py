"""Polygons that stand for parts and sheets while nesting.

A part's polygon contains everything within half the gap of its exact outline; a sheet's polygon
lies inside what is left of it after the edge. Parts whose polygons at most touch, inside a
sheet's polygon, therefore keep every distance. Polygons are lists of rings, each ``(n, 2)``
float64, not closed, even-odd.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from jobprep.geometry.flatten import flatten_inside, flatten_outside
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.offset import offset
from jobprep.geometry.outline import Arc, Region
from jobprep.units import TURN, from_degrees, to_degrees

Ring = NDArray[np.float64]
Polygon = list[Ring]

TOLERANCE = 0.02
"""Least tolerance a polygon is flattened with, mm: far below a kerf."""

FINENESS = 1000.0
"""Larger parts are flattened to their size divided by this: fewer corners, a faster search."""

SAFETY = 1e-5
"""Added to every distance, mm: ten times what the check forgives, for rounding."""


def part_polygon(region: Region, growth: float) -> Polygon:
    """Return a polygon around all points within ``growth`` of a region."""
    grown = offset(region, growth + SAFETY).regions if growth > 0.0 else (region,)
    polygon: Polygon = []
    for each in grown:
        flat = flatten_outside(each, _tolerance(each))
        polygon.extend(np.array(ring, np.float64) for ring in (flat.outer, *flat.holes))
    return polygon


def sheet_polygon(region: Region, inset: float) -> Polygon:
    """Return a polygon inside all points of a sheet farther than ``inset`` from its edge.

    Where the gap is more than twice the edge the inset is negative: grown parts may reach over
    the edge by as much. That holds on a convex sheet only: grown past the corner of a defect or a
    notch, the sheet would let a part come nearer than asked, so such a sheet is not grown.
    A sheet with no room is empty.
    """
    if inset < 0.0 and not _is_convex(region):
        inset = 0.0
    inner = offset(region, -inset - SAFETY).regions if inset != 0.0 else (region,)
    polygon: Polygon = []
    for each in inner:
        flat = flatten_inside(each, TOLERANCE)
        polygon.extend(np.array(ring, np.float64) for ring in (flat.outer, *flat.holes))
    return polygon


def _is_convex(region: Region) -> bool:
    ring = np.array(flatten_inside(region, TOLERANCE).outer, np.float64)
    step = np.roll(ring, -1, axis=0) - ring
    after = np.roll(step, -1, axis=0)
    return not region.holes and bool((step[:, 0] * after[:, 1] >= step[:, 1] * after[:, 0]).all())


def _tolerance(region: Region) -> float:
    box = region_bounds(region)
    return max(TOLERANCE, min(box.width, box.height) / FINENESS)


def rotated(polygon: Polygon, angle: float) -> Polygon:
    """Turn a polygon anticlockwise about the origin."""
    cos, sin = math.cos(angle), math.sin(angle)
    turn = np.array([[cos, sin], [-sin, cos]])
    return [ring @ turn for ring in polygon]


def bounds(polygon: Polygon) -> tuple[float, float, float, float]:
    """Return least x, least y, greatest x, greatest y."""
    low, high = polygon[0].min(axis=0), polygon[0].max(axis=0)
    for ring in polygon[1:]:
        low, high = np.minimum(low, ring.min(axis=0)), np.maximum(high, ring.max(axis=0))
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def area(polygon: Polygon) -> float:
    """Return the area; outer rings run anticlockwise, holes clockwise."""
    return sum(
        0.5
        * float(
            np.dot(ring[:, 0], np.roll(ring[:, 1], -1))
            - np.dot(ring[:, 1], np.roll(ring[:, 0], -1))
        )
        for ring in polygon
    )


def ring_starts(polygon: Polygon) -> NDArray[np.int64]:
    """Return where each ring starts in the stacked points, and their number at the end."""
    return np.cumsum([0, *(len(ring) for ring in polygon)], dtype=np.int64)


def candidate_angles(region: Region, polygon: Polygon, step: float | None) -> tuple[float, ...]:
    """Return the angles worth trying first: all allowed steps, or long edges laid straight."""
    if is_disc(region):
        return (0.0,)
    if step is not None:
        return tuple(k * step for k in range(max(1, round(TURN / step))))
    edges = np.roll(polygon[0], -1, axis=0) - polygon[0]
    length: dict[int, float] = {}
    for dx, dy in edges:
        degree = round(to_degrees(math.atan2(dy, dx)) * 10.0) % 900
        length[degree] = length.get(degree, 0.0) + math.hypot(dx, dy)
    best = sorted(length, key=lambda degree: (-length[degree], degree))[:3]
    turns = sorted(
        {
            round((-degree / 10.0 + quarter * 90.0) % 360.0, 6)
            for degree in best
            for quarter in range(4)
        }
    )
    return tuple(from_degrees(turn) for turn in turns)


def is_disc(region: Region) -> bool:
    """Return whether a region looks the same at every angle about its centre."""
    first = region.outer.segments[0]
    return isinstance(first, Arc) and all(
        len(contour.segments) == 1
        and isinstance(arc := contour.segments[0], Arc)
        and math.dist(arc.centre, first.centre) < 1e-9
        for contour in region.contours
    )
