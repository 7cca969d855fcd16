"""Compiled loops of the raster fill: cells a polygon touches, first place where it fits.

A raster is a grid of square cells, first index along x. ``runs[ix, iy]`` is the number of free
cells from ``iy`` upwards, so that one look-up tells whether a whole span of a part fits.
``tallest[ix]`` is the longest of them in a column: most columns of a full sheet need no more.
"""

from __future__ import annotations

import math

import numpy as np

from jobprep.nesting.columns import COLUMN, ROW, RUN, SPAN
from jobprep.nesting.kernels_inner import kernel

INTERIOR, TOUCHED = 1, 3
"""Marks of a cell whose centre lies inside, and of one that an edge touches."""

EDGE = 1e-9
"""How far a polygon may reach over a cell's border without touching the next cell, cells."""


@kernel
def _mark_column_interior(points, starts, ix, marks):  # type: ignore[no-untyped-def]
    centre = ix + 0.5
    n_y = marks.shape[1]
    for ring in range(len(starts) - 1):
        first, last = starts[ring], starts[ring + 1]
        for here in range(first, last):
            there = here + 1 if here + 1 < last else first
            x0, y0 = points[here, 0], points[here, 1]
            x1, y1 = points[there, 0], points[there, 1]
            if (x0 <= centre) != (x1 <= centre):
                crossing = y0 + (centre - x0) * (y1 - y0) / (x1 - x0)
                # Every crossing flips all cells whose centre lies above it.
                for iy in range(max(0, math.ceil(crossing - 0.5)), n_y):
                    marks[ix, iy] ^= INTERIOR


@kernel
def _mark_edge(start, end, marks, n_x, n_y):  # type: ignore[no-untyped-def]
    x0, y0, x1, y1 = start[0], start[1], end[0], end[1]
    if x0 > x1:
        x0, y0, x1, y1 = x1, y1, x0, y0
    for ix in range(max(0, math.floor(x0 + EDGE)), min(n_x, math.ceil(x1 - EDGE))):
        low, high = max(x0, float(ix)), min(x1, ix + 1.0)
        if x1 > x0:
            a = y0 + (low - x0) * (y1 - y0) / (x1 - x0)
            b = y0 + (high - x0) * (y1 - y0) / (x1 - x0)
        else:
            a, b = y0, y1
        if a > b:
            a, b = b, a
        for iy in range(max(0, math.floor(a + EDGE)), min(n_y, math.ceil(b - EDGE))):
            marks[ix, iy] |= TOUCHED


@kernel("void(f8[:, ::1], i8[::1], u1[:, ::1])")
def mark_touched(points, starts, marks):  # type: ignore[no-untyped-def]
    """Mark the cells that the interior and that the edges of a polygon touch.

    ``points`` (n, 2) in cells; ring k is ``points[starts[k]:starts[k + 1]]``; even-odd rule.
    """
    n_x, n_y = marks.shape
    for ix in range(n_x):
        _mark_column_interior(points, starts, ix, marks)
    for ring in range(len(starts) - 1):
        first, last = starts[ring], starts[ring + 1]
        for here in range(first, last):
            there = here + 1 if here + 1 < last else first
            _mark_edge(points[here], points[there], marks, n_x, n_y)


@kernel("void(u1[:, ::1], i4[:, ::1])")
def count_runs(blocked, runs):  # type: ignore[no-untyped-def]
    """Write the number of free cells from each cell upwards."""
    for ix in range(blocked.shape[0]):
        free = 0
        for iy in range(blocked.shape[1] - 1, -1, -1):
            free = 0 if blocked[ix, iy] else free + 1
            runs[ix, iy] = free


@kernel("i8(i4[:, ::1], i4[::1], i4[:, ::1], i4[::1], i8, i8[::1])")
def first_fit(runs, tallest, spans, needs, height, place):  # type: ignore[no-untyped-def]
    """Move ``place`` to the first column, lowest row from it on where all spans fit.

    ``spans`` (n, 3) are column, row and length of the part's cells, ``needs`` the longest of them
    in each of its columns. Leaves ``place[COLUMN] = -1`` when there is no room. Returns how many
    positions were tried.
    """
    tried = 0
    n_x, n_y = runs.shape
    width = len(needs)
    for column in range(place[COLUMN], n_x - width + 1):
        tried += 1
        low = 0
        while low < width and tallest[column + low] >= needs[low]:
            low += 1
        if low < width:
            continue
        row = place[ROW] if column == place[COLUMN] else 0
        while row <= n_y - height:
            tried += 1
            skip = 0
            for span in range(len(spans)):
                free = runs[column + spans[span, COLUMN], row + spans[span, ROW]]
                if free < spans[span, RUN]:
                    skip = free + 1  # the blocking cell must come to lie below the span
                    break
            if skip == 0:
                place[COLUMN] = column
                place[ROW] = row
                return tried
            row += skip
    place[COLUMN] = -1
    return tried


@kernel("void(i4[:, ::1], i4[::1], i4[:, ::1], i8, i8)")
def block(runs, tallest, spans, column, row):  # type: ignore[no-untyped-def]
    """Take the cells of a part placed at ``(column, row)``."""
    for span in range(len(spans)):
        ix = column + spans[span, COLUMN]
        low = row + spans[span, ROW]
        for iy in range(low, low + spans[span, RUN]):
            runs[ix, iy] = 0
        iy = low - 1
        while iy >= 0 and runs[ix, iy] > 0:
            runs[ix, iy] = runs[ix, iy + 1] + 1
            iy -= 1
    for span in range(len(spans)):
        ix = column + spans[span, COLUMN]
        most = 0
        for iy in range(runs.shape[1]):
            most = max(most, runs[ix, iy])
        tallest[ix] = most


@kernel("i4[:, ::1](u1[:, ::1])")
def spans_of(marks):  # type: ignore[no-untyped-def]
    """Return the marked cells as (column, row, length), column by column."""
    count = 0
    for ix in range(marks.shape[0]):
        for iy in range(marks.shape[1]):
            if marks[ix, iy] and (iy == 0 or not marks[ix, iy - 1]):
                count += 1
    spans = np.zeros((count, SPAN), np.int32)
    count = -1
    for ix in range(marks.shape[0]):
        for iy in range(marks.shape[1]):
            if marks[ix, iy]:
                if iy == 0 or not marks[ix, iy - 1]:
                    count += 1
                    spans[count, COLUMN] = ix
                    spans[count, ROW] = iy
                spans[count, RUN] += 1
    return spans
