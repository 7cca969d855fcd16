"""Depth fields of parts, of pairs of parts and of sheets, packed for the kernels."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from jobprep.nesting.columns import ALONG_X, ALONG_Y, EDGE, LENGTH, START_X, START_Y
from jobprep.nesting.shapes import Polygon, ring_starts

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

Corner = tuple[float, float]
Corners = list[Corner]

STRAIGHT = 1e-9
"""Sine of a turn to the right up to which it counts as rounding."""

SLACK = 1e-7
"""Edges closer than this meet in one corner, cells: above rounding, far below a cut."""

MOST_SLACK = 5e-7
"""Most of the same, in mm. Parts that lie this deep in each other only touch, so it is half of the
tolerance of a nest's proof."""


class Fields(NamedTuple):
    """Many depth fields in flat arrays, whose columns ``columns`` names.

    ``frame`` and ``size`` are per field, ``depth`` per corner of a cell. Cell c lists
    ``near[first[c]:first[c + 1]]``; field f has ``edges[edge_first[f]:edge_first[f + 1]]``.
    """

    frame: Floats
    size: Ints
    depth: NDArray[np.float32]
    first: NDArray[np.int32]
    near: NDArray[np.int32]
    edges: Floats
    edge_first: Ints


class ConvexPieces(NamedTuple):
    """A polygon as convex anticlockwise pieces: ``points[starts[k]:starts[k + 1]]``."""

    points: Floats
    starts: Ints


def polygon_edges(polygon: Polygon) -> Floats:
    """Return a polygon's edges."""
    rows = []
    for ring in polygon:
        step = np.roll(ring, -1, axis=0) - ring
        length = np.hypot(step[:, 0], step[:, 1])
        keep = length > 0.0
        rows.append(
            np.column_stack([ring, step / np.where(keep, length, 1.0)[:, None], length])[keep]
        )
    return np.ascontiguousarray(np.concatenate(rows))


def reversed_edges(edges: Floats) -> Floats:
    """Return the same edges run backwards: what was inside is outside."""
    along = edges[:, ALONG_X : ALONG_Y + 1]
    return np.ascontiguousarray(np.column_stack([_ends(edges), -along, edges[:, LENGTH]]))


def _ends(edges: Floats) -> Floats:
    """Return where edges end."""
    along = edges[:, ALONG_X : ALONG_Y + 1] * edges[:, [LENGTH]]
    ends: Floats = edges[:, START_X : START_Y + 1] + along
    return ends


def edge_bounds(edges: Floats) -> tuple[float, float, float, float]:
    """Return the bounds of edges."""
    starts, ends = edges[:, START_X : START_Y + 1], _ends(edges)
    low = np.minimum(starts, ends).min(axis=0)
    high = np.maximum(starts, ends).max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


class FieldPacker:
    """Collects fields one by one and packs them."""

    def __init__(self) -> None:
        self._frame: list[tuple[float, float, float, float]] = []
        self._size: list[tuple[int, int, int, int]] = []
        self._depth: list[NDArray[np.float32]] = []
        self._first: list[NDArray[np.int32]] = []
        self._near: list[NDArray[np.int32]] = []
        self._edges: list[Floats] = []
        self._cells = self._corners = self._listed = self._n_edges = 0

    def add(self, edges: Floats, cells: int) -> int:
        """Add the field inside edges, about ``cells`` cells long; return its number."""
        from jobprep.nesting.kernels_field import grid_field

        x0, y0, x1, y1 = edge_bounds(edges)
        cell = max(x1 - x0, y1 - y0) / cells
        n_x = max(1, math.ceil((x1 - x0) / cell - 1e-9))
        n_y = max(1, math.ceil((y1 - y0) / cell - 1e-9))
        slack = min(SLACK * cell, MOST_SLACK)
        depth, first, near = grid_field(edges, x0, y0, cell, n_x, n_y, slack)
        self._frame.append((x0, y0, 1.0 / cell, slack))
        self._size.append((n_x, n_y, self._cells, self._corners))
        self._depth.append(depth)
        self._first.append(first[:-1] + self._listed)
        self._near.append(near + self._n_edges)
        self._edges.append(edges)
        self._cells += n_x * n_y
        self._corners += len(depth)
        self._listed += len(near)
        self._n_edges += len(edges)
        return len(self._frame) - 1

    def packed(self) -> Fields:
        """Return all fields."""
        return Fields(
            np.array(self._frame, np.float64).reshape(-1, 4),
            np.array(self._size, np.int64).reshape(-1, 4),
            np.concatenate([*self._depth, np.zeros(0, np.float32)], dtype=np.float32),
            np.concatenate([*self._first, [self._listed]]).astype(np.int32),
            np.concatenate([*self._near, np.zeros(0, np.int32)]).astype(np.int32),
            np.concatenate([*self._edges, np.zeros((0, EDGE))]),
            np.cumsum([0, *map(len, self._edges)], dtype=np.int64),
        )


