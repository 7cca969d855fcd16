"""Outlines made of exact lines and arcs.

Terminology
-----------
segment   a ``Line`` or an ``Arc``
path      segments that follow each other, open (a mark) or closed
contour   a closed path that does not cross itself; the last segment ends where the first starts
region    an outer contour, anticlockwise, less its holes, clockwise

Lengths are mm, angles radians, x to the right, y up. An arc is centre, radius, start angle and
signed sweep (positive = anticlockwise), so its direction is never lost and a full circle is one
arc. Moving keeps lines lines and arcs arcs; nothing here turns an arc into chords.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from jobprep.units import TURN

JOIN_TOLERANCE = 1e-6
"""How far apart ends of neighbouring segments may lie, mm: above rounding, far below a cut."""


class Point(NamedTuple):
    """A point, mm."""

    x: float
    y: float


class Line(NamedTuple):
    """A straight segment."""

    start: Point
    end: Point


class Arc(NamedTuple):
    """A circular segment; ``0 < abs(sweep) <= 2 pi``, positive sweeps run anticlockwise."""

    centre: Point
    radius: float
    start_angle: float
    sweep: float

    @property
    def end_angle(self) -> float:
        """Angle of the end point about the centre."""
        return self.start_angle + self.sweep

    @property
    def start(self) -> Point:
        """First point."""
        return self.at(self.start_angle)

    @property
    def end(self) -> Point:
        """Last point."""
        return self.at(self.start_angle + self.sweep)

    def at(self, angle: float) -> Point:
        """Return the point at an angle about the centre."""
        return Point(
            self.centre.x + self.radius * math.cos(angle),
            self.centre.y + self.radius * math.sin(angle),
        )


Segment = Line | Arc
Path = tuple[Segment, ...]


@dataclass(frozen=True, slots=True)
class Contour:
    """A closed path; a circle is one arc with a full sweep.

    Raises ``ValueError`` when the segments do not follow each other within ``JOIN_TOLERANCE``.
    """

    segments: Path

    def __post_init__(self) -> None:
        if not self.segments:
            raise ValueError("a contour needs at least one segment")
        before = self.segments[-1]
        for segment in self.segments:
            gap = math.dist(before.end, segment.start)
            if not gap <= JOIN_TOLERANCE:
                raise ValueError(f"segments do not meet: {gap:g} mm apart at {segment.start}")
            before = segment


@dataclass(frozen=True, slots=True)
class Region:
    """An outer contour (anticlockwise) less its holes (clockwise)."""

    outer: Contour
    holes: tuple[Contour, ...] = ()

    @property
    def contours(self) -> tuple[Contour, ...]:
        """All contours, the outer one first."""
        return (self.outer, *self.holes)


def reversed_segment(segment: Segment) -> Segment:
    """Return the same segment run backwards."""
    if isinstance(segment, Line):
        return Line(segment.end, segment.start)
    return Arc(segment.centre, segment.radius, segment.end_angle, -segment.sweep)


def reversed_path(path: Path) -> Path:
    """Return the same path run backwards."""
    return tuple(reversed_segment(segment) for segment in reversed(path))


def reversed_contour(contour: Contour) -> Contour:
    """Return the same contour run backwards."""
    return Contour(reversed_path(contour.segments))


def moved_path(path: Path, angle: float, x: float, y: float) -> Path:
    """Turn a path about the origin by ``angle``, then shift it by ``(x, y)``."""
    cos, sin = math.cos(angle), math.sin(angle)

    def moved(point: Point) -> Point:
        return Point(cos * point.x - sin * point.y + x, sin * point.x + cos * point.y + y)

    return tuple(
        Line(moved(segment.start), moved(segment.end))
        if isinstance(segment, Line)
        else Arc(moved(segment.centre), segment.radius, segment.start_angle + angle, segment.sweep)
        for segment in path
    )


def moved_contour(contour: Contour, angle: float, x: float, y: float) -> Contour:
    """Turn a contour about the origin by ``angle``, then shift it by ``(x, y)``."""
    return Contour(moved_path(contour.segments, angle, x, y))


def moved_region(region: Region, angle: float, x: float, y: float) -> Region:
    """Turn a region about the origin by ``angle``, then shift it by ``(x, y)``."""
    return Region(
        moved_contour(region.outer, angle, x, y),
        tuple(moved_contour(hole, angle, x, y) for hole in region.holes),
    )


def scaled_path(path: Path, factor: float) -> Path:
    """Return a path ``factor`` times as large, seen from the origin."""
    return tuple(_scaled(segment, factor) for segment in path)


def _scaled(segment: Segment, factor: float) -> Segment:
    def scaled(point: Point) -> Point:
        return Point(factor * point.x, factor * point.y)

    if isinstance(segment, Line):
        return Line(scaled(segment.start), scaled(segment.end))
    return segment._replace(centre=scaled(segment.centre), radius=factor * segment.radius)


def mirrored_path(path: Path, *, x: float | None = None, y: float | None = None) -> Path:
    """Mirror a path left to right at the upright line ``x``, or top to bottom at the level ``y``.

    With both it is turned by half a turn, with neither left as it is.
    """
    for at, upright in ((x, True), (y, False)):
        if at is not None:
            path = tuple(_mirrored(segment, at, upright) for segment in path)
    return path


def _mirrored(segment: Segment, at: float, upright: bool) -> Segment:
    def mirrored(point: Point) -> Point:
        return Point(2.0 * at - point.x, point.y) if upright else Point(point.x, 2.0 * at - point.y)

    if isinstance(segment, Line):
        return Line(mirrored(segment.start), mirrored(segment.end))
    start = math.pi - segment.start_angle if upright else -segment.start_angle
    return Arc(mirrored(segment.centre), segment.radius, start, -segment.sweep)


def circle(centre: Point, radius: float, *, clockwise: bool = False) -> Contour:
    """Return a circle that starts at its rightmost point."""
    return Contour((Arc(centre, radius, 0.0, -TURN if clockwise else TURN),))


def polygon(points: Iterable[tuple[float, float]]) -> Contour:
    """Return the closed polygon through points, in their order."""
    corners = [Point(*point) for point in points]
    return Contour(
        tuple(Line(a, b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    )


def rectangle(width: float, height: float) -> Contour:
    """Return an anticlockwise rectangle from the origin to ``(width, height)``."""
    return polygon(((0.0, 0.0), (width, 0.0), (width, height), (0.0, height)))
