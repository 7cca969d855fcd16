"""Where a disc that rolls along an outline, outside the film, cannot follow it.

The film and all that such a disc cannot reach make up the closing of the film by the disc
(J. Serra, Image Analysis and Mathematical Morphology, 1982). The middle of the disc runs along the
offset of the outline by its radius. Where this turns away from the outline in a corner, the disc
touches the outline in two places at once, and what lies between them is out of its reach.

Terminology
-----------
gap       a piece of an outline between two places that the disc touches at once
mouth     the straight line between those two places
depth     how much farther than its radius the outline lies from the middle of the disc at the
          mouth: the distance of the outline to its closing, unless the disc comes nearer elsewhere,
          through film
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from jobprep.geometry.measure import signed_area
from jobprep.geometry.offset import offset_contour
from jobprep.geometry.outline import Arc, Contour, Path, Point, Segment, reversed_contour
from jobprep.geometry.retrace import Joint, Retraced, clear_stretches
from jobprep.geometry.segment import end_direction, start_direction, sweeps_over

SHALLOW = 1e-3
"""Gaps no deeper than this are none, mm: rounding, and joints that are smooth but for it."""

SMOOTH = 1e-6
"""Sine of a turn that is none: that of a gap whose mouth is a millionth of the radius wide."""


class Gap(NamedTuple):
    """What a disc leaves out of an outline, mm.

    ``width`` is that of the mouth and ``place`` its middle, ``deepest`` the point of the outline
    farthest from there. ``closes`` says that behind the mouth there is a place where the disc would
    fit again, but cannot get to.
    """

    depth: float
    width: float
    place: Point
    deepest: Point
    closes: bool


class Closing(NamedTuple):
    """What a disc leaves out of a contour.

    ``loops`` is in how many pieces its middle can follow the contour: none where it fits nowhere,
    several where it does not get from one to the next. ``gaps`` are those along the largest piece.
    """

    loops: int
    gaps: tuple[Gap, ...]


def closing(contour: Contour, radius: float) -> Closing:
    """Return what a disc on the right of a contour cannot reach of it; ``radius`` in mm.

    Right of an outer contour, anticlockwise, is its outside, right of a hole's its inside.
    """
    distance = radius
    if signed_area(contour) < 0.0:
        contour, distance = reversed_contour(contour), -radius
    outline = Retraced(contour.segments, distance)
    if outline.is_convex:
        return Closing(1, ())
    loops = [each.segments for each in offset_contour(contour, distance)]
    if not loops or not clear_stretches(loops[0]):
        return Closing(0, ())
    if len(loops) == 1 and not _has_hollow(loops[0], distance):
        return Closing(1, ())
    behind = outline.spot_of(loops[1]) if len(loops) > 1 else None
    gaps: list[Gap] = []
    for joint in outline.joints(loops[0]):
        closes = behind is not None and outline.is_between(joint, behind)
        gap = _gap(outline, joint, distance, closes)
        if gap.depth > SHALLOW:
            gaps.append(gap)
    return Closing(len(loops), tuple(gaps))


def _gap(outline: Retraced, joint: Joint, distance: float, closes: bool) -> Gap:
    """Return what is left out of an outline at a joint of its offset."""
    first, last = outline.foot(joint.before, joint.point), outline.foot(joint.after, joint.point)
    way = math.copysign(1.0, distance)
    mouth = _Mouth(joint.point, abs(distance), first, last, way)
    places = (place for piece in outline.left_out(joint) for place in mouth.far(piece))
    depth, deepest = max(((mouth.distance(each), each) for each in places), default=(0.0, first))
    return Gap(
        depth=depth,
        width=math.dist(first, last),
        place=Point(0.5 * (first.x + last.x), 0.5 * (first.y + last.y)),
        deepest=deepest,
        closes=closes,
    )


class _Mouth(NamedTuple):
    """The disc where it touches an outline in two places, at the mouth of a gap.

    The side of the disc that closes the gap leads clockwise from the first place to the last one
    where ``way`` is 1, anticlockwise where it is -1.
    """

    middle: Point
    radius: float
    first: Point
    last: Point
    way: float

    def distance(self, point: Point) -> float:
        """Return the distance of a point of the gap from the side of the disc that closes it."""
        near = min(math.dist(point, self.first), math.dist(point, self.last))
        if near <= SHALLOW:
            return near
        is_before = self._turn(point) < self._turn(self.last) < math.pi + SMOOTH
        return math.dist(point, self.middle) - self.radius if is_before else near

    def _turn(self, point: Point) -> float:
        """Return the angle from the first place on to a point, seen from the disc's middle."""
        start, end = (
            math.atan2(each.y - self.middle.y, each.x - self.middle.x)
            for each in (self.first, point)
        )
        return self.way * (start - end) % math.tau

    def far(self, piece: Segment) -> Iterator[Point]:
        """Yield the points of a piece of the gap that may be its farthest."""
        yield piece.start
        yield piece.end
        if isinstance(piece, Arc):
            for place in (self.middle, self.first, self.last):
                x, y = piece.centre.x - place.x, piece.centre.y - place.y
                if sweeps_over(piece, x, y):
                    yield piece.at(math.atan2(y, x))


def _has_hollow(loop: Path, distance: float) -> bool:
    """Whether an offset turns away from the outline anywhere, as it does beside every gap."""
    side = math.copysign(1.0, distance)
    for before, after in zip(loop[-1:] + loop[:-1], loop, strict=True):
        (ux, uy), (vx, vy) = end_direction(before), start_direction(after)
        if side * (ux * vy - uy * vx) < -SMOOTH or ux * vx + uy * vy < 0.0:
            return True
    return False
