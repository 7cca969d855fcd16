"""What all kernels share: how they are compiled, and the depth of a point among edges.

Apart from the fields, so that either half of the kernels can be compiled without the other.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from inspect import isfunction
from typing import Any

from numba import njit

from jobprep.nesting.columns import ALONG_X, ALONG_Y, LENGTH, START_X, START_Y
from jobprep.nesting.kernel_cache import joined, kept

ALL: dict[str, Any] = {"nogil": True, "no_cfunc_wrapper": True}
"""Options of all kernels: none is called by another language."""

FARTHEST = 1e150
"""A distance beyond all others, whose square is still finite."""


def kernel(first: Any = None, **options: Any) -> Any:
    """Decorate a loop, for the signature given first, else for any that it is called with."""

    def decorate(function: Callable[..., Any]) -> Any:
        dispatcher = joined(kept(njit(**ALL, **options)(function)))
        if first is not None and first is not function:
            dispatcher.compile(first)
            dispatcher.disable_compile()
        return dispatcher

    return decorate(first) if isfunction(first) else decorate


inner: Any = partial(kernel, _nrt=False)
"""Decorator of inner loops: they make no array, so counting references would only cost time,
which it does: the search runs three times faster without."""

inlined: Any = partial(inner, forceinline=True)
"""Decorator of loops that run for every spot. A call passes the heads of all arrays of fields and
shapes, two kilobytes by value, which takes as long as the spot itself."""


@inner("f8(f8[:, ::1], i4[::1], i8, i8, f8, f8, f8)")
def depth_from_edges(edges, near, first, last, x, y, slack):  # type: ignore[no-untyped-def]
    """Return the signed distance of a point to the nearest of some edges, positive to its left.

    Edges within ``slack`` of the nearest count as meeting in one corner.
    """
    best = FARTHEST
    reach = FARTHEST * FARTHEST
    side = -1.0
    for k in range(first, last):
        e = near[k]
        dx = x - edges[e, START_X]
        dy = y - edges[e, START_Y]
        ux = edges[e, ALONG_X]
        uy = edges[e, ALONG_Y]
        along = dx * ux + dy * uy
        left = ux * dy - uy * dx
        if along > 0.0:
            along -= edges[e, LENGTH]
            if along < 0.0:
                along = 0.0
        square = left * left + along * along
        if square < reach:
            distance = math.sqrt(square)
            # At a corner the edge seen more squarely knows the side. Two edges seen alike are
            # the sides of a slit, and the point lies inside.
            if (
                distance < best - slack
                or abs(left) > abs(side) + slack
                or (abs(left) >= abs(side) - slack and left > side)
            ):
                side = left
            if distance < best:
                best = distance
                reach = (best + slack) * (best + slack)
    # All edges seen end on: the point lies beyond the end of a slit.
    return best if side > 0.0 or (side > -slack and best > slack) else -best
