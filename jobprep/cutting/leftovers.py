"""What is worth keeping of a sheet after the cut.

Terminology
-----------
remainder   what hangs together of a sheet once every part and its slots are gone
usable      the remainder without its thin strips and webs: what lies near a place where a disc
            of the smallest side fits; its square corners are kept
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from jobprep.cutting.plan import PlacedPart
from jobprep.cutting.straight_cuts import trimmed, worth_keeping
from jobprep.geometry.boolean import difference, intersection, union
from jobprep.geometry.flatten import flatten_inside
from jobprep.geometry.offset import offset
from jobprep.geometry.outline import Region
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


def leftovers(
    sheet: Region, parts: Sequence[PlacedPart], kerf: float, keep: Leftovers, nesting: Nesting
) -> tuple[Region, ...]:
    """Return the pieces of a sheet that are worth keeping by the job's rule.

    They lie where they lie on the sheet. A sheet without parts is kept as it is.
    """
    if not parts:
        return (sheet,)
    if keep.shape != "outline":
        return trimmed(sheet, parts, kerf, keep, nesting).kept
    pieces = usable(remainders(sheet, parts, kerf), keep.smallest_side)
    return worth_keeping(pieces, kerf, keep, nesting)


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


def _holding(pieces: Iterable[Region], middle: Region) -> list[Region]:
    """Return the pieces that hold a given one: not those across a slot from it."""
    return [piece for piece in pieces if intersection(piece, middle)]


def _on_grid(shape: Any) -> Any:
    """Round as a ledger does, joining the sides that fall together; nothing is left of a sliver."""
    import shapely

    return _largest(shapely.set_precision(shape, GRID))


def _largest(shape: Any) -> Any:
    return max(getattr(shape, "geoms", (shape,)), key=lambda part: part.area, default=shape)


def _anticlockwise(ring: Any) -> Points:
    corners = tuple((x, y) for x, y in ring.coords)[:-1]
    return corners if ring.is_ccw else (corners[0], *corners[:0:-1])
