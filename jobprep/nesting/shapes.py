"""Polygons that stand for parts and sheets while nesting.

A part's polygon contains everything within half the gap of its exact outline; a sheet's polygon
lies inside what is left of it after the edge. Parts whose polygons at most touch, inside a
sheet's polygon, therefore keep every distance. Polygons are lists of rings, each ``(n, 2)``
float64, not closed, even-odd.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from jobprep.geometry.outline import Arc, Contour, Region
from jobprep.units import TURN

if TYPE_CHECKING:
    from collections.abc import Iterable

Ring = NDArray[np.float64]
Polygon = list[Ring]

TOLERANCE = 0.02
"""How far the polygon may lie outside the exact outline, mm: far below a kerf."""

SAFETY = 1e-5
"""Added to every distance, mm: ten times what the check forgives, for rounding."""


def part_polygon(region: Region, growth: float) -> Polygon:
    """Return a polygon around all points within ``growth`` of a region."""
    import shapely

    rings = [_flat(contour, outside=True) for contour in region.contours]
    polygon = shapely.Polygon(rings[0], rings[1:])
    if growth > 0.0:
        distance, quarter = _around(growth + SAFETY)
        polygon = polygon.buffer(distance, quad_segs=quarter)
    return _rings(polygon)


def sheet_polygon(region: Region, inset: float) -> Polygon:
    """Return a polygon inside all points of a sheet farther than ``inset`` from its edge.

    A negative inset counts as none: a sheet grown to let the rims of parts reach over its edge
    would fill its own notches, and parts would come too near the edge there.
    """
    import shapely

    rings = [_flat(contour, outside=False) for contour in region.contours]
    polygon = shapely.Polygon(rings[0], rings[1:])
    if inset > 0.0:
        distance, quarter = _around(inset + SAFETY)
        polygon = polygon.buffer(-distance, quad_segs=quarter)
    return _rings(polygon)


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
        degree = round(math.degrees(math.atan2(dy, dx)) * 10.0) % 900
        length[degree] = length.get(degree, 0.0) + math.hypot(dx, dy)
    best = sorted(length, key=lambda degree: (-length[degree], degree))[:3]
    turns = sorted(
        {
            round((-degree / 10.0 + quarter * 90.0) % 360.0, 6)
            for degree in best
            for quarter in range(4)
        }
    )
    return tuple(math.radians(turn) for turn in turns)


def is_disc(region: Region) -> bool:
    """Return whether a region looks the same at every angle about its centre."""
    first = region.outer.segments[0]
    return isinstance(first, Arc) and all(
        len(contour.segments) == 1
        and isinstance(arc := contour.segments[0], Arc)
        and math.dist(arc.centre, first.centre) < 1e-9
        for contour in region.contours
    )


def _flat(contour: Contour, *, outside: bool) -> list[tuple[float, float]]:
    """Flatten a contour: no point of its left-hand side cut off, or none added to it."""
    points: list[tuple[float, float]] = []
    for segment in contour.segments:
        points.append(segment.start)
        if isinstance(segment, Arc):
            points.extend(_chords(segment, outside=(segment.sweep > 0.0) == outside))
    is_circle = len(contour.segments) == 1
    return points[1:] if is_circle else points


def _chords(arc: Arc, *, outside: bool) -> Iterable[tuple[float, float]]:
    """Return the inner corners of a polyline outside or inside an arc's circle."""
    tolerance = min(TOLERANCE, 0.05 * arc.radius)
    count = max(1, math.ceil(abs(arc.sweep) / (2.0 * math.acos(1.0 - tolerance / arc.radius))))
    full = abs(arc.sweep) > TURN - 1e-9
    if full:
        count = max(count, 8)
    step = arc.sweep / count
    if outside:
        radius = arc.radius / math.cos(0.5 * step)
        angles = [arc.start_angle + (k + 0.5) * step for k in range(count)]
    else:
        radius = arc.radius
        angles = [arc.start_angle + k * step for k in range(0 if full else 1, count)]
    return [
        (arc.centre.x + radius * math.cos(angle), arc.centre.y + radius * math.sin(angle))
        for angle in angles
    ]


def _around(distance: float) -> tuple[float, int]:
    """Return a radius and quarter count whose inscribed polygon contains the circle."""
    tolerance = min(TOLERANCE, 0.1 * distance)
    quarter = max(2, math.ceil(math.pi / (4.0 * math.acos(1.0 - tolerance / distance))))
    return distance / math.cos(math.pi / (4.0 * quarter)), quarter


def _rings(geometry: object) -> Polygon:
    """Return the rings of a shapely geometry, outer ones anticlockwise, holes clockwise."""
    import shapely

    rings: Polygon = []
    for part in shapely.get_parts(geometry):
        if isinstance(part, shapely.Polygon) and not part.is_empty:
            turned = shapely.geometry.polygon.orient(part)
            rings.append(np.asarray(turned.exterior.coords)[:-1].copy())
            rings.extend(np.asarray(hole.coords)[:-1].copy() for hole in turned.interiors)
    return [np.ascontiguousarray(ring, dtype=np.float64) for ring in rings]
