"""Compiled depth fields: how deep a point lies inside a polygon, in a few nanoseconds.

Terminology
-----------
field    a polygon's edges and a grid of square cells over it
depth    distance from a point inside to the nearest edge; 0 outside
band     the cells an edge may cross; they list every edge that can be nearest to a point in them,
         so depth is exact there. Elsewhere it is interpolated between the corners of the cell.
sum      all offsets at which one polygon meets another, ``{b - a}``: the "no-fit polygon". The
         depth of the offset of two parts in it is the least move that separates them.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from jobprep.nesting.columns import (
    ALONG_X,
    ALONG_Y,
    BOX,
    EDGE,
    LENGTH,
    START_X,
    START_Y,
    X_MAX,
    X_MIN,
    Y_MAX,
    Y_MIN,
)
from jobprep.nesting.fields import Floats, Ints
from jobprep.nesting.kernels_inner import FARTHEST, depth_from_edges, kernel

PARALLEL = 1e-12
"""Sine of the angle below which two edges count as parallel: rounding."""

OUTSIDE, SLIT = 1e3, 1e6
"""How far outside an edge must be free, and from which length an edge may be the side of a slit
without that, both in tolerances of a sum."""

ROUNDING = 1e-9
"""By how much, mm, an edge may miss a cell that lists it."""


class Sums(NamedTuple):
    """Convex sums of pieces: sum k has ``corners[starts[k]:starts[k + 1]]`` and ``box[k]``.

    What lies in one by no more than ``tolerance``, mm, lies on its edge.
    """

    corners: Floats
    starts: Ints
    box: Floats
    tolerance: float


class FieldEdge(NamedTuple):
    """A straight edge: start, unit direction, length; the inside lies to the left."""

    x: float
    y: float
    ux: float
    uy: float
    length: float


@kernel
def _merge_sum(a, b, out):  # type: ignore[no-untyped-def]
    """Write the corners of ``{b - a}`` of convex anticlockwise polygons; return how many."""
    n_a, n_b = len(a), len(b)
    # -a is a turned by half a turn: still anticlockwise. Start both at their lowest point.
    i0 = 0
    for i in range(1, n_a):
        if a[i, 1] > a[i0, 1] or (a[i, 1] == a[i0, 1] and a[i, 0] > a[i0, 0]):
            i0 = i
    j0 = 0
    for j in range(1, n_b):
        if b[j, 1] < b[j0, 1] or (b[j, 1] == b[j0, 1] and b[j, 0] < b[j0, 0]):
            j0 = j
    i = j = n = 0
    while i < n_a or j < n_b:
        p, q = (i0 + i) % n_a, (j0 + j) % n_b
        out[n, 0] = b[q, 0] - a[p, 0]
        out[n, 1] = b[q, 1] - a[p, 1]
        n += 1
        p1, q1 = (p + 1) % n_a, (q + 1) % n_b
        ax, ay = a[p, 0] - a[p1, 0], a[p, 1] - a[p1, 1]
        bx, by = b[q1, 0] - b[q, 0], b[q1, 1] - b[q, 1]
        turn = ax * by - ay * bx
        if j == n_b or (i < n_a and turn > 0.0):
            i += 1
        elif i == n_a or turn < 0.0:
            j += 1
        else:
            i += 1
            j += 1
    return n


@kernel
def _covered(edge, own, sums, cover):  # type: ignore[no-untyped-def]
    """Write the stretches of an edge that lie inside other sums than its own; return how many."""
    corners, starts, box, tolerance = sums
    x, y, ux, uy, length = edge
    n = 0
    x1, y1 = x + length * ux, y + length * uy
    for k in range(len(starts) - 1):
        if (
            k == own
            or max(x, x1) <= box[k, X_MIN]
            or min(x, x1) >= box[k, X_MAX]
            or max(y, y1) <= box[k, Y_MIN]
            or min(y, y1) >= box[k, Y_MAX]
        ):
            continue
        low, high = 0.0, length
        for c in range(starts[k], starts[k + 1]):
            d = c + 1 if c + 1 < starts[k + 1] else starts[k]
            ex, ey = corners[d, 0] - corners[c, 0], corners[d, 1] - corners[c, 1]
            size = math.hypot(ex, ey)
            if size <= tolerance:
                continue
            inside = (ex * (y - corners[c, 1]) - ey * (x - corners[c, 0])) / size - tolerance
            slope = (ex * uy - ey * ux) / size
            if abs(slope) < PARALLEL:
                if inside <= 0.0:
                    high = low
            elif slope > 0.0:
                low = max(low, -inside / slope)
            else:
                high = min(high, -inside / slope)
            if high <= low:
                break
        if high > low:
            cover[n, 0] = low
            cover[n, 1] = high
            n += 1
    return n


@kernel
def _is_inside(x, y, sums):  # type: ignore[no-untyped-def]
    """Return whether a point lies inside any of the convex sums."""
    corners, starts, box, _ = sums
    for k in range(len(starts) - 1):
        if x <= box[k, X_MIN] or x >= box[k, X_MAX] or y <= box[k, Y_MIN] or y >= box[k, Y_MAX]:
            continue
        inside = True
        for c in range(starts[k], starts[k + 1]):
            d = c + 1 if c + 1 < starts[k + 1] else starts[k]
            ex, ey = corners[d, 0] - corners[c, 0], corners[d, 1] - corners[c, 1]
            if ex * (y - corners[c, 1]) - ey * (x - corners[c, 0]) < 0.0:
                inside = False
                break
        if inside:
            return True
    return False


@kernel
def _copy_edge(source, number, target, place):  # type: ignore[no-untyped-def]
    """Copy an edge by its numbers: whole rows would need the compiler's module for messages."""
    for column in range(EDGE):
        target[place, column] = source[number, column]


