"""Flat faces with hundreds of holes as triangles.

Terminology
-----------
ring     a closed polygon, (n, 2) mm; round the outside anticlockwise, round a hole clockwise
guard    a ring of few corners close round a hole, in the face

The time to triangulate grows with the holes times the corners and beyond. So the face is first cut
along the guards: between the outside and these there are few corners, and what lies between a guard
and its hole is small.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Ring: TypeAlias = NDArray[np.float64]
Triangles: TypeAlias = NDArray[np.int64]

AREA_TOLERANCE = 1e-9
"""How far the triangles' area may be off, as a share of the face's: rounding."""


def face_triangles(outside: Ring, holes: Sequence[Ring], guards: Sequence[Ring]) -> Triangles:
    """Return the triangles of a face, (m, 3), anticlockwise.

    They count the corners of the outside, of the holes, then of the guards, of which there is one
    for each hole. Raises ``ValueError`` where they do not tile the face.
    """
    rings = [outside, *holes, *guards]
    first = np.cumsum([0, *map(len, rings)])
    numbers = [np.arange(a, b) for a, b in itertools.pairwise(first)]
    within, around = numbers[1 : len(holes) + 1], numbers[len(holes) + 1 :]
    found = [_between([outside, *guards], [numbers[0], *around])]
    for hole, guard, inner, outer in zip(holes, guards, within, around, strict=True):
        found.append(_between([guard[::-1], hole], [outer[::-1], inner]))
    triangles = np.concatenate(found)
    _prove(np.concatenate(rings), triangles, sum(map(_area, [outside, *holes])))
    return triangles


def _between(rings: Sequence[Ring], numbers: Sequence[NDArray[np.int64]]) -> Triangles:
    """Return the triangles between rings whose corners bear these numbers."""
    from manifold3d import triangulate

    found: Triangles = np.concatenate(numbers)[triangulate(rings)]
    return found


def _area(ring: Ring) -> float:
    x, y = ring.T
    return 0.5 * float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def _prove(corners: Ring, triangles: Triangles, whole: float) -> None:
    """Raise unless triangles are as large as the face together and none is turned over."""
    a, b, c = (corners[triangles[:, k]] for k in range(3))
    sizes = 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    least = -AREA_TOLERANCE * whole
    if not (sizes > least).all() or abs(float(sizes.sum()) - whole) > -least:
        raise ValueError("the triangles do not tile their face")
