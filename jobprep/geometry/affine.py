"""Maps of the plane that keep straight lines straight: turns, shifts, scales and slants."""

from __future__ import annotations

import math
from typing import NamedTuple

from jobprep.geometry.outline import Line, Point, Region, Segment


class Affine(NamedTuple):
    """The map of (x, y) to (a x + c y + e, b x + d y + f), as SVG and PDF write it."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def at(self, x: float, y: float) -> Point:
        """Map a point."""
        return Point(self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f)

    def turned(self, x: float, y: float) -> Point:
        """Map a direction, which has no place."""
        return Point(self.a * x + self.c * y, self.b * x + self.d * y)

    def after(self, first: Affine) -> Affine:
        """Return the map that applies ``first`` and then this one."""
        return Affine(
            *self.turned(first.a, first.b),
            *self.turned(first.c, first.d),
            *self.at(first.e, first.f),
        )

    def inverse(self) -> Affine | None:
        """Return the map back, None for one that flattens the plane."""
        size = self.a * self.d - self.b * self.c
        if size == 0.0 or not math.isfinite(size):
            return None
        back = Affine(self.d / size, -self.b / size, -self.c / size, self.a / size)
        return back.after(shift(-self.e, -self.f))

    @property
    def scale(self) -> float:
        """By how much one of the axes is enlarged, the one that is enlarged more."""
        return max(math.hypot(self.a, self.b), math.hypot(self.c, self.d))


IDENTITY = Affine()


def moving(angle: float, x: float, y: float) -> Affine:
    """Return the map that turns about the origin by ``angle``, then shifts by ``(x, y)``."""
    cos, sin = math.cos(angle), math.sin(angle)
    return Affine(cos, sin, -sin, cos, x, y)


def scaling(across: float, up: float | None = None) -> Affine:
    """Return the map that scales about the origin, evenly where one factor is given."""
    return Affine(a=across, d=across if up is None else up)


def shift(x: float, y: float) -> Affine:
    """Return the map that moves everything by ``(x, y)``."""
    return Affine(e=x, f=y)


def slant(along_x: float, along_y: float) -> Affine:
    """Return the skew of both axes by angles in radians."""
    return Affine(b=math.tan(along_y), c=math.tan(along_x))


def where_moved(region: Region, to: Region) -> Affine | None:
    """Return how a region was turned and shifted to become another, None if it is another shape."""
    first, second = region.outer.segments[0], to.outer.segments[0]
    same = [len(contour.segments) for contour in region.contours] == [
        len(contour.segments) for contour in to.contours
    ]
    if not same or type(first) is not type(second):
        return None
    turn = moving(_direction(second) - _direction(first), 0.0, 0.0)
    (x, y), (u, v) = turn.at(*first.start), second.start
    return turn._replace(e=u - x, f=v - y)


def _direction(segment: Segment) -> float:
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment
        return math.atan2(y1 - y0, x1 - x0)
    return segment.start_angle
