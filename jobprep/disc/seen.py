"""Which films are seen where in a ring of the disc, as exact regions.

What is seen of films on one another is the whole stack, or the first film that blocks the light.
Holes, openings, slots, joints and counterweight dots count as they are cut; engraving does not.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from jobprep.disc.pieces import DiscPiece, design_pieces, dot_pieces
from jobprep.disc.timing import seen_in_light
from jobprep.geometry.boolean import difference, intersection, union
from jobprep.geometry.measure import Bounds, region_bounds
from jobprep.geometry.outline import Arc, Contour, Region
from jobprep.geometry.radial import radial_contours
from jobprep.geometry.shapes import ring
from jobprep.model.design import Design
from jobprep.model.film import Film
from jobprep.units import TURN

Stack = tuple[str, ...]
"""Films front to back as they are seen; none is an open place."""

MARGIN = 0.5
"""How far beyond a ring its films are looked up, as a share of its inner radius: edges that lie on
its circles are then cut by none of them."""


SAME = 1e-9
"""Rounding of directions, radians, and of an arc's middle on the axis, mm."""
NEARLY_HALF = math.pi - 1e-6
"""A line over a larger angle than this, seen from the axis, runs through it; radians."""


class Seen(NamedTuple):
    """Where each stack is seen; the films ``everywhere`` lie all over the ring, seen or not."""

    regions: dict[Stack, tuple[Region, ...]]
    everywhere: frozenset[str]


class Cell(NamedTuple):
    """Where the films of these levels lie on one another: level -> film, and the regions."""

    films: dict[int, str]
    regions: tuple[Region, ...]


def seen_regions(design: Design, films: Mapping[str, Film], inner: float, outer: float) -> Seen:
    """Return where each stack is seen between two radii (mm, 0 < inner < outer), and beyond them.

    Together the regions fill the ring. A place without film, beyond the rim too, is the stack of
    none.
    """
    everywhere: dict[int, str] = {}
    cells = [Cell({}, (ring(inner * MARGIN, outer * (1.0 + MARGIN)),))]
    levels = list(enumerate(_levels(design)))
    for level, pieces in sorted(levels, key=lambda each: not _blocks(each[1], films)):
        if len(pieces) == 1 and _fills(pieces[0].region, inner, outer):
            everywhere[level] = pieces[0].film
        else:
            cells = [part for cell in cells for part in _parted(cell, level, pieces, films)]
    found: dict[Stack, list[Region]] = {}
    for cell in cells:
        present = {**everywhere, **cell.films}
        stack = tuple(present[level] for level in sorted(present))
        found.setdefault(seen_in_light(stack, films), []).extend(cell.regions)
    joined = {stack: _joined(regions) for stack, regions in found.items()}
    return Seen(joined, frozenset(everywhere.values()))


def _levels(design: Design) -> Iterator[tuple[DiscPiece, ...]]:
    """Yield pieces that do not overlap, front to back; overlapping sectors are levels each."""
    for number, pieces in itertools.groupby(design_pieces(design), lambda piece: piece.layer):
        if design.layers[number - 1].joint_gap < 0.0:
            yield from ((piece,) for piece in pieces)
        else:
            yield tuple(pieces)
    yield from ((piece,) for piece in dot_pieces(design))


def _blocks(pieces: Iterable[DiscPiece], films: Mapping[str, Film]) -> bool:
    return any(films[piece.film].light == "blocks" for piece in pieces)


