"""Rays from many places through many edges: as ``rays``, all of them at once.

Pieces stand in level slabs (``geometry/slabs.py``), arcs as chords. Those that a ray surely meets
are added up row by row; only the few that may lie beside its start are looked at one by one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np

from jobprep.geometry.arrangement import Edge, Winding
from jobprep.geometry.intersect import SNAP
from jobprep.geometry.outline import Arc, Line, Point
from jobprep.geometry.rays import MonotonePiece, pieces_of, place_at
from jobprep.geometry.slabs import Flags, Floats, Ints, SlabPieces, Slabs, Span, spread

CHORDS = 2
"""Chords cut from the arcs of an arrangement for each of its edges, about, and a thousand."""


class _Curves(NamedTuple):
    """What is needed to find a piece's place: a line's run, or an arc's circle and side."""

    level: Floats
    place: Floats
    rise: Floats
    run: Floats
    radius: Floats
    bulge: Floats

    def at(self, piece: Ints, level: Floats) -> Floats:
        """Return the places of pieces at levels, by the formulas of ``rays.place_at``."""
        level0, place, rise, run, radius, bulge = (each[piece] for each in self)
        share = np.divide(level - level0, rise, out=np.full_like(level, 0.5), where=rise != 0.0)
        share = np.clip(share, 0.0, 1.0)
        across = level - level0
        square = np.maximum((radius - across) * (radius + across), 0.0)
        at: Floats = place + np.where(bulge == 0.0, share * run, bulge * np.sqrt(square))
        return at


class ManyRays:
    """Edges for rays towards greater place along one axis."""

    def __init__(self, edges: Sequence[Edge], points: list[Point], *, along_y: bool) -> None:
        self._along_y = along_y
        self._number = {id(edge): number for number, edge in enumerate(edges)}
        pieces = [piece for edge in edges for piece in pieces_of(edge, points, along_y=along_y)]
        self._edge: Ints = np.array([self._number[id(each.edge)] for each in pieces], np.int64)
        steps = [
            (piece.sign * piece.edge.step.first, piece.sign * piece.edge.step.second)
            for piece in pieces
        ]
        self._steps: Ints = np.array(steps, np.int64).reshape(-1, 2)
        curves = [_curve(piece, along_y) for piece in pieces]
        self._curves = _Curves(*np.array(curves, np.float64).reshape(-1, 6).T)
        finest = _finest(pieces)
        chords = [
            (number, *chord)
            for number, piece in enumerate(pieces)
            for chord in _chords(piece, finest, along_y)
        ]
        owner, low, high, start, end, stray = np.array(chords, np.float64).reshape(-1, 6).T
        self._owner = owner.astype(np.int64)
        self._stray = float(stray.max(initial=0.0))
        self._slabs = Slabs(SlabPieces(low, high, start, (end - start) / (high - low)))

    def beyond(self, asked: Sequence[tuple[Edge, Point]]) -> list[Winding]:
        """Return the winding just beyond each edge, as the ray from a point on it sees it."""
        edge = np.array([self._number[id(each)] for each, _ in asked], np.int64)
        x, y = np.array([point for _, point in asked], np.float64).reshape(-1, 2).T
        level, place = (x, y) if self._along_y else (y, x)
        found = np.zeros((len(asked), 2), np.int64)
        nearest = np.full(len(asked), np.inf)
        own = np.zeros_like(found)
        for depth, rows in self._slabs.rows():
            row = rows.row_of(self._slabs.at(level, depth))
            those = np.flatnonzero(row >= 0)
            far = self._stray + 2.0 * SNAP
            span = Span(level[those], place[those] - far, place[those] + far)
            window = rows.window(row[those], [span])
            steps = self._steps[self._owner[rows.piece]]
            before = np.concatenate((np.zeros((1, 2), np.int64), np.cumsum(steps, axis=0)))
            found[those] += before[rows.starts[row[those] + 1]] - before[window.end]
            for question, entry in spread(window):
                number, piece = those[question], self._owner[rows.piece[entry]]
                gap = self._curves.at(piece, level[number]) - place[number]
                counted = np.where((gap > 0.0)[:, None], self._steps[piece], 0)
                np.add.at(found, number, counted)
                _keep_nearest(
                    self._edge[piece] == edge[number], number, np.abs(gap), counted, nearest, own
                )
        return [Winding(first, second) for first, second in (found - own).tolist()]


def _keep_nearest(
    is_own: Flags, number: Ints, gap: Floats, counted: Ints, nearest: Floats, own: Ints
) -> None:
    """Note for each ray which piece of its own edge is nearest, and what it counted for."""
    number, gap, counted = number[is_own], gap[is_own], counted[is_own]
    order = np.lexsort((-gap, number))  # the nearest comes last and stays
    number, gap, counted = number[order], gap[order], counted[order]
    is_nearer = gap < nearest[number]
    nearest[number[is_nearer]] = gap[is_nearer]
    own[number[is_nearer]] = counted[is_nearer]


def _curve(piece: MonotonePiece, along_y: bool) -> tuple[float, ...]:
    """Return the row of ``_Curves`` of a piece."""
    level, place = (0, 1) if along_y else (1, 0)
    segment = piece.edge.segment
    if isinstance(segment, Line):
        a, b = segment
        return a[level], a[place], b[level] - a[level], b[place] - a[place], 0.0, 0.0
    centre = segment.centre
    return centre[level], centre[place], 1.0, 0.0, segment.radius, float(piece.bulge)


def _finest(pieces: Sequence[MonotonePiece]) -> float:
    """Return how far chords are to stray from their arcs, mm, so that there are not too many."""
    arcs = {id(each.edge): each.edge.segment for each in pieces if each.bulge}.values()
    total = sum(
        abs(arc.sweep) * math.sqrt(arc.radius / 8.0) for arc in arcs if isinstance(arc, Arc)
    )
    return (total / (CHORDS * len(pieces) + 1000)) ** 2


def _chords(piece: MonotonePiece, finest: float, along_y: bool) -> Iterator[tuple[float, ...]]:
    """Yield chords of a piece, upwards: both levels, the places there, and how far it strays.

    A chord strays by r (1 - cos(a/2)) straight across it, and by more along a level.
    """
    low, high = piece.low, piece.high
    start, end = (place_at(piece, each, along_y=along_y) for each in (low, high))
    segment = piece.edge.segment
    if isinstance(segment, Line):
        yield low, high, start, end, 0.0
        return
    radius = segment.radius
    level, place = segment.centre[0 if along_y else 1], segment.centre[1 if along_y else 0]
    first, last = (math.asin(min(max((each - level) / radius, -1.0), 1.0)) for each in (low, high))
    parts = math.ceil((last - first) * math.sqrt(radius / (8.0 * finest))) or 1
    half = 0.5 * (last - first) / parts
    for part in range(1, parts + 1):
        angle = first + 2.0 * half * part
        following = level + radius * math.sin(angle) if part < parts else high
        if low < following < high or part == parts:
            across = place + piece.bulge * radius * math.cos(angle) if part < parts else end
            stray = radius * (1.0 - math.cos(half)) / max(math.cos(angle - half), 1e-9)
            yield low, following, start, across, stray
            low, start = following, across