def convex_pieces(polygon: Polygon) -> ConvexPieces:
    """Cut a polygon into few convex pieces: triangles, merged while they stay convex."""
    import shapely

    if len(polygon) == 1 and _is_convex(polygon[0]):
        return ConvexPieces(polygon[0], ring_starts(polygon))
    whole = shapely.Polygon(polygon[0], polygon[1:])
    if not whole.is_valid:  # a part grown until a gap in it closed crosses itself
        whole = whole.buffer(0.0)
    triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(whole))
    pieces: list[Corners] = []
    for triangle in triangles:
        ring = list(shapely.geometry.polygon.orient(triangle).exterior.coords)[:-1]
        pieces.append(ring)
    merged = _merge(pieces)
    rings = [np.array(piece) for piece in merged]
    return ConvexPieces(np.ascontiguousarray(np.concatenate(rings)), ring_starts(rings))


def _is_convex(ring: Floats) -> bool:
    step = np.roll(ring, -1, axis=0) - ring
    after = np.roll(step, -1, axis=0)
    cross = step[:, 0] * after[:, 1] - step[:, 1] * after[:, 0]
    size = np.hypot(step[:, 0], step[:, 1]) * np.hypot(after[:, 0], after[:, 1])
    turned = np.arctan2(cross, (step * after).sum(axis=1)).sum()
    return bool((cross >= -STRAIGHT * size).all()) and abs(turned - 2.0 * math.pi) < 1e-6


def _merge(pieces: list[Corners]) -> list[Corners]:
    """Join convex pieces over shared sides, longest side first, while the join is convex."""
    sides: dict[frozenset[Corner], list[int]] = {}
    for number, piece in enumerate(pieces):
        for k, point in enumerate(piece):
            sides.setdefault(frozenset((point, piece[k - 1])), []).append(number)
    owner = list(range(len(pieces)))

    def find(number: int) -> int:
        while owner[number] != number:
            number = owner[number]
        return number

    def length(side: frozenset[Corner]) -> float:
        ends = sorted(side)
        return math.dist(ends[0], ends[-1])

    for side in sorted(sides, key=lambda each: (-length(each), sorted(each))):
        if len(sides[side]) != 2:
            continue
        a, b = (find(number) for number in sides[side])
        joined = None if a == b else _joined(pieces[a], pieces[b], side)
        if joined is not None:
            pieces[a], pieces[b], owner[b] = joined, [], a
    return [piece for number, piece in enumerate(pieces) if owner[number] == number]


def _joined(a: Corners, b: Corners, side: frozenset[Corner]) -> Corners | None:
    """Return two convex pieces as one, None where that is not convex: at an end of their side."""
    first, last = side
    i, j = a.index(first), b.index(first)
    if a[i - 1] != last:
        first, last = last, first
        i, j = a.index(first), b.index(first)
    if b[(j + 1) % len(b)] != last:
        return None
    # b runs from first over their side to last, then on round to first again.
    rest = (b[j:] + b[:j])[2:]
    if _turns_back(rest[-1], first, a[(i + 1) % len(a)]) or _turns_back(a[i - 2], last, rest[0]):
        return None
    return a[:i] + rest + a[i:]


def _turns_back(before: Corner, corner: Corner, after: Corner) -> bool:
    """Return whether a path of three points turns right, by more than rounding."""
    ux, uy = corner[0] - before[0], corner[1] - before[1]
    vx, vy = after[0] - corner[0], after[1] - corner[1]
    return ux * vy - uy * vx < -STRAIGHT * math.hypot(ux, uy) * math.hypot(vx, vy)