@kernel
def _uncovered(edge, cover, n_cover, tolerance, edges, n_edges):  # type: ignore[no-untyped-def]
    """Append what is left of an edge outside its covered stretches."""
    x, y, ux, uy, length = edge
    position = 0.0
    while position < length:
        end = length
        moved = False
        for k in range(n_cover):
            if cover[k, 0] <= position < cover[k, 1]:
                position = cover[k, 1]
                moved = True
                break
            if position < cover[k, 0] < end:
                end = cover[k, 0]
        if moved:
            continue
        if end - position > tolerance:
            if n_edges == len(edges):
                grown = np.zeros((2 * n_edges, EDGE))
                for e in range(n_edges):
                    _copy_edge(edges, e, grown, e)
                edges = grown
            edges[n_edges, START_X] = x + position * ux
            edges[n_edges, START_Y] = y + position * uy
            edges[n_edges, ALONG_X] = ux
            edges[n_edges, ALONG_Y] = uy
            edges[n_edges, LENGTH] = end - position
            n_edges += 1
        position = end
    return n_edges, edges


@kernel
def _sums_of_pieces(a, a_starts, b, b_starts, tolerance):  # type: ignore[no-untyped-def]
    """Return the sums of all pairs of pieces of two polygons."""
    n_a, n_b = len(a_starts) - 1, len(b_starts) - 1
    count = n_a * n_b
    corners = np.zeros((n_b * len(a) + n_a * len(b), 2))
    starts = np.zeros(count + 1, np.int64)
    box = np.zeros((count, BOX))
    k = 0
    for i in range(n_a):
        for j in range(n_b):
            first = starts[k]
            n = _merge_sum(
                a[a_starts[i] : a_starts[i + 1]], b[b_starts[j] : b_starts[j + 1]], corners[first:]
            )
            starts[k + 1] = first + n
            box[k, X_MIN] = box[k, X_MAX] = corners[first, 0]
            box[k, Y_MIN] = box[k, Y_MAX] = corners[first, 1]
            for c in range(first, first + n):
                box[k, X_MIN] = min(box[k, X_MIN], corners[c, 0])
                box[k, Y_MIN] = min(box[k, Y_MIN], corners[c, 1])
                box[k, X_MAX] = max(box[k, X_MAX], corners[c, 0])
                box[k, Y_MAX] = max(box[k, Y_MAX], corners[c, 1])
            k += 1
    return Sums(corners, starts, box, tolerance)


