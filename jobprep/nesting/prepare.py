"""Turn polygons into the arrays that the search works on."""

from __future__ import annotations

import math
from collections.abc import Sequence, Sized
from typing import NamedTuple

import numpy as np

from jobprep.nesting.columns import LENGTH
from jobprep.nesting.fields import (
    ConvexPieces,
    FieldPacker,
    Fields,
    convex_pieces,
    polygon_edges,
    reversed_edges,
)
from jobprep.nesting.hulls import hollowness, hull_ring, pack_hulls, width
from jobprep.nesting.layout import DISCS, SAMPLED, Floats, Ints, Shapes
from jobprep.nesting.problem import Problem
from jobprep.nesting.shapes import Polygon, area, bounds, rotated
from jobprep.units import TURN

CELLS = 32
"""Cells along a field's longer side: smaller cells cost memory and time, and gain nothing."""

MOST_PAIRS, MOST_CELLS, FEWEST_CELLS = 16_000, 4_000_000, 12
"""Most sums computed in advance; with more, parts are compared by their sample points, and a spot
takes three times as long. Most cells of all sums together. With many sums each has fewer cells
along its longer side, but no fewer than the last number."""

MOST_PIECES, MOST_PIECES_IN_ALL = 400, 25_000
"""Most pairs of convex pieces for a sum, and for all sums together, the simplest first; more take
too long. Rings have many."""

LARGE_PIECE, MOST_MIDDLES = 0.02, 12
"""Convex pieces of at least this share of a part, and this number at most, have a sample point."""

LONG = 0.3
"""Edges longer than this share of a part's size are worth laying against others."""

END = 0.5
"""Edges longer than this share of a part's width have a sample point in their middle."""

SUM_TOLERANCE = 1e-12
"""Rounding allowed for when sums are joined, as a share of the parts' size."""

WALKS, EXACT_WALKS = 3, 1
"""Tries walked downhill. Where every overlap is exact, one walk takes as long as all tries and
further ones mostly end no better."""


class Prepared(NamedTuple):
    """What all chains of a search share.

    ``kind``, ``areas`` and ``hefts`` are per part, of the hefts only the ratios count; ``bounds``
    and ``outside``, the field of what lies outside, are per sheet. ``walks`` are those of tries.
    """

    fields: Fields
    shapes: Shapes
    kind: Ints
    areas: Floats
    hefts: Floats
    bounds: Floats
    outside: Ints
    walks: int


def prepare(problem: Problem, kinds: Sequence[int], sheets: Sequence[int]) -> Prepared:
    """Prepare fields and shapes for parts of these kinds on these sheets."""
    packer = FieldPacker()
    shapes = build_shapes(problem.parts, problem.n_turns, problem.radii, packer)
    fields = {n: outside_field(problem.sheets[n], packer) for n in sorted(set(sheets))}
    outside = np.array([fields[n] for n in sheets], np.int64)
    kind = np.array(kinds, np.int64)
    hefts = np.sqrt([area([hull_ring(polygon)]) for polygon in problem.parts])
    is_exact = (shapes.n_turns > 0).all() and (shapes.pair != SAMPLED).all() and (outside < 0).all()
    return Prepared(
        fields=packer.packed(),
        shapes=shapes,
        kind=kind,
        areas=np.array(problem.areas)[kind],
        hefts=hefts[kind],
        bounds=np.array([bounds(problem.sheets[n]) for n in sheets]),
        outside=outside,
        walks=EXACT_WALKS if is_exact else WALKS,
    )


def on_sheets(prepared: Prepared, count: int) -> Prepared:
    """Return what is prepared for the first sheets alone."""
    return prepared._replace(bounds=prepared.bounds[:count], outside=prepared.outside[:count])


def build_shapes(
    polygons: Sequence[Polygon],
    n_turns: Sequence[int],
    radii: Sequence[float],
    packer: FieldPacker,
) -> Shapes:
    """Return the shapes of all kinds of part.

    ``n_turns`` 0 lets a kind turn freely; a radius above 0 makes it a disc about its origin.
    """
    turns = math.lcm(*(n for n in n_turns if n > 0))
    angles = [TURN * k / turns for k in range(turns)]
    edges = [polygon_edges(polygon) for polygon in polygons]
    size = [min(b[2] - b[0], b[3] - b[1]) for b in map(bounds, polygons)]
    samples = [sample_points(polygon, s) for polygon, s in zip(polygons, size, strict=True)]
    straight = _straight(edges, size)
    pair = _pair_fields(polygons, n_turns, turns, packer)
    discs = np.flatnonzero(np.array(radii) > 0.0)
    for i in discs:
        pair[i * len(polygons) + discs] = DISCS
    return Shapes(
        pair=pair,
        turns=np.array([(_exact(math.cos(a)), _exact(math.sin(a))) for a in angles]),
        n_turns=np.array(n_turns, np.int64),
        extent=np.array([[bounds(rotated(polygon, a)) for a in angles] for polygon in polygons]),
        own=np.array([packer.add(each, CELLS) for each in edges], np.int64),
        samples=np.concatenate(samples),
        sample_first=_starts(samples),
        edges=np.concatenate(edges),
        edge_first=_starts(edges),
        size=np.array(size, np.float64),
        radius=np.array(radii, np.float64),
        straight=np.concatenate(straight).astype(np.int64),
        straight_first=_starts(straight),
        hollow=np.array([hollowness(polygon) for polygon in polygons], np.int64),
        hulls=pack_hulls(polygons),
    )


def _starts(parts: Sequence[Sized]) -> Ints:
    return np.cumsum([0, *map(len, parts)], dtype=np.int64)


