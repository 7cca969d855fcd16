"""Whether all of a segment lies within a distance of a line, an arc or a point."""

from __future__ import annotations

import math
from collections.abc import Iterator

from jobprep.geometry.intersect import crossings
from jobprep.geometry.outline import Arc, Line, Point, Segment
from jobprep.geometry.segment import point_distance, sweeps_over

ROUNDING = 1e-9
"""How much farther than the distance counts as within it, mm."""

FAR = 1e6
"""Farther than any outline reaches, mm."""

Source = Line | Arc | Point


def is_within(segment: Segment, source: Source, distance: float) -> bool:
    """Return whether all of a segment lies within a distance of a source, mm.

    An arc of more than half a turn is no source: what lies within a distance of it may have a hole.
    """
    return all(apart(source, place) <= distance + ROUNDING for place in _farthest(segment, source))


def apart(source: Source, place: Point) -> float:
    """Return the distance of a place from a source."""
    return math.dist(source, place) if isinstance(source, Point) else point_distance(source, place)


def _farthest(segment: Segment, source: Source) -> Iterator[Point]:
    """Yield the places of a segment among which the farthest from a source is.

    It is at an end of the segment, or where that runs square to the way to the source or to a
    corner of it, or just between the ends of an arc.
    """
    yield segment.start
    yield segment.end
    if isinstance(segment, Arc):
        for x, y in _directions(segment.centre, source):
            if sweeps_over(segment, x, y):
                yield segment.at(math.atan2(y, x))
    if isinstance(source, Arc):
        if isinstance(segment, Line):
            yield _foot(segment, source.centre)
        between = source.start_angle + 0.5 * source.sweep + math.pi
        ray = Line(source.centre, source._replace(radius=FAR).at(between))
        yield from crossings(segment, ray).points


def _directions(centre: Point, source: Source) -> Iterator[tuple[float, float]]:
    """Yield the directions from the centre of an arc in which it may be farthest from a source."""
    places = [source] if isinstance(source, Point) else [source.start, source.end]
    if isinstance(source, Arc):
        # From within, an arc is farthest from another towards the centre of that.
        places.append(source.centre)
        yield source.centre.x - centre.x, source.centre.y - centre.y
    for x, y in places:
        yield centre.x - x, centre.y - y
    if isinstance(source, Line):
        dx, dy = source.end.x - source.start.x, source.end.y - source.start.y
        yield -dy, dx
        yield dy, -dx


def _foot(line: Line, place: Point) -> Point:
    """Return the point of a line nearest to a place."""
    (x, y), (u, v) = line.start, (line.end.x - line.start.x, line.end.y - line.start.y)
    square = u * u + v * v
    share = ((place.x - x) * u + (place.y - y) * v) / square if square > 0.0 else 0.0
    share = min(max(share, 0.0), 1.0)
    return Point(x + share * u, y + share * v)
