"""Outlines as curves of angle over radius about the origin, exact.

Terminology
-----------
branch    a piece of a line or an arc along which the radius only grows or only shrinks: its angle
          is a function of the radius. Arcs about the origin have none, since their radius stays
winding   how often a contour runs anticlockwise around the origin

Angles are unwrapped: along a contour they go on past a half turn, so that neighbouring branches
meet in angle, too.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from typing import NamedTuple

from jobprep.geometry.outline import Arc, Contour, Line, Region, Segment
from jobprep.units import TURN

CONCENTRIC = 1e-9
"""An arc whose centre is this near to the origin, mm, keeps its radius."""
SHORT = 1e-12
"""A branch whose radii differ by less than this, mm, is none."""


class Branch(NamedTuple):
    """A piece of a contour between two radii (mm).

    ``rising`` is 1 where the contour runs outwards along it, else -1. Its angle lies on ``side``
    (1 anticlockwise, -1 clockwise) of ``direction``: that of the foot of a line, or of an arc's
    centre, which lies at ``distance`` mm. A line has ``radius`` 0.
    """

    inner: float
    outer: float
    rising: float
    direction: float
    side: float
    distance: float
    radius: float

    def angle(self, radius: float) -> float:
        """Return the branch's angle at a radius within its own."""
        return self.direction + self.side * self._off(radius)

    def moment(self, radius: float) -> float:
        """Return an antiderivative of angle times radius."""
        square = radius * radius
        swept = 0.5 * square * self.angle(radius)
        distance, own = self.distance, self.radius
        if own == 0.0:
            across = math.sqrt(max(0.0, (radius - distance) * (radius + distance)))
            return swept - 0.5 * self.side * distance * across
        far, near = distance + own, distance - own
        # The same differences as in the angle: near the least and the greatest radius both are
        # square roots of rounding, which cancel only so.
        half = math.atan2(
            math.sqrt(max(0.0, (far - radius) * (far + radius))),
            math.sqrt(max(0.0, (radius - near) * (radius + near))),
        )
        about = own * own * 2.0 * half + distance * own * math.sin(2.0 * half)
        return swept - 0.5 * self.side * about

    def turned(self, angle: float) -> Branch:
        """Return the branch turned about the origin."""
        return self._replace(direction=self.direction + angle)

    def _off(self, radius: float) -> float:
        distance, own = self.distance, self.radius
        if own == 0.0:
            return math.atan2(
                math.sqrt(max(0.0, (radius - distance) * (radius + distance))), distance
            )
        far, near = distance + own, distance - own
        above = max(0.0, (far - radius) * (radius - near))
        below = max(0.0, (radius + near) * (radius + far))
        return 2.0 * math.atan2(math.sqrt(above), math.sqrt(below))


class RadialContour(NamedTuple):
    """The branches of a contour in order, its winding, and the radius at which it starts."""

    branches: tuple[Branch, ...]
    winding: int
    start: float


def radial_contours(region: Region) -> tuple[RadialContour, ...]:
    """Return the contours of a region as branches; none may run through the origin."""
    return tuple(map(_radial, region.contours))


def meeting_radii(one: Branch, other: Branch, turn: float) -> tuple[float, ...]:
    """Return the radii at which a branch, turned by an angle, may meet another, up to two."""
    apart = one.direction + turn - other.direction
    if one.radius == 0.0 and other.radius == 0.0:
        return _two_lines(one.distance, other.distance, apart)
    if one.radius == 0.0:
        return _line_and_circle(one.distance, other, apart)
    if other.radius == 0.0:
        return _line_and_circle(other.distance, one, -apart)
    return _two_circles(one, other, apart)


def touching_radii(one: Branch, other: Branch) -> tuple[float, ...]:
    """Return the radii at which two branches may touch while one of them turns."""
    if one.radius == 0.0 and other.radius == 0.0:
        return ()
    if other.radius == 0.0:
        one, other = other, one
    found = []
    for sign in (1.0, -1.0):
        if one.radius == 0.0:
            distance, radius = other.distance, other.radius
            if abs(one.distance + sign * radius) <= distance:
                square = distance**2 - 2.0 * sign * radius * one.distance - radius**2
                found.append(math.sqrt(max(0.0, square)))
            continue
        # At a touch the point lies on the line through both centres.
        for ratio in (sign * other.radius, -sign * other.radius):
            between = one.radius + sign * other.radius
            if between == 0.0:
                continue
            share = ratio / abs(between)
            square = (
                (1.0 - share) * other.distance**2
                + share * one.distance**2
                - share * (1.0 - share) * between**2
            )
            if square > 0.0:
                found.append(math.sqrt(square))
    return tuple(found)


