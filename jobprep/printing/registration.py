"""From where the crosses of a print are to how the print lies and how far it is off in scale.

A printer draws across and up each a little too long or too short, and the sheet then lies shifted
and turned on the cutter:

    measured = shift + R(turn) · (scale_x · x, scale_y · y)

The fit takes the least squares of what remains. For a given turn the rest is linear; what is then
left to minimise is a quadratic form in the cosine and sine of the turn, so its best direction has a
closed form and no iteration is needed. With three crosses or more that are not on one line the
answer is unique.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from jobprep.geometry.fit_arcs import elliptic_path
from jobprep.geometry.outline import Line, Path, Point, Segment
from jobprep.units import TURN

LEAST_CROSSES = 3
LEAST_SPREAD = 5.0
"""Crosses must lie at least so far off any one line, mm (root mean square)."""
MOST_SCALE_ERROR = 0.05
"""A print further off than this was fitted to the page, or a cross was measured wrong."""
ARC_TOLERANCE = 0.001
"""How far the arcs of a stretched circle may lie off its ellipse, mm."""


class PrintFit(NamedTuple):
    """How a print lies: mm, radians anticlockwise, factors; ``residual`` is the farthest cross.

    ``residual`` says how far, mm, a measured cross is from where this fit puts it.
    """

    shift: Point
    turn: float
    scale_x: float
    scale_y: float
    residual: float

    def point(self, nominal: Point) -> Point:
        """Return where a drawn point lies."""
        moved = self._turned(nominal)
        return Point(self.shift.x + moved.x, self.shift.y + moved.y)

    def _turned(self, nominal: Point) -> Point:
        x, y = self.scale_x * nominal.x, self.scale_y * nominal.y
        cos, sin = math.cos(self.turn), math.sin(self.turn)
        return Point(cos * x - sin * y, sin * x + cos * y)

    def path(self, nominal: Path) -> Path:
        """Return where a drawn path lies; an arc becomes arcs of its ellipse that meet smoothly."""
        return tuple(self._segments(nominal))

    def _segments(self, nominal: Path) -> Iterator[Segment]:
        for segment in nominal:
            if isinstance(segment, Line):
                yield Line(self.point(segment.start), self.point(segment.end))
                continue
            u = self._turned(Point(segment.radius, 0.0))
            v = self._turned(Point(0.0, segment.radius))
            centre = self.point(segment.centre)
            yield from elliptic_path(
                centre, u, v, segment.start_angle, segment.sweep, ARC_TOLERANCE
            )


def fit_print(drawn: Sequence[Point], measured: Sequence[Point]) -> PrintFit:
    """Return how a print lies, from its crosses as drawn and as measured, in the same order.

    Raises
    ------
    ValueError
        With a sentence when there are too few crosses, they lie on a line, or no print is like
        that: mirrored, or further off in scale than a printer is.
    """
    if len(drawn) != len(measured) or len(drawn) < LEAST_CROSSES:
        raise ValueError(f"{LEAST_CROSSES} crosses or more are needed, each measured once")
    if not all(math.isfinite(value) for point in measured for value in point):
        raise ValueError("a measured cross is not a number")
    middle, lying = _mean(drawn), _mean(measured)
    here = [Point(x - middle.x, y - middle.y) for x, y in drawn]
    there = [Point(x - lying.x, y - lying.y) for x, y in measured]
    xx, yy = _dot(here, here, 0, 0), _dot(here, here, 1, 1)
    narrowest = 0.5 * (xx + yy - math.hypot(xx - yy, 2.0 * _dot(here, here, 0, 1)))
    if narrowest < len(drawn) * LEAST_SPREAD**2:
        raise ValueError("the crosses lie too close together, or on a line")
    turn = _best_turn(here, there, xx, yy)
    cos, sin = math.cos(turn), math.sin(turn)
    scale_x = (cos * _dot(there, here, 0, 0) + sin * _dot(there, here, 1, 0)) / xx
    scale_y = (cos * _dot(there, here, 1, 1) - sin * _dot(there, here, 0, 1)) / yy
    if scale_x < 0.0:  # the quadratic form does not know a half turn
        turn, scale_x, scale_y = turn + math.pi, -scale_x, -scale_y
        cos, sin = -cos, -sin
    _check_scales(scale_x, scale_y)
    x, y = scale_x * middle.x, scale_y * middle.y
    shift = Point(lying.x - cos * x + sin * y, lying.y - sin * x - cos * y)
    fit = PrintFit(shift, math.remainder(turn, TURN), scale_x, scale_y, 0.0)
    off = max(math.dist(fit.point(a), b) for a, b in zip(drawn, measured, strict=True))
    return fit._replace(residual=off)


def _best_turn(here: Sequence[Point], there: Sequence[Point], xx: float, yy: float) -> float:
    """Return the turn that leaves least, up to a half turn.

    With the scales at their best for a turn, what is left is a constant less

        (cos·a + sin·b)² / xx + (cos·d - sin·c)² / yy

    where a, b, c, d are the sums of products of measured x and y with drawn x and y.
    """
    a, b = _dot(there, here, 0, 0), _dot(there, here, 1, 0)
    c, d = _dot(there, here, 0, 1), _dot(there, here, 1, 1)
    along = a * a / xx + d * d / yy
    across = b * b / xx + c * c / yy
    mixed = a * b / xx - c * d / yy
    return 0.5 * math.atan2(2.0 * mixed, along - across)


def _check_scales(scale_x: float, scale_y: float) -> None:
    if scale_y < 0.0:
        raise ValueError("the crosses as measured are mirrored: turn the printed film over")
    if max(abs(scale_x - 1.0), abs(scale_y - 1.0)) > MOST_SCALE_ERROR:
        raise ValueError(
            f"the print would be {scale_x:.3f} times too long across and {scale_y:.3f} up: "
            "a cross was measured wrong, or the print was fitted to the page"
        )


def _mean(points: Sequence[Point]) -> Point:
    n = len(points)
    return Point(math.fsum(p.x for p in points) / n, math.fsum(p.y for p in points) / n)


def _dot(first: Sequence[Point], second: Sequence[Point], i: int, j: int) -> float:
    return math.fsum(a[i] * b[j] for a, b in zip(first, second, strict=True))
