"""Outlines grown or shrunk by a distance, exact: lines stay lines and arcs arcs.

Every segment is moved sideways. Corners that open get a round arc about the corner, corners that
close a straight link; both lie no farther than the distance from the corner. The winding number
of this raw outline around a point is positive just where the grown, or shrunk, area is: it
counts the separate pieces of the old area within the distance of the point (L. Guibas, L. Ramshaw
and J. Stolfi, A kinetic framework for computational geometry, 1983), a link only ever adding
where it is positive anyway. So all loops an offset draws over itself drop out by counting, and
nothing is decided by comparing distances.

The raw outline of many segments is trimmed first (``geometry/trimmed.py``): where they lie close
beside each other it would cross itself with the square of their number. What is left of that is
done in steps.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from jobprep.errors import CannotDoError
from jobprep.geometry.boolean import combined, difference
from jobprep.geometry.cuts import Loop
from jobprep.geometry.intersect import SNAP
from jobprep.geometry.measure import bounds, signed_area
from jobprep.geometry.near import FEW, CrowdedError
from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Path,
    Point,
    Region,
    Segment,
    reversed_contour,
    reversed_segment,
)
from jobprep.geometry.segment import (
    end_direction,
    heading,
    reach,
    segment_length,
    start_direction,
)
from jobprep.geometry.stitch import regions_of
from jobprep.geometry.trimmed import Kind, Moved, standing, trimmed

CUSP = 0.01
"""A corner this near to turning right back, radians, is judged by where its sides lead, since
there the rounding of a direction may tell left from right wrongly."""

TOGETHER = 6
"""How many grown holes are taken away at a time: about the least work on sheets of 200 parts."""

HALF_TURN = math.pi + 1e-6
"""An arc that sweeps more than this is taken for one that may enclose what it moves away from."""

CROWD = 3.0
"""Pairs that meet, for each segment of the raw outline of many: each has two neighbours."""

MOST_CROSSINGS = 5_000
"""Pairs that meet beyond those neighbours: some two seconds."""

SHORTEST_STEP = 1e-5
"""A step shorter than this, mm, is hardly more than rounding."""

MOST_WORK = 20_000
"""Edges that steps look at, all together: some four seconds."""


class Offset(NamedTuple):
    """What an offset leaves: regions, and the contours of the old one that vanished."""

    regions: tuple[Region, ...]
    lost: tuple[Contour, ...]


def offset_contour(contour: Contour, distance: float) -> tuple[Contour, ...]:
    """Grow the area a contour encloses by ``distance``, mm, or shrink it by a negative one.

    Return outer contours first, in the direction of the given one: one when growing, none or
    several when shrinking. Growing may close off gaps of a concave contour: each is returned as
    one more contour, in the opposite direction. A distance below ``SNAP`` changes nothing.
    """
    if abs(distance) <= SNAP:
        return (contour,)
    is_clockwise = signed_area(contour) < 0.0
    if is_clockwise:
        contour = reversed_contour(contour)
    try:
        found = _offset_at_once(contour, distance)
    except CrowdedError:
        found = _offset_in_steps(contour, distance)
    found.sort(key=signed_area, reverse=True)
    return tuple(map(reversed_contour, found)) if is_clockwise else tuple(found)


def _offset_at_once(contour: Contour, distance: float) -> list[Contour]:
    """Offset an anticlockwise contour.

    Raises ``CrowdedError`` when its raw outline crosses itself too often.
    """
    box = bounds(contour.segments)
    # What fits into a disc of this radius leaves nothing, but its raw outline would turn over.
    if min(box.width, box.height) <= -2.0 * distance:
        return []
    raw = list(moved_segments(contour.segments, distance))
    if not raw:
        return []
    is_large = len(raw) > FEW
    path = trimmed(raw, distance) if is_large else tuple(piece.segment for piece in raw)
    most = min(CROWD * len(raw), len(path) + MOST_CROSSINGS)
    found = combined((Loop(path),), lambda winding: winding.first > 0, is_simple=False, most=most)
    return standing(found, contour, distance) if is_large else found


def _offset_in_steps(contour: Contour, distance: float) -> list[Contour]:
    """Offset an anticlockwise contour of many edges that come nearer to each other than that.

    Each step is as long as edges are apart. It takes away what is narrower than twice as much, so
    that the next one may be twice as long.

    Raises ``CannotDoError`` when that takes too much time.
    """
    contours, left, step, work = [contour], distance, 0.5 * distance, 0
    while contours and left:
        work += sum(len(each.segments) for each in contours)
        if work > MOST_WORK or abs(step) < SHORTEST_STEP:
            raise CannotDoError(
                "an outline has too many edges that lie nearer to each other than"
                f" {2.0 * abs(distance):.3g} mm; simplify it"
            )
        try:
            contours = [moved for each in contours for moved in _offset_either_way(each, step)]
        except CrowdedError:
            step *= 0.5
            continue
        left -= step
        step = math.copysign(min(abs(left), 2.0 * abs(step)), distance)
    return contours


def _offset_either_way(contour: Contour, distance: float) -> list[Contour]:
    """Offset a contour that has material on its left, an outer one or a hole."""
    if signed_area(contour) > 0.0:
        return _offset_at_once(contour, distance)
    found = _offset_at_once(reversed_contour(contour), -distance)
    return [reversed_contour(each) for each in found]


def offset(region: Region, distance: float) -> Offset:
    """Grow a region by ``distance``, mm, its holes shrinking, or shrink it by a negative one.

    ``lost`` lists the contours that vanished: holes closed by growing, or all contours of a region
    that vanished altogether. A distance below ``SNAP`` changes nothing.
    """
    if abs(distance) <= SNAP:
        return Offset((region,), ())
    outers = offset_contour(region.outer, distance)
    lost: list[Contour] = []
    if distance > 0.0:
        contours = list(outers)
        for hole in region.holes:
            shrunk = offset_contour(hole, -distance)
            contours.extend(shrunk)
            if not shrunk:
                lost.append(hole)
        return Offset(regions_of(contours), tuple(lost))
    grown = [
        each
        for hole in region.holes
        for each in regions_of(offset_contour(reversed_contour(hole), -distance))
    ]
    regions = tuple(left for outer in outers for left in _less(outer, grown))
    return Offset(regions, () if regions else region.contours)


def _less(outer: Contour, grown: Sequence[Region]) -> tuple[Region, ...]:
    """Return what grown holes leave of an outer contour.

    Many of them are taken away some at a time, side by side: what overlaps is then cut up only
    against its neighbours and the outline that is left.
    """
    if len(grown) > TOGETHER:
        grown = sorted(grown, key=lambda each: bounds(each.outer.segments).x_min)
    left: tuple[Region, ...] = (Region(outer),)
    for batch in range(0, len(grown), TOGETHER):
        some = grown[batch : batch + TOGETHER]
        left = tuple(rest for each in left for rest in difference(each, some))
    return left


def moved_segments(path: Path, distance: float) -> Iterator[Moved]:
    """Yield an anticlockwise closed path moved to its right by ``distance``, mm, and its joints.

    Segments too short to have a direction are left out. This raw outline crosses itself where the
    offset is shorter than it, and may have links that the offset never has.
    """
    clear = [each for each in enumerate(path) if segment_length(each[1]) > SNAP]
    for (_, before), (side, segment) in zip(clear[-1:] + clear[:-1], clear, strict=True):
        yield from _joint(before, segment, side, distance)
        moved = _moved(segment, distance)
        if segment_length(moved) > SNAP:
            is_bent = isinstance(segment, Arc) and abs(segment.sweep) > HALF_TURN
            source = None if is_bent else segment
            kind: Kind = "link" if _is_past(segment, distance) else "side"
            yield Moved(moved, source, kind, side)


def _is_past(segment: Segment, distance: float) -> bool:
    """Whether an arc moved to its right goes past its centre."""
    return isinstance(segment, Arc) and (
        segment.radius + math.copysign(1.0, segment.sweep) * distance < 0.0
    )


def _moved(segment: Segment, distance: float) -> Segment:
    """Return a segment moved to its right; an arc moved past its centre comes out across it."""
    if isinstance(segment, Line):
        ux, uy = start_direction(segment)
        x, y = distance * uy, -distance * ux
        (x0, y0), (x1, y1) = segment
        return Line(Point(x0 + x, y0 + y), Point(x1 + x, y1 + y))
    radius = segment.radius + math.copysign(1.0, segment.sweep) * distance
    angle = segment.start_angle if radius >= 0.0 else segment.start_angle + math.pi
    return Arc(segment.centre, abs(radius), angle, segment.sweep)


def _joint(before: Segment, after: Segment, side: int, distance: float) -> Iterator[Moved]:
    """Yield the arc or the link around a corner, nothing where the path runs on smoothly."""
    (ux, uy), (vx, vy) = end_direction(before), start_direction(after)
    turn = math.atan2(ux * vy - uy * vx, ux * vx + uy * vy)
    if abs(turn) > math.pi - CUSP:
        turn = _turn_back(before, after, turn)
    if abs(turn * distance) <= SNAP:
        return
    corner = after.start
    if turn * distance > 0.0:
        normal = math.atan2(-ux * distance, uy * distance)
        yield Moved(Arc(corner, abs(distance), normal, turn), corner, "round", side)
    else:
        link = Line(
            Point(corner.x + distance * uy, corner.y - distance * ux),
            Point(corner.x + distance * vy, corner.y - distance * vx),
        )
        yield Moved(link, side=side)


def _turn_back(before: Segment, after: Segment, turn: float) -> float:
    """Return the angle by which a path turns at a cusp, a little more than half a turn maybe."""
    back = reversed_segment(before)
    near = 0.5 * min(reach(back), reach(after))
    corner = after.start
    between = (heading(corner, back, near) - heading(corner, after, near)) % math.tau
    if (turn > 0.0) != (between < math.pi):
        turn -= math.copysign(math.tau, turn)
    return turn