def _parted(
    cell: Cell, level: int, pieces: Sequence[DiscPiece], films: Mapping[str, Film]
) -> Iterator[Cell]:
    """Yield a cell's parts under each film of a level, and what is under none.

    What is behind or before a film that blocks the light stays one cell.
    """
    if any(films[name].light == "blocks" for name in cell.films.values()):
        # Only the first film that blocks is seen, so only such films still matter.
        pieces = [piece for piece in pieces if films[piece.film].light == "blocks"]
    own: dict[str, list[Region]] = {}
    left: list[Region] = []
    reaches = [_Reach.of(piece.region) for piece in pieces]
    for region in cell.regions:
        own_reach = _Reach.of(region)
        near = [
            piece for piece, reach in zip(pieces, reaches, strict=True) if reach.may_meet(own_reach)
        ]
        for piece in near:
            own.setdefault(piece.film, []).extend(intersection(region, piece.region))
        left += difference(region, [piece.region for piece in near]) if near else [region]
    for film, regions in own.items():
        if regions:
            yield Cell({**cell.films, level: film}, tuple(regions))
    if left:
        yield Cell(cell.films, tuple(left))


class _Reach(NamedTuple):
    """Where a region lies at most: in a box, and in which directions, none where that is unknown.

    The boxes of many narrow sectors mostly overlap; their directions hardly do.
    """

    box: Bounds
    directions: tuple[float, float] | None

    @classmethod
    def of(cls, region: Region) -> _Reach:
        """Return the reach of a region."""
        return cls(region_bounds(region), directions(region))

    def may_meet(self, other: _Reach) -> bool:
        """Whether regions of these reaches may have an area in common."""
        a, b = self.box, other.box
        apart = a.x_min >= b.x_max or b.x_min >= a.x_max
        if apart or a.y_min >= b.y_max or b.y_min >= a.y_max:
            return False
        if self.directions is None or other.directions is None:
            return True
        (first, width), (second, its) = self.directions, other.directions
        ahead = (second - first) % TURN
        return ahead <= width + SAME or TURN - ahead <= its + SAME


def directions(region: Region) -> tuple[float, float] | None:
    """Return from which direction a region reaches anticlockwise, and over which angle at most.

    None where it goes round the axis, or comes too near to it for an answer.
    """
    first = _direction(region.outer.segments[0].start)
    here = low = high = 0.0
    for segment in region.outer.segments:
        at = _direction(segment.start)
        if isinstance(segment, Arc) and math.hypot(*segment.centre) < SAME:
            here += segment.sweep
        else:
            step = math.remainder(_direction(segment.end) - at, TURN)
            if abs(step) > NEARLY_HALF:
                return None
            if isinstance(segment, Arc):
                away = math.hypot(*segment.centre)
                if away <= segment.radius * (1.0 + SAME):
                    return None
                middle = here + math.remainder(_direction(segment.centre) - at, TURN)
                half = math.asin(segment.radius / away)
                low, high = min(low, middle - half), max(high, middle + half)
            here += step
        low, high = min(low, here), max(high, here)
    return None if abs(here) > 1.0 else (first + low, high - low)


def _direction(point: tuple[float, float]) -> float:
    return math.atan2(point[1], point[0])


def _joined(regions: Sequence[Region]) -> tuple[Region, ...]:
    return tuple(regions) if len(regions) == 1 else union(regions)


def _fills(region: Region, inner: float, outer: float) -> bool:
    """Whether a region fills a ring; how far it reaches beyond does not matter."""
    whole = _circle_radius(region.outer)
    if whole is None or whole < outer:
        return False
    return all(reach[1] <= inner or reach[0] >= outer for reach in map(_reach, region.holes))


def _circle_radius(contour: Contour) -> float | None:
    """Return the radius of a contour that is a circle about the axis."""
    radii = {
        segment.radius
        for segment in contour.segments
        if isinstance(segment, Arc) and math.hypot(*segment.centre) < 1e-9
    }
    return radii.pop() if len(radii) == 1 and len(contour.segments) == 1 else None


def _reach(contour: Contour) -> tuple[float, float]:
    """Return between which radii a contour lies; from 0 where it runs around the axis."""
    own = _circle_radius(contour)
    if own is not None:
        return 0.0, own
    (found,) = radial_contours(Region(contour))
    inner = 0.0 if found.winding else min(branch.inner for branch in found.branches)
    return inner, max(branch.outer for branch in found.branches)
