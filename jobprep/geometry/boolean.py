"""Unions, differences and intersections of regions, exact: arcs stay arcs of their own circle.

Regions that only touch in a point stay apart, a hole that touches the outer contour stays a
hole, and what is thinner than about 1e-6 mm disappears.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from jobprep.geometry.arrangement import Chain, Winding, arrange
from jobprep.geometry.cuts import Loop
from jobprep.geometry.outline import Contour, Region
from jobprep.geometry.stitch import contours_of, regions_of, turned_back
from jobprep.geometry.winding import sides


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
    loops: Sequence[Loop], keep: Callable[[Winding], bool], *, is_simple: bool = True
) -> list[Contour]:
    """Return the contours around all points whose winding is to be kept, them on the left."""
    arrangement = arrange(loops, is_simple=is_simple)
    kept: list[Chain] = []
    for chain, (left, right) in sides(arrangement):
        if keep(left) != keep(right):
            kept.append(chain if keep(left) else turned_back(chain))
    return contours_of(kept, arrangement.points)


def _loops(regions: Iterable[Region], role: int) -> list[Loop]:
    return [Loop(contour.segments, role) for region in regions for contour in region.contours]
