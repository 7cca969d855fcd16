"""Straight pieces that hardly cross, cut into level slabs, each piece into few of them.

The levels at which pieces start and end cut the plane into thin slabs; two slabs beside each other
make a thicker one, and so on up to all of it: a segment tree (M. de Berg et al., Computational
Geometry, 3rd ed. 2008, chapter 10). Of each thickness a piece stands in two slabs at most, from
foot to top. Pieces that do not cross have one order along their slab, so that those near a place
are found by bisection; where they do cross, more are looked at, and none is passed over. All slabs
of one thickness are dealt with at once, in arrays.

Terminology
-----------
level     y, along which slabs are stacked; place is x, along a slab
foot, top where a slab begins and ends
row       the pieces of one kind that stand in one slab, in the order of their places at its foot
entry     a piece's index among all rows of one thickness
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Flags = NDArray[np.bool_]

TOGETHER = 500_000
"""Entries of windows that are listed at a time."""


class SlabPieces(NamedTuple):
    """Straight pieces from level ``low`` to a greater level ``high``.

    ``place`` is where a piece is at its low end, ``slope`` how far it goes from level to level.
    """

    low: Floats
    high: Floats
    place: Floats
    slope: Floats

    def at(self, piece: Ints, level: Floats) -> Floats:
        """Return the places of pieces at levels."""
        places: Floats = self.place[piece] + self.slope[piece] * (level - self.low[piece])
        return places


class Span(NamedTuple):
    """Least and greatest places asked for at a level, one of each for every question."""

    level: Floats
    least: Floats
    greatest: Floats


class Window(NamedTuple):
    """Entries from ``first`` up to ``end``, not with it, for every question."""

    first: Ints
    end: Ints


class Rows(NamedTuple):
    """All rows of slabs of one thickness, one after the other.

    For every entry ``piece`` is its piece, ``row`` the index of its row, ``at_foot`` and ``at_top``
    its places there; ``most`` is the greatest place at the top of those up to it in its row,
    ``least`` the least of those from it on. For every row ``kind`` is its slab's number from below
    times 2, plus the kind of its pieces, ``foot`` and ``top`` are the slab's levels; ``starts``
    bounds the rows, one more than there are.
    """

    piece: Ints
    row: Ints
    at_foot: Floats
    at_top: Floats
    most: Floats
    least: Floats
    kind: Ints
    foot: Floats
    top: Floats
    starts: Ints

    def row_of(self, slab: Ints, kind: Ints | int = 0) -> Ints:
        """Return the row of a kind in each slab, -1 where nothing stands."""
        wanted = 2 * slab + kind
        row = np.minimum(np.searchsorted(self.kind, wanted), len(self.kind) - 1)
        found: Ints = np.where(self.kind[row] == wanted, row, -1)
        return found

    def window(self, row: Ints, spans: Sequence[Span]) -> Window:
        """Return the entries of each row that may lie in any of the spans, or between them."""
        thickness = self.top[row] - self.foot[row]
        shares = [(span.level - self.foot[row]) / thickness for span in spans]

        def places(entry: Ints, asked: Ints, at_top: Floats) -> Iterator[tuple[Span, Floats]]:
            """Yield each span with bounds of the places at its level."""
            for span, share in zip(spans, shares, strict=True):
                part, foot = share[asked], self.at_foot[entry]
                yield span, foot + part * (at_top[entry] - foot)

        def may_reach(entry: Ints, asked: Ints) -> Flags:
            """Return whether an entry or one before it may lie past the least place of a span."""
            bounds = places(entry, asked, self.most)
            found: Flags = np.any([at >= span.least[asked] for span, at in bounds], axis=0)
            return found

        def is_beyond(entry: Ints, asked: Ints) -> Flags:
            """Whether an entry and all after it lie past the greatest place of every span."""
            bounds = places(entry, asked, self.least)
            found: Flags = np.all([at > span.greatest[asked] for span, at in bounds], axis=0)
            return found

        first = bisected(self.starts[row], self.starts[row + 1], may_reach)
        return Window(first, bisected(first, self.starts[row + 1], is_beyond))


def bisected(start: Ints, end: Ints, holds: Callable[[Ints, Ints], Flags]) -> Ints:
    """Return the first index from each start on for which something holds, the end if for none.

    ``holds`` is asked of indices and the numbers of the questions; from where it holds it goes on
    to do so.
    """
    low, high = start.copy(), end.copy()
    asked = np.flatnonzero(low < high)
    while asked.size:
        middle = (low[asked] + high[asked]) >> 1
        is_at = holds(middle, asked)
        high[asked[is_at]] = middle[is_at]
        low[asked[~is_at]] = middle[~is_at] + 1
        asked = asked[low[asked] < high[asked]]
    return low


def spread(window: Window) -> Iterator[tuple[Ints, Ints]]:
    """Yield the number of each question with each entry of its window, in arrays of many."""
    count = np.maximum(window.end - window.first, 0)
    before = np.concatenate(([0], np.cumsum(count)))
    start = 0
    while start < len(count):
        stop = int(np.searchsorted(before, before[start] + TOGETHER, side="right")) - 1
        stop = max(stop, start + 1)
        asked = np.repeat(np.arange(start, stop), count[start:stop])
        yield asked, window.first[asked] + np.arange(before[start], before[stop]) - before[asked]
        start = stop


class Slabs:
    """Pieces in slabs of every thickness; ``depth`` doublings of the thinnest make a thickness.

    Pieces may be of two kinds, 0 and 1.
    """

    def __init__(self, pieces: SlabPieces, kind: Ints | None = None) -> None:
        self.pieces = pieces
        self.kind: Ints = np.zeros(len(pieces.low), np.int64) if kind is None else kind
        self.levels: Floats = np.unique(np.concatenate((pieces.low, pieces.high)))
        self._low: Ints = np.searchsorted(self.levels, pieces.low)
        self._high: Ints = np.searchsorted(self.levels, pieces.high)

    def rows(self) -> Iterator[tuple[int, Rows]]:
        """Yield the rows of every thickness in which pieces stand, with its depth."""
        index = np.arange(len(self._low))
        low, high = self._low, self._high
        depth = 0
        while index.size:
            odd, is_end = (low & 1).astype(bool), (high & 1).astype(bool)
            piece = np.concatenate((index[odd], index[is_end]))
            if piece.size:
                yield depth, self._rows(depth, piece, np.concatenate((low[odd], high[is_end] - 1)))
            low, high = (low + 1) >> 1, high >> 1
            goes_on = low < high
            index, low, high = index[goes_on], low[goes_on], high[goes_on]
            depth += 1

    def _rows(self, depth: int, piece: Ints, slab: Ints) -> Rows:
        foot, top = self._bounds(depth, slab)
        at_foot, at_top = self.pieces.at(piece, foot), self.pieces.at(piece, top)
        kind = 2 * slab + self.kind[piece]
        order = np.lexsort((at_foot, kind))
        piece, kind = piece[order], kind[order]
        at_foot, at_top = at_foot[order], at_top[order]
        starts = np.flatnonzero(np.diff(kind, prepend=-1))
        row = np.cumsum(np.diff(kind, prepend=kind[0]) != 0)
        # Places as ranks, those of one row above those of the rows before.
        ranked = np.argsort(at_top, kind="stable")
        rank = np.empty_like(ranked)
        rank[ranked] = np.arange(len(rank))
        rank += row * len(rank)
        most = np.maximum.accumulate(rank) % len(rank)
        least = np.minimum.accumulate(rank[::-1])[::-1] % len(rank)
        foot, top = self._bounds(depth, kind[starts] >> 1)
        return Rows(
            piece=piece,
            row=row,
            at_foot=at_foot,
            at_top=at_top,
            most=at_top[ranked][most],
            least=at_top[ranked][least],
            kind=kind[starts],
            foot=foot,
            top=top,
            starts=np.append(starts, len(piece)),
        )

    def _bounds(self, depth: int, slab: Ints) -> tuple[Floats, Floats]:
        """Return the levels of the foot and the top of slabs."""
        last = len(self.levels) - 1
        foot, top = slab << depth, np.minimum((slab + 1) << depth, last)
        return self.levels[foot], self.levels[top]

    def ending(self, depth: int) -> tuple[Ints, Ints]:
        """Return the pieces that start or end inside a slab of a thickness, and those slabs."""
        first, last = self._low >> depth, (self._high - 1) >> depth
        index = np.arange(len(first))
        is_first = (first << depth < self._low) | ((first + 1) << depth > self._high)
        is_last = (last != first) & ((last + 1) << depth > self._high)
        return (
            np.concatenate((index[is_first], index[is_last])),
            np.concatenate((first[is_first], last[is_last])),
        )

    def at(self, level: Floats, depth: int) -> Ints:
        """Return the slab of a thickness that each level is in, its foot with it, not its top."""
        slab: Ints = (np.searchsorted(self.levels, level, side="right") - 1) >> depth
        return slab
