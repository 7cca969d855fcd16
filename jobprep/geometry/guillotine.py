"""A region parted by straight cuts, upright or level, each right across the piece that it parts.

Terminology
-----------
straight cut   a line along x or y, from where it first meets the piece to where it last does
division       a region and, where it is cut, the pieces on both sides of the cut, divisions too
leaf           a piece that is not cut any further
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from jobprep.errors import CannotDoError
from jobprep.geometry.boolean import intersection
from jobprep.geometry.measure import Bounds, area, region_bounds
from jobprep.geometry.outline import Line, Point, Region, moved_contour, moved_region, rectangle

PAST = 1.0
"""How far windows reach past a piece, mm, so that but one edge of theirs crosses it."""

SAME = 1e-6
"""Lengths that differ by less are equal, mm: rounding, far below any cut."""


class StrayCutError(CannotDoError):
    """A straight cut that does not reach right across any piece; ``number`` counts from 0."""

    def __init__(self, number: int) -> None:
        self.number = number
        super().__init__(f"straight cut {number + 1} does not reach right across a piece")


@dataclass(frozen=True, slots=True)
class Division:
    """A region, and the pieces that a straight cut parts it into; a leaf has no cut."""

    region: Region
    cut: Line | None = None
    pieces: tuple[Division, ...] = ()

    def leaves(self) -> Iterator[Region]:
        """Yield the pieces that are not cut any further."""
        if self.cut is None:
            yield self.region
        for piece in self.pieces:
            yield from piece.leaves()

    def cuts(self) -> Iterator[Line]:
        """Yield the cuts in the order they are made."""
        if self.cut is not None:
            yield self.cut
        for piece in self.pieces:
            yield from piece.cuts()

    def freeing(self, wanted: Collection[Region]) -> Division:
        """Return the division with those cuts alone that it takes to free some of its leaves."""
        pieces = tuple(piece.freeing(wanted) for piece in self.pieces)
        needed = [piece for piece in pieces if any(leaf in wanted for leaf in piece.leaves())]
        if not needed:
            return Division(self.region)
        only = needed[0] if len(needed) == 1 else None
        direct = None if only is None else _cut_directly(self, only, wanted)
        return replace(self, pieces=pieces) if direct is None else direct


def _cut_directly(whole: Division, only: Division, wanted: Collection[Region]) -> Division | None:
    """Return a rectangle cut where the ``only`` piece of it that is needed is cut along with it.

    The first of two cuts side by side frees nothing then. None where there are no two such cuts,
    or where the second one alone would leave a larger piece.
    """
    if whole.cut is None or only.cut is None or not is_upright_rectangle(whole.region):
        return None
    (x, y), (x1, _) = only.cut
    upright = x == x1
    if upright != (whole.cut.start.x == whole.cut.end.x):
        return None
    halves = halved(whole.region, x if upright else y, upright=upright)
    if halves is None:
        return None
    own = {piece.region: piece for piece in only.pieces}
    pieces = tuple(own.get(region, Division(region)) for region in halves.pieces)
    direct = Division(whole.region, halves.cut, pieces)
    left = tuple(direct.leaves())
    return direct if all(leaf in left for leaf in only.leaves() if leaf in wanted) else None


class Halves(NamedTuple):
    """A straight cut, and the pieces on both sides: below or left of it first."""

    cut: Line
    pieces: tuple[Region, ...]


def halved(region: Region, at: float, *, upright: bool) -> Halves | None:
    """Cut a region at an ``x`` (upright) or a ``y``; None where the line does not cross it."""
    box = region_bounds(region)
    if not (box.x_min < at < box.x_max if upright else box.y_min < at < box.y_max):
        return None
    sides: tuple[tuple[Region, ...], tuple[Region, ...]]
    if is_upright_rectangle(region):
        low, high = _parted(box, at, upright=upright)
        sides = ((_rectangle_in(low),), (_rectangle_in(high),))
    else:
        around = Bounds(box.x_min - PAST, box.y_min - PAST, box.x_max + PAST, box.y_max + PAST)
        low, high = _parted(around, at, upright=upright)
        sides = (_inside(region, low), _inside(region, high))
    along = [
        [place for piece in side for place in _places_at(piece, at, upright=upright)]
        for side in sides
    ]
    if not all(along):
        return None
    first, last = max(map(min, along)), min(map(max, along))
    ends = ((at, first), (at, last)) if upright else ((first, at), (last, at))
    return Halves(Line(*(Point(*end) for end in ends)), sides[0] + sides[1])


def divided(region: Region, cuts: Sequence[Line]) -> Division:
    """Return a region after straight cuts, in their order.

    Raises
    ------
    StrayCutError
        When one of them does not reach right across a piece, no less and no more.
    """
    division = Division(region)
    for number, cut in enumerate(cuts):
        further = _with_cut(division, cut)
        if further is None:
            raise StrayCutError(number)
        division = further
    return division


def is_upright_rectangle(region: Region) -> bool:
    """Whether a region is a rectangle with sides along x and y, no more and no less."""
    segments = region.outer.segments
    if region.holes or len(segments) != 4 or not all(isinstance(s, Line) for s in segments):
        return False
    box = region_bounds(region)
    return abs(area(region) - box.width * box.height) <= SAME * max(box.width, box.height)


def at_origin(region: Region) -> Region:
    """Return a region with its lower left corner at (0, 0), a rectangle in its plain form."""
    box = region_bounds(region)
    if is_upright_rectangle(region):
        return Region(rectangle(round(box.width, 9), round(box.height, 9)))
    return moved_region(region, 0.0, -box.x_min, -box.y_min)


def _with_cut(division: Division, cut: Line) -> Division | None:
    """Return a division with one cut more, None where that fits no leaf."""
    box = region_bounds(division.region)
    if not all(
        box.x_min - SAME <= x <= box.x_max + SAME and box.y_min - SAME <= y <= box.y_max + SAME
        for x, y in cut
    ):
        return None
    if division.cut is None:
        return _cut_leaf(division, cut)
    for number, piece in enumerate(division.pieces):
        further = _with_cut(piece, cut)
        if further is not None:
            pieces = (*division.pieces[:number], further, *division.pieces[number + 1 :])
            return replace(division, pieces=pieces)
    return None


def _cut_leaf(leaf: Division, cut: Line) -> Division | None:
    (x0, y0), (x1, y1) = sorted(cut)
    if x0 != x1 and y0 != y1:
        return None
    found = halved(leaf.region, x0 if x0 == x1 else y0, upright=x0 == x1)
    if found is None or not all(
        max(abs(a.x - b.x), abs(a.y - b.y)) <= SAME
        for a, b in zip(sorted(cut), found.cut, strict=True)
    ):
        return None
    return Division(leaf.region, found.cut, tuple(map(Division, found.pieces)))


def _parted(box: Bounds, at: float, *, upright: bool) -> tuple[Bounds, Bounds]:
    if upright:
        return box._replace(x_max=at), box._replace(x_min=at)
    return box._replace(y_max=at), box._replace(y_min=at)


def _inside(region: Region, box: Bounds) -> tuple[Region, ...]:
    pieces = (
        _rectangle_in(region_bounds(piece)) if is_upright_rectangle(piece) else piece
        for piece in intersection(region, _rectangle_in(box))
    )
    return tuple(sorted(pieces, key=lambda piece: region_bounds(piece)[:2][::-1]))


def _rectangle_in(box: Bounds) -> Region:
    corner = rectangle(box.width, box.height)
    return Region(moved_contour(corner, 0.0, box.x_min, box.y_min))


def _places_at(region: Region, at: float, *, upright: bool) -> Iterator[float]:
    """Yield where the sides of a region that lie on a line begin and end along it."""
    axis = 0 if upright else 1
    for contour in region.contours:
        for segment in contour.segments:
            if isinstance(segment, Line) and all(abs(end[axis] - at) <= SAME for end in segment):
                yield from (end[1 - axis] for end in segment)
