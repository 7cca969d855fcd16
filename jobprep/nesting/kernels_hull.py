"""Compiled overlap of convex hulls at any angle: exact, in about a hundred nanoseconds.

Terminology
-----------
hull       corners of a part's convex hull, anticlockwise, listed twice so that no stretch of
           them wraps. A row is ``x, y, nx, ny, reach, bearing``: corner; outward normal of the
           edge that starts there; how far the edge lies from the origin along it; the normal's
           direction, in sectors
bearing    a direction in sectors: the full turn has ``BEARINGS`` of them
table      per kind: the rows where its hull starts and ends; per sector the first and the last
           corner that lies farthest in any direction in it; per ``FACINGS``-th of the way round a
           diamond the edge that faces there
"""

from __future__ import annotations

import math

from jobprep.nesting.kernels_inner import inlined, inner
from jobprep.nesting.layout import BEARINGS, FACINGS

SECTORS_PER_RADIAN = BEARINGS / (2.0 * math.pi)
TOUCHING = 1e-9
"""Depth up to which hulls only touch, mm: rounding."""

FIRST, END, SUPPORT, FACING = 0, 1, 2, 2 + 2 * BEARINGS
"""Columns of a table."""

CENTRE_X, CENTRE_Y, RADIUS, LEAST = range(4)
"""Columns of the discs inside parts; the last bounds what a hull reaches in any direction."""


@inlined()
def edge_depth(hull, k, away, a, table, kind, shift, cos, sin):  # type: ignore[no-untyped-def]
    """Return how far hull ``a`` reaches over an edge ``away`` from it, and its farthest corner."""
    nx = hull[k, 2]
    ny = hull[k, 3]
    wx = -cos * nx - sin * ny
    wy = sin * nx - cos * ny
    sector = SUPPORT + 2 * (int(hull[k, 5] + shift) & (BEARINGS - 1))
    corner = a + table[kind, sector]
    most = wx * hull[corner, 0] + wy * hull[corner, 1]
    for i in range(corner + 1, a + table[kind, sector + 1] + 1):
        along = wx * hull[i, 0] + wy * hull[i, 1]
        if along > most:
            most = along
            corner = i
    return away + most, corner


@inlined()
def facing_edge(table, kind, x, y):  # type: ignore[no-untyped-def]
    """Return the edge of a hull that faces a point."""
    quarter = y / (abs(x) + abs(y) + 1e-300)
    way = 1.0 + quarter if x >= 0.0 else 3.0 - quarter
    return table[kind, FACING + (int(way * (0.25 * FACINGS)) & (FACINGS - 1))]


@inner()
def corner_at(hull, table, kind, bearing):  # type: ignore[no-untyped-def]
    """Return the row of the corner that lies farthest in a direction."""
    bearing -= BEARINGS * math.floor(bearing * (1.0 / BEARINGS))
    first = table[kind, FIRST]
    sector = SUPPORT + 2 * (int(bearing) & (BEARINGS - 1))
    corner = first + table[kind, sector]
    last = first + table[kind, sector + 1]
    # A corner's reign ends where the edge that starts there points.
    while corner < last and (bearing - hull[corner, 5]) % BEARINGS < 0.5 * BEARINGS:
        corner += 1
    return corner


@inner()
def hull_overlap(hull, table, disc, kind, other_kind, turn, cos, sin, x, y):  # type: ignore[no-untyped-def]
    """Return the least move that separates the hulls of two parts, 0 when they are apart.

    Also returns the row of the corner of either that lies deepest in the other then. The first is
    turned by ``turn`` against the other and lies at ``x, y`` in its frame.
    """
    a = table[kind, FIRST]
    b = table[other_kind, FIRST]
    turn *= SECTORS_PER_RADIAN
    turn -= BEARINGS * math.floor(turn * (1.0 / BEARINGS))
    # The other's normals, reversed, seen from the first part: half a turn on, then turned back.
    shift = 1.5 * BEARINGS - turn
    back = 0.5 * BEARINGS + turn
    wx = -cos * x - sin * y
    wy = sin * x - cos * y
    # What faces the other mostly separates the two, or nearly.
    k = b + facing_edge(table, other_kind, x, y)
    away = hull[k, 4] - hull[k, 2] * x - hull[k, 3] * y
    best, deepest = edge_depth(hull, k, away, a, table, kind, shift, cos, sin)
    if best <= TOUCHING:
        return 0.0, 0
    k = a + facing_edge(table, kind, wx, wy)
    away = hull[k, 4] - hull[k, 2] * wx - hull[k, 3] * wy
    depth, corner = edge_depth(hull, k, away, b, table, other_kind, back, cos, -sin)
    if depth < best:
        best = depth
        deepest = corner
    if best <= TOUCHING:
        return 0.0, 0
    least = disc[kind, LEAST]
    for k in range(b, table[other_kind, END]):
        away = hull[k, 4] - hull[k, 2] * x - hull[k, 3] * y
        if away + least < best:
            depth, corner = edge_depth(hull, k, away, a, table, kind, shift, cos, sin)
            if depth < best:
                best = depth
                deepest = corner
    if best <= TOUCHING:
        return 0.0, 0
    least = disc[other_kind, LEAST]
    for k in range(a, table[kind, END]):
        away = hull[k, 4] - hull[k, 2] * wx - hull[k, 3] * wy
        if away + least < best:
            depth, corner = edge_depth(hull, k, away, b, table, other_kind, back, cos, -sin)
            if depth < best:
                best = depth
                deepest = corner
    if best <= TOUCHING:
        return 0.0, 0
    return best, deepest
