"""Arcs in place of curves that are neither straight nor round.

A smooth curve is replaced by biarcs: two arcs that share the curve's ends and its directions there
and meet each other without a corner. Where a biarc strays too far the curve is halved. The result
has the curve's ends and no corner that the curve does not have.

Of the family of biarcs through two ends the one with equal tangent lengths is taken: K. M. Bolton,
Biarc curves, Computer-Aided Design 7 (1975) 89-92 (from memory; derived below).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import NamedTuple

from jobprep.geometry.outline import Arc, Line, Path, Point, Segment, reversed_segment
from jobprep.geometry.segment import point_distance, segment_length

SAMPLES = 16
"""Points at which a curve is held against its biarc."""

SAMPLE_SHARE = 0.95
"""Share of the tolerance allowed at the samples. Between two neighbours of 16 samples the error,
which has one bulge per arc, rises by less than the rest."""

FLAT_SHARE = 0.01
"""An arc that bulges by less than this share of the tolerance is drawn as a line."""

GREATEST_RADIUS = 1e8
"""Beyond this a double holds the ends of an arc no better than 1e-7 mm; it becomes a line, mm."""

MOST_PIECES = 5_000
"""Pieces tried for one curve; a curve that needs more reaches too far for its tolerance."""


class Curve(NamedTuple):
    """A smooth curve: its point and its velocity at 0 <= t <= 1."""

    point: Callable[[float], Point]
    velocity: Callable[[float], Point]


class _Piece(NamedTuple):
    """A stretch of a curve: parameters, end points, and the unit directions there."""

    low: float
    high: float
    start: Point
    end: Point
    start_direction: Point
    end_direction: Point


def bezier(points: Sequence[Point]) -> Curve:
    """Return the Bezier curve of any degree with these control points (de Casteljau)."""
    last = len(points) - 1
    steps = [Point(last * (b.x - a.x), last * (b.y - a.y)) for a, b in pairwise(points)]
    return Curve(lambda t: _casteljau(points, t), lambda t: _casteljau(steps, t))


def ellipse(centre: Point, u: Point, v: Point, start: float, sweep: float) -> Curve:
    """Return an arc of an ellipse: ``centre + u cos a + v sin a``, conjugate half diameters."""

    def point(t: float) -> Point:
        cos, sin = math.cos(start + t * sweep), math.sin(start + t * sweep)
        return Point(centre.x + u.x * cos + v.x * sin, centre.y + u.y * cos + v.y * sin)

    def velocity(t: float) -> Point:
        cos, sin = math.cos(start + t * sweep), math.sin(start + t * sweep)
        return Point(sweep * (v.x * cos - u.x * sin), sweep * (v.y * cos - u.y * sin))

    return Curve(point, velocity)


def elliptic_path(
    centre: Point, u: Point, v: Point, start: float, sweep: float, tolerance: float
) -> Path:
    """Return an arc of an ellipse: one exact arc where it is round, fitted arcs elsewhere.

    Parameters
    ----------
    centre, u, v
        The curve ``centre + u cos a + v sin a``; mm.
    start, sweep
        The parameter ``a`` at the start and how far it runs, radians.
    tolerance
        Greatest distance between the curve and the fitted arcs, mm.
    """
    size = max(math.hypot(*u), math.hypot(*v))
    is_round = (
        abs(math.hypot(*u) - math.hypot(*v)) <= 1e-9 * size
        and abs(u.x * v.x + u.y * v.y) <= 1e-9 * size * size
    )
    if is_round:
        turn = math.copysign(1.0, u.x * v.y - u.y * v.x)
        angle = math.atan2(u.y, u.x) + turn * start
        return (Arc(centre, math.hypot(*u), angle, turn * sweep),)
    return fit_arcs(ellipse(centre, u, v, start, sweep), tolerance)


def fit_arcs(curve: Curve, tolerance: float) -> Path:
    """Return arcs (and lines where it is straight) within ``tolerance`` mm of a smooth curve.

    A curve too short to differ from a point gives an empty path.

    Raises
    ------
    ValueError
        If the curve is so wild, or reaches so far, that it cannot be followed.
    """
    todo = [_piece(curve, 0.5, 1.0), _piece(curve, 0.0, 0.5)]  # a closed curve has no chord
    fitted: list[Segment] = []
    for _ in range(MOST_PIECES):
        if not todo:
            return _merged([each for each in fitted if segment_length(each) > 0.0])
        piece = todo.pop()
        segments = _fitted(curve, piece, tolerance)
        if segments:
            fitted += segments
        else:
            middle = 0.5 * (piece.low + piece.high)
            todo.append(_piece(curve, middle, piece.high))
            todo.append(_piece(curve, piece.low, middle))
    raise ValueError("the curve cannot be followed")


def _fitted(curve: Curve, piece: _Piece, tolerance: float) -> list[Segment]:
    """Return what follows a piece within the tolerance, nothing where it must be halved."""
    samples = [
        curve.point(piece.low + (piece.high - piece.low) * i / SAMPLES) for i in range(1, SAMPLES)
    ]
    if _turns_gently(piece, samples):
        candidate = _biarc(piece, tolerance)
        if candidate and _is_near(candidate, samples, SAMPLE_SHARE * tolerance):
            return candidate
    if math.dist(piece.start, piece.end) < tolerance:
        chord = [Line(piece.start, piece.end)]
        if _is_near(chord, samples, 0.5 * tolerance):
            return [*chord]
    return []


def _piece(curve: Curve, low: float, high: float) -> _Piece:
    start, end = curve.point(low), curve.point(high)
    near = low + 1e-3 * (high - low), high - 1e-3 * (high - low)
    return _Piece(
        low,
        high,
        start,
        end,
        _direction(curve.velocity(low), start, curve.point(near[0])),
        _direction(curve.velocity(high), curve.point(near[1]), end),
    )


def _direction(velocity: Point, a: Point, b: Point) -> Point:
    """Return the unit velocity; where the curve stands still, that of the chord from a to b."""
    chord = Point(b.x - a.x, b.y - a.y)
    # The chord spans a thousandth of the piece: a velocity far below it is none at all.
    step = velocity if math.hypot(*velocity) > 1e-3 * math.hypot(*chord) else chord
    length = math.hypot(*step)
    return Point(step.x / length, step.y / length) if length > 0.0 else Point(0.0, 0.0)


def _biarc(piece: _Piece, tolerance: float) -> list[Segment]:
    """Return the biarc of a piece, nothing where it would not exist.

    With tangent length d the corners of the control polygon are P0 + d T0 and P1 - d T1, and the
    arcs meet half way between them, if these lie 2 d apart: |v - d t| = 2 d with v = P1 - P0 and
    t = T0 + T1. That is 2 (1 - T0.T1) d^2 + 2 (v.t) d - v.v = 0.
    """
    (x0, y0), (x1, y1) = piece.start, piece.end
    first, last = piece.start_direction, piece.end_direction
    vx, vy = x1 - x0, y1 - y0
    square = vx * vx + vy * vy
    bend = 2.0 * (1.0 - (first.x * last.x + first.y * last.y))
    along = vx * (first.x + last.x) + vy * (first.y + last.y)
    root = along + math.sqrt(along * along + bend * square)
    if square == 0.0 or root <= 1e-12 * math.sqrt(square):
        return []
    length = square / root  # the positive root, in the form that does not cancel
    joint = Point(
        0.5 * (x0 + x1 + length * (first.x - last.x)), 0.5 * (y0 + y1 + length * (first.y - last.y))
    )
    back = _arc(piece.end, Point(-last.x, -last.y), joint, tolerance)
    return [_arc(piece.start, first, joint, tolerance), reversed_segment(back)]


def _arc(start: Point, direction: Point, end: Point, tolerance: float) -> Segment:
    """Return the arc that leaves ``start`` in a direction and ends at ``end``."""
    cx, cy = end.x - start.x, end.y - start.y
    across = direction.x * cy - direction.y * cx
    square = cx * cx + cy * cy
    sweep = 2.0 * math.atan2(across, direction.x * cx + direction.y * cy)
    bulge = 0.5 * math.sqrt(square) * abs(math.tan(0.25 * sweep))
    if bulge < FLAT_SHARE * tolerance or square > 2.0 * GREATEST_RADIUS * abs(across):
        return Line(start, end)
    radius = square / (2.0 * across)  # negative to the right
    centre = Point(start.x - direction.y * radius, start.y + direction.x * radius)
    angle = math.atan2(start.y - centre.y, start.x - centre.x)
    return Arc(centre, abs(radius), angle, sweep)


def _is_near(path: Sequence[Segment], samples: Sequence[Point], tolerance: float) -> bool:
    """Return whether all samples lie near a path."""
    return all(min(point_distance(each, point) for each in path) <= tolerance for point in samples)


def _turns_gently(piece: _Piece, samples: Sequence[Point]) -> bool:
    """Return whether a piece turns by less than a right angle from sample to sample.

    Where it turns about on the spot, its farthest point may lie unseen between two samples.
    """
    corners = [piece.start, *samples, piece.end]
    steps = [Point(b.x - a.x, b.y - a.y) for a, b in pairwise(corners)]
    steps = [piece.start_direction, *steps, piece.end_direction]
    return all(a.x * b.x + a.y * b.y > 0.0 for a, b in pairwise(steps))


def _merged(segments: list[Segment]) -> Path:
    """Join neighbours that lie on one circle, as the two halves of a fitted circular arc do."""
    merged: list[Segment] = []
    for segment in segments:
        before = merged[-1] if merged else None
        if (
            isinstance(before, Arc)
            and isinstance(segment, Arc)
            and math.dist(before.centre, segment.centre) < 1e-7
            and abs(before.radius - segment.radius) < 1e-7
            and before.sweep * segment.sweep > 0.0
            and abs(before.sweep + segment.sweep) <= math.tau
        ):
            sweep = before.sweep + segment.sweep
            merged[-1] = Arc(before.centre, before.radius, before.start_angle, sweep)
        else:
            merged.append(segment)
    return tuple(merged)


def _casteljau(points: Sequence[Point], t: float) -> Point:
    while len(points) > 1:
        points = [Point(a.x + t * (b.x - a.x), a.y + t * (b.y - a.y)) for a, b in pairwise(points)]
    return points[0]
