"""The raw outline of an offset without what its closing corners alone draw too much.

At a corner that closes as an outline moves, both sides run on past each other and a link leads from
the end of one to the start of the other. Here both end where they cross. A side that the other one
has overtaken as a whole is left out, a tooth and all its sides if need be.

Why the offset stays the same. All that lies within the distance of one side, or of one corner, is
to go, and is convex. Only pieces inside of such a place are left out, and the path that takes their
place runs there as well. So the winding changes nowhere else, and is right about all that stays.
What is to go may seem to stay where the winding is changed, but then all around it are pieces that
are to go, while around what truly stays there are none: one point of a contour tells
(``is_overtaken``).

Terminology
-----------
source    the line or the point that a piece has moved away from; an arc's is left unknown here
link      what joins two pieces at a closing corner
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Literal, NamedTuple

from jobprep.geometry.intersect import SNAP, crossings
from jobprep.geometry.outline import Arc, Contour, Line, Path, Point, Segment
from jobprep.geometry.segment import midpoint, point_distance, segment_length, sweeps_over

FLATTEST = 1e-6
"""Sine of the angle at which pieces must cross at least, so that it is sure where."""

ROUNDING = 1e-9
"""So much farther than the distance counts as within it, mm."""

OVERTAKEN = 3e-5
"""So much nearer than the distance, mm, no contour of an offset is: an arrangement moves none of
its nodes as far (``boolean.TOLERANCES``)."""

Source = Line | Point | None


Kind = Literal["side", "round", "link"]


class Moved(NamedTuple):
    """A segment of an outline moved sideways, or what joins two of them: a piece of a raw outline.

    ``side`` is the number of that segment, or of the one after a joint. A joint is the round about
    a corner or a link; a link is no piece of any offset, nor is an arc moved past its centre, which
    counts as one.
    """

    segment: Segment
    source: Source = None
    kind: Kind = "link"
    side: int = -1

    @property
    def is_link(self) -> bool:
        """Whether this is no piece of any offset."""
        return self.kind == "link"


def trimmed(raw: Sequence[Moved], distance: float) -> Path:
    """Return a raw outline, closed, with its closing corners trimmed; ``distance`` from its source.

    A corner between its end and its start stays as it is.
    """
    trimming = _Trimming(abs(distance))
    for piece, following in zip(raw, (*raw[1:], None), strict=True):
        trimming.add(piece, following)
    path = [piece.segment for piece in (*trimming.kept, *trimming.links)]
    path += _links(path[-1].end, path[0].start)
    return tuple(path)


def is_overtaken(contour: Contour, source: Contour, distance: float) -> bool:
    """Whether a contour of an offset lies nearer than the distance to what it is offset from.

    Then it is around nothing that stays.
    """
    point = midpoint(max(contour.segments, key=segment_length))
    least = abs(distance) - OVERTAKEN
    return any(point_distance(segment, point) < least for segment in source.segments)


class _Trimming:
    """Keeps the pieces of a raw outline one after the other, as a path: those kept, then links."""

    def __init__(self, distance: float) -> None:
        self.kept: list[Moved] = []
        self.links: list[Moved] = []
        self._distance = distance
        self._is_done = False

    def add(self, piece: Moved, following: Moved | None) -> None:
        """Keep a piece or leave it out; ``following`` comes after it in the raw outline."""
        if self._is_done:
            self._is_done = False
        elif piece.is_link and self.kept:
            self.links.append(piece)
        elif not self.links or not self._is_one_link(piece):
            self.kept += (*self.links, piece)
            self.links = []
        else:
            self._close(piece, following)

    def _is_one_link(self, piece: Moved) -> bool:
        """Return whether the links that lead to a piece may be replaced by one."""
        joints = [link.segment.start for link in self.links] + [self.links[-1].segment.end]
        sources = self.kept[-1].source, piece.source
        return len(self.links) == 1 or any(
            _are_within(joints, source, self._distance) for source in sources
        )

    def _close(self, piece: Moved, following: Moved | None) -> None:
        """Trim a piece and the last one to each other; pieces that the other overtakes are lost."""
        overtaken: list[Source] = []
        while True:
            last = self.kept[-1]
            point = _crossing(last, piece, self._distance)
            if point is not None:
                self.kept[-1] = last._replace(segment=_up_to(last.segment, point))
                self.kept.append(piece._replace(segment=_from(piece.segment, point)))
                self.links = []
                return
            if len(self.kept) == 1 or not _is_behind(last, piece.source, self._distance):
                break
            overtaken.append(self.kept.pop().source)
        here = last.segment.end
        if following is not None:
            # A link that follows leads on to the next piece.
            ahead = following.segment.end if following.is_link else piece.segment.end
            for source in (last.source, *overtaken[-1:]):
                if _is_behind(piece, source, self._distance) and _are_within(
                    (here, ahead), source, self._distance
                ):
                    self.links = [Moved(Line(here, ahead))]
                    self._is_done = following.is_link
                    return
        self.kept += (Moved(link) for link in _links(here, piece.segment.start))
        self.kept.append(piece)
        self.links = []


def _links(start: Point, end: Point) -> Iterator[Line]:
    if math.dist(start, end) > SNAP:
        yield Line(start, end)


def _crossing(before: Moved, after: Moved, distance: float) -> Point | None:
    """Return where pieces cross so that each is to go between there and their corner."""
    if before.source is None or after.source is None:
        return None
    points, sine = crossings(before.segment, after.segment)
    if sine < FLATTEST:
        return None
    for point in points:
        beyond, ahead = _from(before.segment, point), _up_to(after.segment, point)
        if _is_reached(beyond, after.source, distance) and _is_reached(
            ahead, before.source, distance
        ):
            return point
    return None


def _is_behind(piece: Moved, source: Source, distance: float) -> bool:
    """Return whether a piece as a whole lies within the distance of a source, not just at it."""
    if source is None or piece.is_link:
        return False
    middle = midpoint(piece.segment)
    return _is_reached(piece.segment, source, distance) and _apart(source, middle) < distance - SNAP


def _is_reached(segment: Segment, source: Line | Point, distance: float) -> bool:
    """Return whether all of a segment lies within the distance of a source.

    An arc is farthest from it at an end, or in a direction square to it or away from an end of it.
    """
    places = [segment.start, segment.end]
    if isinstance(segment, Arc):
        (x, y), ends = segment.centre, source if isinstance(source, Line) else (source,)
        away = [(x - end.x, y - end.y) for end in ends]
        if isinstance(source, Line):
            dx, dy = source.end.x - source.start.x, source.end.y - source.start.y
            away += (-dy, dx), (dy, -dx)
        places += (segment.at(math.atan2(v, u)) for u, v in away if sweeps_over(segment, u, v))
    return _are_within(places, source, distance)


def _are_within(places: Iterable[Point], source: Source, distance: float) -> bool:
    return source is not None and all(
        _apart(source, place) <= distance + ROUNDING for place in places
    )


def _apart(source: Line | Point, place: Point) -> float:
    return point_distance(source, place) if isinstance(source, Line) else math.dist(source, place)


def _up_to(segment: Segment, point: Point) -> Segment:
    """Return the part of a segment that ends at a point on it."""
    if isinstance(segment, Line):
        return Line(segment.start, point)
    return segment._replace(sweep=_turn_to(segment, point))


def _from(segment: Segment, point: Point) -> Segment:
    """Return the part of a segment that starts at a point on it."""
    if isinstance(segment, Line):
        return Line(point, segment.end)
    turn = _turn_to(segment, point)
    return segment._replace(start_angle=segment.start_angle + turn, sweep=segment.sweep - turn)


def _turn_to(arc: Arc, point: Point) -> float:
    """Return how far an arc turns, with its sign, up to a point on it."""
    sign = math.copysign(1.0, arc.sweep)
    angle = math.atan2(point.y - arc.centre.y, point.x - arc.centre.x)
    return sign * (sign * (angle - arc.start_angle) % math.tau)
