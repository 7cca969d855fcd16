"""The raw outline of an offset without what its closing corners alone draw too much.

At a corner that closes as an outline moves, both sides run on past each other and a link leads from
the end of one to the start of the other. Here both end where they cross. A side that the other one
has overtaken as a whole is left out, a tooth and all its sides if need be.

Why the offset stays the same. All that lies within the distance of one source is to go, and there
is no hole in it. Only pieces inside of such a place are left out, and the path that takes their
place runs there as well. So the winding changes nowhere else, and is right about all that stays.
What is to go may seem to stay where the winding is changed, but then all around it are pieces that
are to go, while around what truly stays there are none: one point of a contour tells
(``standing``).

Terminology
-----------
source    the line, arc or point that a piece has moved away from
link      what joins two pieces at a closing corner, or takes the place of pieces left out
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import product
from typing import Literal, NamedTuple

from jobprep.geometry.intersect import SNAP, crossings
from jobprep.geometry.near import MANY_PAIRS, near_between
from jobprep.geometry.outline import Arc, Contour, Line, Path, Point, Segment
from jobprep.geometry.segment import midpoint, point_distance, segment_length
from jobprep.geometry.within import Source, apart, is_within

FLATTEST = 1e-6
"""Sine of the angle at which pieces must cross at least, so that it is sure where."""

OVERTAKEN = 3e-5
"""So much nearer than the distance, mm, no contour of an offset is: an arrangement moves none of
its nodes as far (``boolean.TOLERANCES``)."""


Kind = Literal["side", "round", "link"]


class Moved(NamedTuple):
    """A segment of an outline moved sideways, or what joins two of them: a piece of a raw outline.

    ``side`` is the number of that segment, or of the one after a joint. A joint is the round about
    a corner or a link; a link is no piece of any offset, nor is an arc moved past its centre, which
    counts as one. A link has no source, nor has what moved from an arc of more than half a turn:
    the places within a distance of such an arc may enclose others.
    """

    segment: Segment
    source: Source | None = None
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


def standing(found: Sequence[Contour], source: Contour, distance: float) -> list[Contour]:
    """Return the contours of an offset that keep the distance from what it is offset from.

    The others are around nothing that stays.
    """
    points = [midpoint(max(each.segments, key=segment_length)) for each in found]
    least = abs(distance) - OVERTAKEN
    pairs: Iterable[tuple[int, int]]
    if len(points) * len(source.segments) <= MANY_PAIRS:
        pairs = product(range(len(points)), range(len(source.segments)))
    else:
        pairs = near_between([Line(each, each) for each in points], source.segments, least)
    overtaken = {i for i, j in pairs if point_distance(source.segments[j], points[i]) < least}
    return [each for i, each in enumerate(found) if i not in overtaken]


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
        if len(self.links) == 1:
            return True
        links = [link.segment for link in self.links]
        links.append(Line(links[0].start, links[-1].end))
        return any(
            all(self._is_reached(link, source) for link in links)
            for source in (self.kept[-1].source, piece.source)
        )

    def _close(self, piece: Moved, following: Moved | None) -> None:
        """Trim a piece and the last one to each other; pieces that the other overtakes are lost."""
        overtaken: Source | None = None
        while True:
            last = self.kept[-1]
            if self._leaves_out(piece, overtaken, following):
                return
            point = self._crossing(last, piece)
            if point is not None:
                self.kept[-1] = last._replace(segment=_up_to(last.segment, point))
                self.kept.append(piece._replace(segment=_from(piece.segment, point)))
                break
            if not self._drops(last, piece):
                if self._leaves_out(piece, last.source, following):
                    return
                link = _links(last.segment.end, piece.segment.start)
                self.kept += (Moved(each) for each in link)
                self.kept.append(piece)
                break
            overtaken = self.kept.pop().source
        self.links = []

    def _crossing(self, last: Moved, piece: Moved) -> Point | None:
        """Return where pieces cross so that each is to go between there and their corner."""
        if last.source is None or piece.source is None:
            return None
        if not self._is_reached(Line(last.segment.end, piece.segment.start), piece.source):
            return None
        points, sine = crossings(last.segment, piece.segment)
        if sine < FLATTEST:
            return None
        for point in points:
            beyond, ahead = _from(last.segment, point), _up_to(piece.segment, point)
            if self._is_reached(beyond, piece.source) and self._is_reached(ahead, last.source):
                return point
        return None

    def _drops(self, last: Moved, piece: Moved) -> bool:
        """Return whether another piece overtakes the last one, and a link from before it leads on.

        Both the link after it and the one that takes their place are to go, too.
        """
        if len(self.kept) == 1 or last.is_link or not self._is_behind(last, piece.source):
            return False
        ahead = piece.segment.start
        links = Line(last.segment.end, ahead), Line(last.segment.start, ahead)
        return all(self._is_reached(link, piece.source) for link in links)

    def _leaves_out(self, piece: Moved, by: Source | None, following: Moved | None) -> bool:
        """Replace a piece by a link to the next one where a source overtakes it; return whether."""
        if following is None or not self._is_behind(piece, by):
            return False
        # A link that follows leads on to the next piece.
        here = self.kept[-1].segment.end
        ahead = following.segment.end if following.is_link else piece.segment.end
        link = Line(here, ahead)
        replaced = [Line(here, piece.segment.start), link]
        if following.is_link:
            replaced.append(Line(piece.segment.end, ahead))
        if not all(self._is_reached(each, by) for each in replaced):
            return False
        self.links = [Moved(link)]
        self._is_done = following.is_link
        return True

    def _is_behind(self, piece: Moved, source: Source | None) -> bool:
        """Return whether all of a piece lies within the distance of a source, not just at it."""
        if source is None or not self._is_reached(piece.segment, source):
            return False
        return apart(source, midpoint(piece.segment)) < self._distance - SNAP

    def _is_reached(self, segment: Segment, source: Source | None) -> bool:
        return source is not None and is_within(segment, source, self._distance)


def _links(start: Point, end: Point) -> Iterator[Line]:
    if math.dist(start, end) > SNAP:
        yield Line(start, end)


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
