"""What must be cut before what, so that nothing is cut after the piece it is on has dropped.

Every contour but the outermost ones waits for one other: a hole is cut before its part's outer
contour, a part that lies in another part's hole before that hole. Each contour is thus released
by at most one other, its ``release``, and the whole is a forest.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from jobprep.cutting.plan import PlacedPart
from jobprep.geometry.measure import Bounds, bounds, contour_contains, signed_area
from jobprep.geometry.outline import Contour


class ContourId(NamedTuple):
    """A contour of a sheet: the part's index, and the hole's index or None for the outer one."""

    part: int
    hole: int | None


def contour_ids(parts: Sequence[PlacedPart]) -> tuple[ContourId, ...]:
    """Return all contours of a sheet, part by part, the holes before the outer contour."""
    return tuple(
        ContourId(index, hole)
        for index, part in enumerate(parts)
        for hole in (*range(len(part.region.holes)), None)
    )


def releases(parts: Sequence[PlacedPart]) -> dict[ContourId, ContourId | None]:
    """Map each contour to the one that frees the piece it is on, None for the sheet itself.

    Parts must not overlap; then one point tells whether a part lies in a hole.
    """
    free: dict[ContourId, ContourId | None] = {}
    holes = _holes_by_size(parts)
    for index, part in enumerate(parts):
        outer = ContourId(index, None)
        free[outer] = _surrounding_hole(part, index, holes)
        for hole in range(len(part.region.holes)):
            free[ContourId(index, hole)] = outer
    return free


class _Hole(NamedTuple):
    id: ContourId
    contour: Contour
    bounds: Bounds


def _holes_by_size(parts: Sequence[PlacedPart]) -> list[_Hole]:
    """Return every hole of the sheet, small ones first: the first around a part is its own."""
    holes = [
        _Hole(ContourId(index, number), hole, bounds(hole.segments))
        for index, part in enumerate(parts)
        for number, hole in enumerate(part.region.holes)
    ]
    return sorted(holes, key=lambda hole: abs(signed_area(hole.contour)))


def _surrounding_hole(part: PlacedPart, index: int, holes: Sequence[_Hole]) -> ContourId | None:
    own = bounds(part.region.outer.segments)
    inside = part.region.outer.segments[0].start
    for hole in holes:
        if hole.id.part == index:
            continue
        box = hole.bounds
        if own.x_min < box.x_min or own.y_min < box.y_min:
            continue
        if own.x_max > box.x_max or own.y_max > box.y_max:
            continue
        if contour_contains(hole.contour, inside):
            return hole.id
    return None