def _straight(edges: Sequence[Floats], sizes: Sequence[float]) -> list[Ints]:
    """Return, per kind, the numbers of edges long enough to be worth laying against another."""
    first = _starts(edges)
    return [
        first[kind] + np.flatnonzero(each[:, LENGTH] > LONG * sizes[kind])
        for kind, each in enumerate(edges)
    ]


def _exact(value: float) -> float:
    """Round a sine or cosine of a right angle to what it is."""
    return float(round(value)) if abs(value - round(value)) < 1e-15 else value


def _pair_fields(
    polygons: Sequence[Polygon], n_turns: Sequence[int], turns: int, packer: FieldPacker
) -> np.ndarray[tuple[int, int], np.dtype[np.int32]]:
    """Build the field of the sum of each two kinds at each turn between them."""
    from jobprep.nesting.kernels_field import sum_edges

    kinds = len(polygons)
    pair = np.full((kinds * kinds, turns), SAMPLED, np.int32)
    fixed = [k for k in range(kinds) if n_turns[k] > 0]
    if len(fixed) ** 2 * turns > MOST_PAIRS:
        return pair
    cells = min(CELLS, max(FEWEST_CELLS, math.isqrt(MOST_CELLS // max(1, len(fixed) ** 2 * turns))))
    tolerance = SUM_TOLERANCE * max(max(map(abs, bounds(p))) for p in polygons)
    pieces = {k: convex_pieces(polygons[k]) for k in fixed}
    most = _most_pieces([len(each.starts) - 1 for each in pieces.values()], turns)
    for i in fixed:
        for turn in range(turns):
            if not any(
                (turn - a * turns // n_turns[i]) % (turns // n_turns[j]) == 0
                for j in fixed
                for a in range(n_turns[i])
            ):
                continue
            turned = _turned(pieces[i], TURN * turn / turns)
            for j in fixed:
                if (len(pieces[i].starts) - 1) * (len(pieces[j].starts) - 1) > most:
                    continue
                edges = sum_edges(
                    turned.points, turned.starts, pieces[j].points, pieces[j].starts, tolerance
                )
                pair[i * kinds + j, turn] = packer.add(edges, cells)
    return pair


def _most_pieces(counts: Sequence[int], turns: int) -> int:
    """Return how many pairs of pieces a sum may have for all sums to be built in seconds."""
    pieces, pairs = np.unique(np.outer(counts, counts), return_counts=True)
    affordable = pieces[np.cumsum(pieces * pairs) * turns <= MOST_PIECES_IN_ALL]
    return min(MOST_PIECES, int(affordable.max(initial=0)))


def _turned(pieces: ConvexPieces, angle: float) -> ConvexPieces:
    cos, sin = _exact(math.cos(angle)), _exact(math.sin(angle))
    points = pieces.points @ np.array([[cos, sin], [-sin, cos]])
    return ConvexPieces(np.ascontiguousarray(points), pieces.starts)


def sample_points(polygon: Polygon, size: float) -> Floats:
    """Return points all along a polygon's edges and some inside, each with its weight.

    Every corner is one; a long edge gets more, and so do the short ends of a slim part, since
    the corners of its copy that has slid along it lie on its edges. Weights are shares of the
    outline.
    """
    rows: list[tuple[float, float, float]] = []
    spacing = size / 4.0
    end = END * width(polygon[0])
    for ring in polygon:
        for (x0, y0), (x1, y1) in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            length = math.hypot(x1 - x0, y1 - y0)
            count = max(2 if length > end else 1, math.ceil(length / spacing))
            rows.extend(
                (x0 + (x1 - x0) * k / count, y0 + (y1 - y0) * k / count, length / count)
                for k in range(count)
            )
    points = np.array(rows)
    points[:, 2] *= 2.0 / points[:, 2].sum()
    return np.concatenate([points, _inner_points(polygon, size)])


def _inner_points(polygon: Polygon, size: float) -> Floats:
    """Return points well inside a polygon, which show that two parts lie right on each other."""
    x0, y0, x1, y1 = bounds(polygon)
    nodes = [
        (x, y, 0.1) for x in np.linspace(x0, x1, 9)[1:-1] for y in np.linspace(y0, y1, 9)[1:-1]
    ]
    points = np.array(nodes)
    inside = np.zeros(len(points), bool)
    for ring in polygon:
        for (ax, ay), (bx, by) in zip(ring, np.roll(ring, -1, axis=0), strict=True):
            if ay != by:
                crosses = (ay <= points[:, 1]) != (by <= points[:, 1])
                inside ^= crosses & (
                    points[:, 0] < ax + (points[:, 1] - ay) * (bx - ax) / (by - ay)
                )
    chosen = points[inside]
    return np.concatenate([chosen[:: max(1, len(chosen) // 6)], _middles(polygon)])


def _middles(polygon: Polygon) -> Floats:
    """Return a point in each large convex piece of a polygon.

    The bars of two equal frames may lie on each other with all their edges in line.
    """
    pieces = convex_pieces(polygon)
    rings = np.split(pieces.points, pieces.starts[1:-1])
    least = LARGE_PIECE * area(polygon)
    rings = sorted((ring for ring in rings if area([ring]) >= least), key=lambda r: -area([r]))
    middles = [(*ring.mean(axis=0), 0.1) for ring in rings[:MOST_MIDDLES]]
    return np.array(middles, np.float64).reshape(-1, 3)


def outside_field(polygon: Polygon, packer: FieldPacker) -> int:
    """Add the field of what lies outside a sheet; -1 when the sheet fills its bounds."""
    x0, y0, x1, y1 = bounds(polygon)
    if abs(area(polygon)) >= (x1 - x0) * (y1 - y0) * (1.0 - 1e-12):
        return -1
    return packer.add(reversed_edges(polygon_edges(polygon)), 2 * CELLS)