def _two_lines(first: float, second: float, apart: float) -> tuple[float, ...]:
    sine = math.sin(apart)
    if abs(sine) < 1e-15:
        return ()
    square = first * first + second * second - 2.0 * first * second * math.cos(apart)
    return (math.sqrt(max(0.0, square)) / abs(sine),)


def _line_and_circle(distance: float, circle: Branch, apart: float) -> tuple[float, ...]:
    off = circle.distance * math.cos(apart) - distance
    square = (circle.radius - off) * (circle.radius + off)
    if square < 0.0:
        return ()
    middle, half = -circle.distance * math.sin(apart), math.sqrt(square)
    return tuple(math.hypot(distance, along) for along in (middle - half, middle + half))


def _two_circles(one: Branch, other: Branch, apart: float) -> tuple[float, ...]:
    product = one.distance * other.distance
    square = one.distance**2 + other.distance**2 - 2.0 * product * math.cos(apart)
    if square <= 0.0:
        return ()
    between = math.sqrt(square)
    along = (other.radius**2 - one.radius**2 + square) / (2.0 * between)
    across = (other.radius - along) * (other.radius + along)
    if across < 0.0:
        return ()
    ahead = (product * math.cos(apart) - other.distance**2) / between
    aside = math.sqrt(across) * product * math.sin(apart) / between
    base = other.distance**2 + other.radius**2 + 2.0 * along * ahead
    return tuple(math.sqrt(max(0.0, base + 2.0 * sign * aside)) for sign in (-1.0, 1.0))


def _radial(contour: Contour) -> RadialContour:
    first = contour.segments[0].start
    angle = begin = math.atan2(first.y, first.x)
    branches: list[Branch] = []
    for segment in contour.segments:
        if isinstance(segment, Arc) and math.hypot(*segment.centre) <= CONCENTRIC:
            angle += segment.sweep
            continue
        for branch in _branches(segment):
            start, end = branch.inner, branch.outer
            if branch.rising < 0.0:
                start, end = end, start
            turns = round((angle - branch.angle(start)) / TURN)
            placed = branch.turned(turns * TURN)
            angle = placed.angle(end)
            if branch.outer - branch.inner > SHORT:
                branches.append(placed)
    return RadialContour(tuple(branches), round((angle - begin) / TURN), math.hypot(*first))


def _branches(segment: Segment) -> Iterator[Branch]:
    if isinstance(segment, Line):
        yield from _line_branches(segment)
        return
    distance = math.hypot(*segment.centre)
    direction = math.atan2(segment.centre.y, segment.centre.x)
    begin = segment.start_angle - direction
    sign = math.copysign(1.0, segment.sweep)
    end = begin + segment.sweep
    stops = [begin]
    half = math.floor(begin / math.pi) + 1 if sign > 0.0 else math.ceil(begin / math.pi) - 1
    while (half * math.pi - end) * sign < 0.0:
        stops.append(half * math.pi)
        half += int(sign)
    stops.append(end)
    for before, after in itertools.pairwise(stops):
        side = 1.0 if math.sin((before + after) / 2.0) > 0.0 else -1.0
        radii = [
            math.hypot(distance + segment.radius * math.cos(at), segment.radius * math.sin(at))
            for at in (before, after)
        ]
        rising = math.copysign(1.0, radii[1] - radii[0])
        yield Branch(min(radii), max(radii), rising, direction, side, distance, segment.radius)


def _line_branches(line: Line) -> Iterator[Branch]:
    start, end = line
    length = math.dist(start, end)
    if length == 0.0:
        return
    x, y = (end.x - start.x) / length, (end.y - start.y) / length
    signed = start.x * y - start.y * x
    direction = math.atan2(-x, y) if signed >= 0.0 else math.atan2(x, -y)
    forwards = 1.0 if signed >= 0.0 else -1.0
    distance = abs(signed)
    first, last = start.x * x + start.y * y, end.x * x + end.y * y
    stops = [first, 0.0, last] if first < 0.0 < last else [first, last]
    for before, after in itertools.pairwise(stops):
        along = before + after
        radii = (math.hypot(distance, before), math.hypot(distance, after))
        yield Branch(
            min(radii),
            max(radii),
            1.0 if along > 0.0 else -1.0,
            direction,
            forwards if along > 0.0 else -forwards,
            distance,
            0.0,
        )