@kernel(
    "f8[:, ::1](f8[:, ::1], i8[::1], f8[:, ::1], i8[::1], f8)",
)
def sum_edges(a, a_starts, b, b_starts, tolerance):  # type: ignore[no-untyped-def]
    """Return the edges of the set of offsets at which polygon ``a`` meets polygon ``b``.

    Both are given as convex anticlockwise pieces, ``a[a_starts[k]:a_starts[k + 1]]``. The sum is
    the union of the sums of all pairs of pieces; of their edges those parts stay that lie in the
    inside of no other sum by more than ``tolerance``.
    """
    sums = _sums_of_pieces(a, a_starts, b, b_starts, tolerance)
    corners, starts = sums.corners, sums.starts
    count = len(starts) - 1
    edges = np.zeros((4 * starts[count] + 16, EDGE))
    n_edges = 0
    cover = np.zeros((count, 2))
    for k in range(count):
        for c in range(starts[k], starts[k + 1]):
            d = c + 1 if c + 1 < starts[k + 1] else starts[k]
            x, y = corners[c, 0], corners[c, 1]
            ux, uy = corners[d, 0] - x, corners[d, 1] - y
            length = math.hypot(ux, uy)
            if length <= tolerance:
                continue
            edge = FieldEdge(x, y, ux / length, uy / length, length)
            n_cover = _covered(edge, k, sums, cover)
            kept, edges = _uncovered(edge, cover, n_cover, tolerance, edges, n_edges)
            for e in range(n_edges, kept):
                # Rounding leaves slivers where two sums end at the same point; an edge of the
                # union has its outside outside. Only a long one may be the side of a slit.
                half = 0.5 * edges[e, LENGTH]
                ux, uy = edges[e, ALONG_X], edges[e, ALONG_Y]
                px = edges[e, START_X] + half * ux + OUTSIDE * tolerance * uy
                py = edges[e, START_Y] + half * uy - OUTSIDE * tolerance * ux
                if edges[e, LENGTH] > SLIT * tolerance or not _is_inside(px, py, sums):
                    _copy_edge(edges, e, edges, n_edges)
                    n_edges += 1
    return edges[:n_edges].copy()


@kernel(
    "Tuple((f4[::1], i4[::1], i4[::1]))(f8[:, ::1], f8, f8, f8, i8, i8, f8)",
)
def grid_field(edges, x0, y0, cell, n_x, n_y, slack):  # type: ignore[no-untyped-def]
    """Return the depths at the cells' corners, where each cell's list starts, and the lists.

    Depth at a corner is negative outside. Cells outside the band have no list.
    """
    n = len(edges)
    every = np.arange(n).astype(np.int32)
    depth = np.zeros((n_x + 1) * (n_y + 1), np.float32)
    for ix in range(n_x + 1):
        for iy in range(n_y + 1):
            depth[ix * (n_y + 1) + iy] = depth_from_edges(
                edges, every, 0, n, x0 + ix * cell, y0 + iy * cell, slack
            )
    first = np.zeros(n_x * n_y + 1, np.int32)
    near = np.zeros(4 * (n_x + n_y) + n, np.int32)
    distance = np.zeros(n)
    half = 0.5 * math.sqrt(2.0) * cell
    count = 0
    for ix in range(n_x):
        for iy in range(n_y):
            least = FARTHEST
            for corner in (0, 1, n_y + 1, n_y + 2):
                least = min(least, abs(depth[ix * (n_y + 1) + iy + corner]))
            # A corner farther off than the diagonal: no edge can enter the cell.
            if least <= 2.0 * half + ROUNDING:
                x, y = x0 + (ix + 0.5) * cell, y0 + (iy + 0.5) * cell
                least = FARTHEST
                for e in range(n):
                    distance[e] = abs(depth_from_edges(edges, every, e, e + 1, x, y, slack))
                    least = min(least, distance[e])
                if least <= half + ROUNDING:
                    if count + n > len(near):
                        grown = np.zeros(2 * len(near) + n, np.int32)
                        for k in range(count):
                            grown[k] = near[k]
                        near = grown
                    for e in range(n):
                        if distance[e] <= least + 2.0 * half + ROUNDING:
                            near[count] = e
                            count += 1
            first[ix * n_y + iy + 1] = count
    return depth, first, near[:count].copy()
