"""Near pairs among thousands of segments of whose boxes too many meet.

Arcs are cut into chords, and chords sorted by direction into three classes. Each two classes get
a frame in which none of their chords is within 30 degrees of level, so that a chord never goes far
along a slab (``geometry/slabs.py``). Two chords come near each other in some slab
from side to side of which one of them stands; there they are neighbours, or hardly more. The work
grows with n log² n and with the number of pairs; chords that cross each other often take more.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from jobprep.geometry.near import CrowdedError
from jobprep.geometry.outline import Line, Segment
from jobprep.geometry.slabs import (
    Flags,
    Floats,
    Ints,
    Rows,
    SlabPieces,
    Slabs,
    Span,
    Window,
    spread,
)

CLASSES = 3
"""Of directions; a frame leaves one of them out."""

STEEPEST = 1.0 / math.sin(math.pi / 6.0)
"""How much farther than straight across a chord its edge is seen along a slab."""

FINEST = 1e-9
"""A lesser tolerance than this, mm, is rounding."""

CHORDS = 2
"""Chords an arc is cut into, on average, beyond those that its tolerance asks for."""


LOOKS = 16
"""Pairs looked at for each of the most that may be found, before they count as too many."""


class Chords(NamedTuple):
    """Chords of segments, mm: their ends, whose they are, and how far those may stray from them."""

    x0: Floats
    y0: Floats
    x1: Floats
    y1: Floats
    owner: Ints
    stray: Floats


def near_among_many(
    segments: Sequence[Segment], tolerance: float, most: float, ours: int = 0
) -> list[tuple[int, int]]:
    """Return the pairs of segments that may come as near as ``tolerance``, mm, the lesser first.

    Of two paths, ``ours`` segments of the first and then those of the second, only pairs of both
    are returned.

    Raises ``CrowdedError`` when there are more than ``most``, or for far more it would have to be
    looked.
    """
    tolerance = max(tolerance, FINEST)
    chords = _chords(segments, tolerance)
    direction = np.arctan2(chords.y1 - chords.y0, chords.x1 - chords.x0) % math.pi
    kind = np.minimum((direction * CLASSES / math.pi).astype(np.int64), CLASSES - 1)
    codes = []
    looked_at = 0
    for left_out in range(CLASSES):
        index = np.flatnonzero(kind != left_out)
        side = (chords.owner[index] >= ours).astype(np.int64) if ours else None
        for first, second in _in_frame(chords, index, left_out, tolerance, side):
            looked_at += first.size
            if looked_at > LOOKS * most:
                raise CrowdedError
            # Those of one class are seen in two frames.
            once = (kind[first] != kind[second]) | (kind[first] == (left_out + 1) % CLASSES)
            once &= chords.owner[first] != chords.owner[second]
            first, second = first[once], second[once]
            limit = tolerance + chords.stray[first] + chords.stray[second]
            is_near = _are_near(chords, first, second, limit)
            owners = chords.owner[first[is_near]], chords.owner[second[is_near]]
            codes.append(np.minimum(*owners) * len(segments) + np.maximum(*owners))
    found = np.unique(np.concatenate(codes)) if codes else np.zeros(0, dtype=np.int64)
    if found.size > most:
        raise CrowdedError
    return list(zip(*(each.tolist() for each in np.divmod(found, len(segments))), strict=True))


def _chords(segments: Sequence[Segment], tolerance: float) -> Chords:
    """Cut arcs into chords, into more where they would stray much farther than the tolerance."""
    arcs = [(i, each) for i, each in enumerate(segments) if not isinstance(each, Line)]
    # A chord strays by a over r (1 - cos(a/2)), a little less than r a² / 8.
    total = sum(abs(arc.sweep) * math.sqrt(arc.radius / 8.0) for _, arc in arcs)
    finest = max(0.25 * tolerance, (total / (CHORDS * len(segments) + 1000)) ** 2)
    ends = [
        (*each.start, *each.end, i, 0.0)
        for i, each in enumerate(segments)
        if isinstance(each, Line)
    ]
    for i, arc in arcs:
        parts = math.ceil(abs(arc.sweep) * math.sqrt(arc.radius / (8.0 * finest))) or 1
        parts = max(parts, math.ceil(4.0 * abs(arc.sweep) / math.tau))
        stray = arc.radius * (1.0 - math.cos(0.5 * arc.sweep / parts))
        points = [arc.at(arc.start_angle + arc.sweep * n / parts) for n in range(parts + 1)]
        ends += ((*a, *b, i, stray) for a, b in pairwise(points))
    x0, y0, x1, y1, owner, strays = np.array(ends, dtype=np.float64).reshape(-1, 6).T
    return Chords(x0, y0, x1, y1, owner.astype(np.int64), strays)


def _in_frame(
    chords: Chords, index: Ints, left_out: int, tolerance: float, side: Ints | None
) -> Iterator[tuple[Ints, Ints]]:
    """Yield pairs of some chords that may be near each other, in arrays.

    The frame's x axis runs in the middle of the class of directions that is left out.
    """
    angle = (left_out + 0.5) * math.pi / CLASSES
    cos, sin = math.cos(angle), math.sin(angle)
    x0, y0, x1, y1 = (each[index] for each in chords[:4])
    places, levels = (
        (x0 * cos + y0 * sin, x1 * cos + y1 * sin),
        (y0 * cos - x0 * sin, y1 * cos - x1 * sin),
    )
    rises = levels[1] >= levels[0]
    low, high = np.minimum(*levels), np.maximum(*levels)
    place, end = np.where(rises, *places), np.where(rises, *places[::-1])
    height = high - low
    slope = np.divide(end - place, height, out=np.zeros_like(height), where=height > 0.0)
    # All within half the tolerance of a chord is in its piece, widened by as much to both sides.
    near = 0.5 * tolerance + float(chords.stray.max(initial=0.0))
    wide = 2.0 * STEEPEST * near
    slabs = Slabs(SlabPieces(low - near, high + near, place - slope * near, slope), side)
    for depth, rows in slabs.rows():
        standing = _standing(rows, wide) if side is None else _facing(rows, wide)
        for asked, entry in standing:
            yield index[asked], index[rows.piece[entry]]
        for asked, entry in _ending(slabs, depth, rows, wide, is_one_path=side is None):
            yield index[asked], index[rows.piece[entry]]


def _standing(rows: Rows, wide: float) -> Iterator[tuple[Ints, Ints]]:
    """Yield pieces and later entries of their row that come within a distance at foot or top."""
    entries = np.arange(len(rows.piece))
    window = _around(rows, entries, rows.row, wide)
    for asked, entry in spread(Window(np.maximum(window.first, entries + 1), window.end)):
        yield rows.piece[asked], entry


def _facing(rows: Rows, wide: float) -> Iterator[tuple[Ints, Ints]]:
    """Yield pieces of the first kind and such entries of the other kind in their slab."""
    entries = np.flatnonzero(rows.kind[rows.row] & 1 == 0)
    row = rows.row_of(rows.kind[rows.row[entries]] >> 1, 1)
    entries, row = entries[row >= 0], row[row >= 0]
    for asked, entry in spread(_around(rows, entries, row, wide)):
        yield rows.piece[entries[asked]], entry


def _around(rows: Rows, entries: Ints, row: Ints, wide: float) -> Window:
    """Return what of a row comes within a distance of each entry, at foot or top of its slab."""
    spans = [
        Span(level[row], places[entries] - wide, places[entries] + wide)
        for level, places in ((rows.foot, rows.at_foot), (rows.top, rows.at_top))
    ]
    return rows.window(row, spans)


def _ending(
    slabs: Slabs, depth: int, rows: Rows, wide: float, *, is_one_path: bool
) -> Iterator[tuple[Ints, Ints]]:
    """Yield pieces that end inside slabs, and the entries there that come within a distance.

    Of two paths the entries are of the other one.
    """
    piece, slab = slabs.ending(depth)
    row = rows.row_of(slab, 0 if is_one_path else 1 - slabs.kind[piece])
    piece, row = piece[row >= 0], row[row >= 0]
    levels = (
        np.maximum(slabs.pieces.low[piece], rows.foot[row]),
        np.minimum(slabs.pieces.high[piece], rows.top[row]),
    )
    places = (slabs.pieces.at(piece, level) for level in levels)
    spans = [
        Span(level, place - wide, place + wide) for level, place in zip(levels, places, strict=True)
    ]
    for asked, entry in spread(rows.window(row, spans)):
        yield piece[asked], entry


def _are_near(chords: Chords, first: Ints, second: Ints, limit: Floats) -> Flags:
    """Return which pairs of chords come as near as their limit."""
    a, b, c, d = (
        np.stack((x[index], y[index]))
        for index in (first, second)
        for x, y in ((chords.x0, chords.y0), (chords.x1, chords.y1))
    )
    apart = np.min(
        [_squared(p, q, r) for p, q, r in ((a, c, d), (b, c, d), (c, a, b), (d, a, b))], axis=0
    )
    crosses = (_side(a, b, c) * _side(a, b, d) < 0.0) & (_side(c, d, a) * _side(c, d, b) < 0.0)
    near: Flags = crosses | (apart <= limit * limit * (1.0 + 1e-9))
    return near


def _squared(point: Floats, start: Floats, end: Floats) -> Floats:
    """Return the square of the distance from each point to its line."""
    way, off = end - start, point - start
    square = np.sum(way * way, axis=0)
    along = np.clip(np.sum(way * off, axis=0) / np.where(square > 0.0, square, 1.0), 0.0, 1.0)
    gap = off - along * way
    squared: Floats = np.sum(gap * gap, axis=0)
    return squared


def _side(start: Floats, end: Floats, point: Floats) -> Floats:
    """Return a number that is positive where a point lies on the left of its line."""
    (x, y), (u, v) = end - start, point - start
    side: Floats = x * v - y * u
    return side
