"""What of a sheet is worth keeping after the cut.

Terminology
-----------
remainder   what hangs together of a sheet once every part and its slots are gone
usable      the remainder without its thin strips and webs: what lies near a place where a disc
            of the smallest side fits; its square corners are kept
trim        one straight cut beyond the last slot, after which a plain piece is left
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from jobprep.cutting.plan import PlacedPart
from jobprep.geometry.boolean import difference, intersection, union
from jobprep.geometry.flatten import flatten_inside
from jobprep.geometry.measure import Bounds, area, region_bounds
from jobprep.geometry.offset import offset
from jobprep.geometry.outline import Line, Path, Region, moved_contour, rectangle
from jobprep.model import Leftovers, Nesting, Points
from jobprep.stock.ledger import DECIMALS

STORED_TOLERANCE = 0.05
"""How far a stored polygon may stay inside the true outline, mm: far below any margin."""

GRID = 10.0**-DECIMALS
"""Distance of the coordinates that a ledger can hold, mm."""

THINNEST = 0.1
"""Strips thinner than this are no part of a stored polygon, mm; where a slot all but touches the
sheet's edge a strip may be left that rounding would make cross itself."""

CORNER_REACH = math.sqrt(2.0)
"""From the middle of the largest disc in a square corner to the corner, in radii of the disc."""

PAST = 1.0
"""How far windows reach past a sheet, mm, so that no edge of theirs lies on one of its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Trim:
    """A straight cut across a sheet; what lies beyond ``at + kerf`` (x or y, mm) is kept."""

    is_upright: bool
    at: float
    kept: tuple[Region, ...]


def leftovers(
    sheet: Region, parts: Sequence[PlacedPart], kerf: float, keep: Leftovers, nesting: Nesting
) -> tuple[Region, ...]:
    """Return the pieces of a sheet that are worth keeping by the job's rule.

    They lie where they lie on the sheet. A sheet without parts is kept as it is.
    """
    if not parts:
        return (sheet,)
    if keep.shape == "trim":
        return trim(sheet, parts, kerf, keep, nesting).kept
    pieces = usable(remainders(sheet, parts, kerf), keep.smallest_side)
    return worth_keeping(pieces, kerf, keep, nesting)


def worth_keeping(
    pieces: Iterable[Region], kerf: float, keep: Leftovers, nesting: Nesting
) -> tuple[Region, ...]:
    """Return the pieces that are worth keeping by the job's rule as they are, without a slot."""
    return tuple(piece for piece in pieces if _is_worth_keeping(piece, kerf, keep, nesting))


def remainders(sheet: Region, parts: Iterable[PlacedPart], kerf: float) -> tuple[Region, ...]:
    """Return what is left of a sheet, exact, when its parts and the slots round them are gone.

    A slot is one kerf wide and lies outside the part, in its holes too.
    """
    gone = [grown for part in parts for grown in offset(part.region, kerf).regions]
    return difference(sheet, gone)


def usable(pieces: Iterable[Region], smallest_side: float) -> tuple[Region, ...]:
    """Return pieces without their strips thinner than ``smallest_side``, mm."""
    if smallest_side <= 0.0:
        return tuple(pieces)
    radius = 0.5 * smallest_side
    found = []
    for piece in pieces:
        for middle in offset(piece, -radius).regions:
            for around in offset(middle, radius * CORNER_REACH).regions:
                found += _holding(intersection(piece, around), middle)
    return union(found) if len(found) > 1 else tuple(found)


def trim(
    sheet: Region, parts: Sequence[PlacedPart], kerf: float, keep: Leftovers, nesting: Nesting
) -> Trim:
    """Return the straight cut that keeps most, upright beyond the parts or level above them.

    It leaves a web beyond the last slot and takes a kerf itself, so that the cutter can make it.
    """
    boxes = [region_bounds(part.region) for part in parts]
    beyond = kerf + nesting.web
    whole = region_bounds(sheet)
    choices = []
    for is_upright, last in (
        (True, max(box.x_max for box in boxes)),
        (False, max(box.y_max for box in boxes)),
    ):
        start = last + beyond + kerf
        x_min, y_min = (start, whole.y_min - PAST) if is_upright else (whole.x_min - PAST, start)
        window = Bounds(x_min, y_min, whole.x_max + PAST, whole.y_max + PAST)
        pieces = _inside(sheet, window)
        kept = worth_keeping(pieces, kerf, keep, nesting)
        choices.append(Trim(is_upright=is_upright, at=last + beyond, kept=kept))
    return max(choices, key=lambda each: sum(map(area, each.kept)))


