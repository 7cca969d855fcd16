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
from numba.core.caching import FunctionCache
from numba.core.runtime.nrt import rtsys

from jobprep.nesting.kernel_cache import forget_stale
from jobprep.nesting.kernels_place import kernels_place


class _KernelCache(FunctionCache):
    """Loads compiled kernels without setting up the compiler, which takes longer than they do.

    numba sets it up before it looks for a kernel, and again before it compiles one that it did not
    find. All that a loaded kernel needs is the counting of references.
    """

    def load_overload(self, sig: object, target_context: object) -> object:
        rtsys.initialize(target_context)
        with self._guard_against_spurious_io_errors():
            return self._load_overload(sig, target_context)  # type: ignore[no-untyped-call]


def kernel(first: Any = None, **options: Any) -> Any:
    """Decorate a loop, for the signature given first, else for any that it is called with."""

    def decorate(function: Callable[..., Any]) -> Any:
        dispatcher = njit(nogil=True, **options)(function)
        dispatcher._cache = _KernelCache(function)  # type: ignore[no-untyped-call]
        if first is not None and first is not function:
            dispatcher.compile(first)
            dispatcher.disable_compile()
        return dispatcher

    return decorate(first) if isfunction(first) else decorate


_place = kernels_place()
if _place is not None:  # before the first kernel is taken from there
    forget_stale(_place)

inner: Any = partial(kernel, _nrt=False)
"""Decorator of inner loops: they make no array, so counting references would only cost time,
which it does: the search runs three times faster without."""

inlined: Any = partial(inner, forceinline=True)
"""Decorator of those met for every spot. A call hands over the heads of all arrays of fields and
shapes, two kilobytes by value, which takes as long as the spot itself."""


@inner("f8(f8[:, ::1], i4[::1], i8, i8, f8, f8, f8)")
def depth_from_edges(edges, near, first, last, x, y, slack):  # type: ignore[no-untyped-def]
    """Return the signed distance of a point to the nearest of some edges, positive to its left.

    Edges within ``slack`` of the nearest count as meeting in one corner.
    """
    best = 1e150
    reach = 1e300
    side = -1.0
    for k in range(first, last):
        e = near[k]
        dx = x - edges[e, 0]
        dy = y - edges[e, 1]
        ux = edges[e, 2]
        uy = edges[e, 3]
        along = dx * ux + dy * uy
        left = ux * dy - uy * dx
        if along > 0.0:
            along -= edges[e, 4]
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
    return best if side > 0.0 else -best
