"""Convex hulls of parts, packed for the kernels."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from jobprep.nesting.columns import (
    BEARING,
    BEARINGS,
    CORNER_X,
    CORNER_Y,
    FACINGS,
    NORMAL_X,
    NORMAL_Y,
    REACH,
)
from jobprep.nesting.layout import CONVEX, DENTED, HOLLOW, Hulls
from jobprep.nesting.shapes import Polygon, Ring, area
from jobprep.units import TURN

NEVER = 1e150
"""Minus this is the radius of a disc that no other ever meets."""

MOST_DENTED = 0.9
"""Share of its hull that a part must fill for the hull's overlap to stand for its own."""


def hull_ring(polygon: Polygon) -> Ring:
    """Return the corners of a polygon's convex hull, anticlockwise, none on a straight line."""
    points = sorted({(float(x), float(y)) for ring in polygon for x, y in ring})

    def half(ordered: list[tuple[float, float]]) -> list[tuple[float, float]]:
        chain: list[tuple[float, float]] = []
        for point in ordered:
            while len(chain) > 1 and _left(chain[-2], chain[-1], point) <= 0.0:
                chain.pop()
            chain.append(point)
        return chain[:-1]

    return np.array(half(points) + half(points[::-1]), np.float64)


def _left(a: tuple[float, float], b: tuple[float, float], point: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0])


def width(ring: Ring) -> float:
    """Return the least distance of two parallels that a ring fits between.

    One lies along an edge of the hull, the other through the corner where the edges have turned
    half way round from it.
    """
    hull = hull_ring([ring])
    step = np.roll(hull, -1, axis=0) - hull
    bearing = np.maximum.accumulate(np.unwrap(np.arctan2(step[:, 1], step[:, 0])))
    half_way = np.searchsorted(np.concatenate([bearing, bearing + TURN]), bearing + 0.5 * TURN)
    # By rounding it may be a corner next to that one.
    far = [hull[(half_way + k) % len(hull)] - hull for k in (-1, 0, 1)]
    across = np.max([step[:, 0] * each[:, 1] - step[:, 1] * each[:, 0] for each in far], axis=0)
    return float((across / np.hypot(step[:, 0], step[:, 1])).min())


def hull_rows(polygon: Polygon) -> NDArray[np.float64]:
    """Return corner, normal, reach and bearing of each edge of the hull, twice."""
    ring = hull_ring(polygon)
    step = np.roll(ring, -1, axis=0) - ring
    normal = np.column_stack([step[:, 1], -step[:, 0]]) / np.hypot(step[:, 0], step[:, 1])[:, None]
    bearing = np.arctan2(normal[:, 1], normal[:, 0]) / TURN % 1.0 * BEARINGS
    rows = np.column_stack([ring, normal, (ring * normal).sum(axis=1), bearing])
    return np.concatenate([rows, rows])


def support_table(hull: NDArray[np.float64]) -> NDArray[np.int32]:
    """Return, per sector, the first and the last corner that lies farthest in one direction of it.

    A corner lies farthest between the normals of the edges before and after it.
    """
    n = len(hull) // 2
    bearing = hull[:n, BEARING]
    # An edge nearly in line may turn back a little by rounding: that counts as 0, not a full turn.
    quarter = 0.25 * BEARINGS
    turned = np.diff(bearing, append=bearing[0]) + quarter
    turned = np.maximum(0.0, turned % BEARINGS - quarter)
    # Unwrapped: the edge that starts at corner k has the normal bearing[0] + along[k].
    along = np.concatenate([[0.0], np.cumsum(turned[:-1])])
    table = np.zeros((BEARINGS, 2), np.int32)
    for sector in range(BEARINGS):
        low = (sector - bearing[0]) % BEARINGS
        first = int(np.searchsorted(along, low - 1e-9, side="left"))
        last = int(np.searchsorted(np.concatenate([along, along + BEARINGS]), low + 1.0 + 1e-9))
        table[sector] = (first, last) if first < n else (first - n, last - n)
    return table


def hollowness(polygon: Polygon) -> int:
    """Return whether a part is its hull, nearly fills it, or does not."""
    filled = area(polygon) / area([hull_ring(polygon)])
    if len(polygon) == 1 and filled > 1.0 - 1e-12:
        return CONVEX
    return DENTED if len(polygon) == 1 and filled > MOST_DENTED else HOLLOW


def facing_table(hull: NDArray[np.float64]) -> NDArray[np.int32]:
    """Return, per direction around the four corners of a diamond, the edge that faces it."""
    n = len(hull) // 2
    way = (np.arange(FACINGS) + 0.5) * 4.0 / FACINGS
    quarter = np.where(way < 2.0, way - 1.0, 3.0 - way)
    side = np.where(way < 2.0, 1.0 - np.abs(quarter), np.abs(quarter) - 1.0)
    size = np.hypot(side, quarter)
    along = np.column_stack([side / size, quarter / size]) @ hull[:n, NORMAL_X : NORMAL_Y + 1].T
    # A ray from the origin leaves through the edge it reaches first.
    reach = np.where(along > 1e-9, hull[:n, REACH] / np.where(along > 1e-9, along, 1.0), np.inf)
    facing: NDArray[np.int32] = np.argmin(reach, axis=1).astype(np.int32)
    return facing


def disc_row(polygon: Polygon, hull: NDArray[np.float64]) -> tuple[float, float, float, float]:
    """Return a large disc inside a polygon, and a bound of how near its hull's edge comes.

    Centre and radius; a hollow part has none. Last the least that the hull reaches in any
    direction from the origin, negative when that lies outside.
    """
    least = float(hull[:, REACH].min())
    if least < 0.0:
        least = -float(np.hypot(hull[:, CORNER_X], hull[:, CORNER_Y]).max())
    if hollowness(polygon) == HOLLOW:
        return 0.0, 0.0, -NEVER, least
    import shapely

    tolerance = 0.01 * float(np.ptp(polygon[0], axis=0).min())
    line = shapely.maximum_inscribed_circle(shapely.Polygon(polygon[0]), tolerance)
    x, y = line.coords[0]
    return x, y, line.length, least


def pack_hulls(polygons: Sequence[Polygon]) -> Hulls:
    """Return the hulls of all kinds of part."""
    rows = [hull_rows(polygon) for polygon in polygons]
    return Hulls(
        corners=np.concatenate(rows),
        table=hull_table(rows),
        disc=np.array([disc_row(p, h) for p, h in zip(polygons, rows, strict=True)]),
    )


def hull_table(hulls: Sequence[NDArray[np.float64]]) -> NDArray[np.int32]:
    """Return per kind where its hull starts and ends, its supports and what faces where."""
    first = np.cumsum([0, *map(len, hulls)])
    return np.array(
        [
            np.concatenate(
                [
                    [start, start + len(hull) // 2],
                    support_table(hull).reshape(-1),
                    facing_table(hull),
                ]
            )
            for start, hull in zip(first, hulls, strict=False)
        ],
        np.int32,
    )