def trims(
    sheet: Region, parts: Sequence[PlacedPart], kerf: float, keep: Leftovers, nesting: Nesting
) -> tuple[Path, ...]:
    """Return the strokes of the trim, if the job has the cutter make it and it keeps anything."""
    if not (parts and keep.cut_trim and keep.shape == "trim"):
        return ()
    cut = trim(sheet, parts, kerf, keep, nesting)
    return trim_strokes(sheet, cut, kerf) if cut.kept else ()


def trim_strokes(sheet: Region, cut: Trim, kerf: float) -> tuple[Path, ...]:
    """Return the middle line of a trim cut, one stroke for each piece of sheet it crosses."""
    box = region_bounds(sheet)
    middle = cut.at + 0.5 * kerf
    if cut.is_upright:
        half = Bounds(middle, box.y_min - PAST, box.x_max + PAST, box.y_max + PAST)
    else:
        half = Bounds(box.x_min - PAST, middle, box.x_max + PAST, box.y_max + PAST)
    axis = 0 if cut.is_upright else 1
    return tuple(
        (Line(*sorted((segment.start, segment.end))),)
        for piece in _inside(sheet, half)
        for contour in piece.contours
        for segment in contour.segments
        if isinstance(segment, Line) and _lies_at(segment, axis, middle)
    )


def stored_outline(piece: Region) -> tuple[Points, tuple[Points, ...]]:
    """Return a piece as polygons that reach nowhere beyond it: its outline and the holes in it.

    They stay within ``STORED_TOLERANCE`` of it, except for strips thinner than ``THINNEST``, and
    are as simple as written: their corners lie on the ``GRID`` of a ledger.
    """
    import shapely

    outer, holes = flatten_inside(piece, STORED_TOLERANCE)
    polygon = shapely.Polygon(outer, holes).buffer(0.0)  # crosses itself where it is too thin
    opened = polygon.buffer(-0.5 * THINNEST, join_style="mitre")
    opened = opened.buffer(0.5 * THINNEST, join_style="mitre").buffer(0.0)  # so may a mitre
    opened = opened.intersection(polygon)
    polygon = (_on_grid(opened) or _on_grid(polygon) or _largest(polygon)).normalize()
    return _anticlockwise(polygon.exterior), tuple(map(_anticlockwise, polygon.interiors))


def _is_worth_keeping(piece: Region, kerf: float, keep: Leftovers, nesting: Nesting) -> bool:
    box = region_bounds(piece)
    shorter = min(box.width, box.height)
    if shorter < keep.smallest_side or area(piece) < keep.smallest_area:
        return False
    if keep.disc_diameter is None:
        return True
    return _fits_disc(piece, 0.5 * keep.disc_diameter + kerf + nesting.margin)


def _fits_disc(piece: Region, radius: float) -> bool:
    """Return whether a disc, its distance from the edge included, lies anywhere in a piece."""
    return bool(offset(piece, -radius).regions)


def _holding(pieces: Iterable[Region], middle: Region) -> list[Region]:
    """Return the pieces that hold a given one: not those across a slot from it."""
    return [piece for piece in pieces if intersection(piece, middle)]


def _inside(sheet: Region, box: Bounds) -> tuple[Region, ...]:
    if box.width <= PAST or box.height <= PAST:
        return ()
    window = moved_contour(rectangle(box.width, box.height), 0.0, box.x_min, box.y_min)
    return intersection(sheet, Region(window))


def _lies_at(segment: Line, axis: int, place: float) -> bool:
    return all(abs(end[axis] - place) < STORED_TOLERANCE / 100.0 for end in segment)


def _on_grid(shape: Any) -> Any:
    """Round as a ledger does, joining the sides that fall together; nothing is left of a sliver."""
    import shapely

    return _largest(shapely.set_precision(shape, GRID))


def _largest(shape: Any) -> Any:
    return max(getattr(shape, "geoms", (shape,)), key=lambda part: part.area, default=shape)


def _anticlockwise(ring: Any) -> Points:
    corners = tuple((x, y) for x, y in ring.coords)[:-1]
    return corners if ring.is_ccw else (corners[0], *corners[:0:-1])
