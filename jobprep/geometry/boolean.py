"""Unions, differences and intersections of regions, exact: arcs stay arcs of their own circle.

Regions that only touch in a point stay apart, a hole that touches the outer contour stays a
hole, and what is thinner than about 1e-6 mm disappears.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

from jobprep.errors import CannotDoError
from jobprep.geometry.arrangement import EdgeChain, Winding, arrange
from jobprep.geometry.cuts import Loop
from jobprep.geometry.intersect import SNAP
from jobprep.geometry.outline import Contour, Region
from jobprep.geometry.stitch import OpenContourError, contours_of, regions_of, turned_back
from jobprep.geometry.winding import sides

TOLERANCES = (SNAP, 10.0 * SNAP, 100.0 * SNAP)
"""How near points are one, mm: the next wider one is tried where outlines contradict each other."""


def union(regions: Iterable[Region]) -> tuple[Region, ...]:
    """Return what any of the regions covers."""
    return regions_of(combined(_loops(regions, 0), lambda winding: winding.first > 0))


def difference(region: Region, cutters: Sequence[Region]) -> tuple[Region, ...]:
    """Return what is left of a region when all cutters are taken away."""
    loops = _loops((region,), 0) + _loops(cutters, 1)
    return regions_of(combined(loops, lambda winding: winding.first > 0 and winding.second <= 0))


def intersection(a: Region, b: Region) -> tuple[Region, ...]:
    """Return what two regions have in common."""
    loops = _loops((a,), 0) + _loops((b,), 1)
    return regions_of(combined(loops, lambda winding: winding.first > 0 and winding.second > 0))


def combined(
    loops: Sequence[Loop],
    keep: Callable[[Winding], bool],
    *,
    is_simple: bool = True,
    most: float = math.inf,
) -> list[Contour]:
    """Return the contours around all points whose winding is to be kept, them on the left.

    Outlines that coincide but for a little more than rounding may contradict each other about
    what lies between them; then it is tried again with a wider tolerance.

    Raises ``CannotDoError`` when even the widest of ``TOLERANCES`` does not settle it, and
    ``CrowdedError`` when more than ``most`` pairs of many segments meet.
    """
    for tolerance in TOLERANCES:
        arrangement = arrange(loops, is_simple=is_simple, tolerance=tolerance, most=most)
        kept: list[EdgeChain] = []
        for chain, (left, right) in sides(arrangement):
            if keep(left) != keep(right):
                kept.append(chain if keep(left) else turned_back(chain))
        try:
            return contours_of(kept, arrangement.points)
        except OpenContourError as problem:
            place = problem.place
    raise CannotDoError(
        f"outlines run too close to each other near ({place.x:.4f}, {place.y:.4f}) to tell what "
        "lies between them; move one by a hundredth of a millimetre"
    )


def _loops(regions: Iterable[Region], role: int) -> list[Loop]:
    return [Loop(contour.segments, role) for region in regions for contour in region.contours]
