"""Compiled overlap of convex hulls at any angle: exact, in about a hundred nanoseconds.

Terminology
-----------
bearing    a direction in sectors: the full turn has ``BEARINGS`` of them
"""

from __future__ import annotations

import math

from jobprep.nesting.columns import (
    BEARING,
    BEARINGS,
    CORNER_X,
    CORNER_Y,
    END,
    FACING,
    FACINGS,
    FIRST,
    LEAST,
    NORMAL_X,
    NORMAL_Y,
    REACH,
    SUPPORT,
)
from jobprep.nesting.kernels_inner import inlined, inner
from jobprep.nesting.kernels_spot import seen_back

SECTORS_PER_RADIAN = BEARINGS / (2.0 * math.pi)
TOUCHING = 1e-9
"""Depth up to which hulls only touch, mm: rounding."""


@inlined()
def edge_depth(hulls, edge, away, first, kind, shift, cos, sin):  # type: ignore[no-untyped-def]
    """Return how far another kind's hull reaches over an edge ``away`` from it, and its corner.

    That hull begins at row ``first`` and is turned by ``cos, sin`` against the edge's; ``shift``
    leads from the edge's bearing to the sector where its farthest corner is looked for.
    """
    corners = hulls.corners
    table = hulls.table
    nx = corners[edge, NORMAL_X]
    ny = corners[edge, NORMAL_Y]
    wx = -cos * nx - sin * ny
    wy = sin * nx - cos * ny
    sector = SUPPORT + 2 * (int(corners[edge, BEARING] + shift) & (BEARINGS - 1))
    corner = first + table[kind, sector]
    most = wx * corners[corner, CORNER_X] + wy * corners[corner, CORNER_Y]
    for i in range(corner + 1, first + table[kind, sector + 1] + 1):
        along = wx * corners[i, CORNER_X] + wy * corners[i, CORNER_Y]
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


@inlined()
def edge_away(corners, edge, x, y):  # type: ignore[no-untyped-def]
    """Return how far an edge of a hull lies beyond a point, along its normal."""
    return corners[edge, REACH] - corners[edge, NORMAL_X] * x - corners[edge, NORMAL_Y] * y


@inner()
def corner_at(hulls, kind, bearing):  # type: ignore[no-untyped-def]
    """Return the row of the corner that lies farthest in a direction."""
    corners = hulls.corners
    table = hulls.table
    bearing -= BEARINGS * math.floor(bearing * (1.0 / BEARINGS))
    first = table[kind, FIRST]
    sector = SUPPORT + 2 * (int(bearing) & (BEARINGS - 1))
    corner = first + table[kind, sector]
    last = first + table[kind, sector + 1]
    # A corner's reign ends where the edge that starts there points.
    while corner < last and (bearing - corners[corner, BEARING]) % BEARINGS < 0.5 * BEARINGS:
        corner += 1
    return corner


@inner()
def hull_overlap(hulls, kind, other_kind, pose):  # type: ignore[no-untyped-def]
    """Return the least move that separates the hulls of two parts, 0 when they are apart.

    Also returns the row of the corner of either that lies deepest in the other then. ``pose`` is
    how the first lies in the other's frame.
    """
    corners = hulls.corners
    table = hulls.table
    disc = hulls.disc
    a = table[kind, FIRST]
    b = table[other_kind, FIRST]
    turn = pose.angle * SECTORS_PER_RADIAN
    turn -= BEARINGS * math.floor(turn * (1.0 / BEARINGS))
    # The other's normals, reversed, seen from the first part: half a turn on, then turned back.
    shift = 1.5 * BEARINGS - turn
    back = 0.5 * BEARINGS + turn
    _, cos, sin, x, y = pose
    seen = seen_back(pose)
    # What faces the other mostly separates the two, or nearly.
    k = b + facing_edge(table, other_kind, x, y)
    best, deepest = edge_depth(hulls, k, edge_away(corners, k, x, y), a, kind, shift, cos, sin)
    if best <= TOUCHING:
        return 0.0, 0
    k = a + facing_edge(table, kind, seen.x, seen.y)
    away = edge_away(corners, k, seen.x, seen.y)
    depth, corner = edge_depth(hulls, k, away, b, other_kind, back, cos, -sin)
    if depth < best:
        best = depth
        deepest = corner
    if best <= TOUCHING:
        return 0.0, 0
    least = disc[kind, LEAST]
    for k in range(b, table[other_kind, END]):
        away = edge_away(corners, k, x, y)
        if away + least < best:
            depth, corner = edge_depth(hulls, k, away, a, kind, shift, cos, sin)
            if depth < best:
                best = depth
                deepest = corner
    if best <= TOUCHING:
        return 0.0, 0
    least = disc[other_kind, LEAST]
    for k in range(a, table[kind, END]):
        away = edge_away(corners, k, seen.x, seen.y)
        if away + least < best:
            depth, corner = edge_depth(hulls, k, away, b, other_kind, back, cos, -sin)
            if depth < best:
                best = depth
                deepest = corner
    if best <= TOUCHING:
        return 0.0, 0
    return best, deepest
