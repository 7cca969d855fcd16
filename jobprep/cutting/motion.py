"""How long the cutter takes: lengths and times of a sequence of cuts.

The head follows a path with one limit of acceleration, along the path and across it, each taken
by itself. That bounds its speed three ways:

- on a segment, the speed of the work; on an arc also ``v = sqrt(a R)``, where the centripetal
  acceleration reaches the limit;
- where two segments meet at a corner, the speed of the largest circle that touches both and
  passes the corner at no more than ``CORNER_DEVIATION`` (see ``corner_speed``);
- everywhere, what the acceleration lets it reach after the slow places before, and brake down to
  for those ahead (look-ahead over the whole path).

Each path starts and ends at rest, and so does each travel between paths, the last one home among
them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from jobprep.cutting.plan import Cut, Motion, Operation
from jobprep.errors import CannotDoError
from jobprep.geometry.measure import path_length
from jobprep.geometry.outline import Arc, Path, Point, Segment
from jobprep.geometry.segment import turn_between
from jobprep.model import Cutter, Film

HOME = Point(0.0, 0.0)
"""Where the head rests before a sheet and after it: the sheet's lower left corner."""

CORNER_DEVIATION = 0.01
"""How far a controller may round a corner to keep moving, mm (common practice, no source)."""


class HeadMove(NamedTuple):
    """One stroke and the travel to it; the last leg is the way home, without a stroke.

    Times are in s. The stroke is run ``passes`` times, each after ``pierce_seconds``, and between
    two of them the head goes back to its start in ``back_seconds``.
    """

    cut: Cut | None
    stroke: Path
    travel: float
    travel_seconds: float
    seconds: float = 0.0
    pierce_seconds: float = 0.0
    back_seconds: float = 0.0
    passes: int = 1


def head_moves(
    cuts: Iterable[Cut], cutter: Cutter, cut_speed: float, passes: int = 1
) -> Iterator[HeadMove]:
    """Yield what the head does for ``cuts`` in their order, from ``HOME`` and back to it."""
    acceleration = cutter.acceleration
    place = HOME

    def travel_to(point: Point) -> tuple[float, float]:
        distance = math.dist(place, point)
        return distance, rest_to_rest(distance, cutter.travel_speed, acceleration)

    for cut in cuts:
        is_mark = cut.operation is Operation.MARK
        for stroke in cut.strokes:
            back = math.dist(stroke[-1].end, stroke[0].start)
            yield HeadMove(
                cut,
                stroke,
                *travel_to(stroke[0].start),
                path_seconds(stroke, cutter.mark_speed if is_mark else cut_speed, acceleration),
                0.0 if is_mark else cutter.pierce_time,
                0.0 if is_mark else rest_to_rest(back, cutter.travel_speed, acceleration),
                1 if is_mark else passes,
            )
            place = stroke[-1].end
    yield HeadMove(None, (), *travel_to(HOME))


def motion(cuts: Iterable[Cut], cutter: Cutter, cut_speed: float, passes: int = 1) -> Motion:
    """Sum up what ``cuts`` take in their order, from ``HOME`` and back to it.

    Each contour is pierced and run ``passes`` times; lengths and pierces count it once.
    """
    cut_length = mark_length = travel_length = 0.0
    cut_seconds = mark_seconds = travel_seconds = 0.0
    pierces = 0
    for leg in head_moves(cuts, cutter, cut_speed, passes):
        travel_length += leg.travel
        travel_seconds += leg.travel_seconds
        if leg.cut is None:
            continue
        if leg.cut.operation is Operation.MARK:
            mark_length += path_length(leg.stroke)
            mark_seconds += leg.seconds
        else:
            cut_length += path_length(leg.stroke)
            cut_seconds += leg.passes * leg.seconds
            travel_seconds += (leg.passes - 1) * leg.back_seconds
            pierces += 1
    return Motion(
        cut_length=cut_length,
        mark_length=mark_length,
        travel_length=travel_length,
        pierces=pierces,
        cut_seconds=cut_seconds,
        mark_seconds=mark_seconds,
        travel_seconds=travel_seconds,
        pierce_seconds=pierces * passes * cutter.pierce_time,
    )


def film_moves(cuts: Iterable[Cut], cutter: Cutter, film: Film) -> Iterator[HeadMove]:
    """Yield what the head does for ``cuts`` in a film; raises as ``film_motion`` does."""
    return head_moves(cuts, cutter, speed_for(cutter, film), cutter.passes_for(film))


def film_motion(cuts: Iterable[Cut], cutter: Cutter, film: Film) -> Motion:
    """Sum up what ``cuts`` take in a film.

    Raises
    ------
    CannotDoError
        When the cutter has no cutting speed for the film.
    """
    return motion(cuts, cutter, speed_for(cutter, film), cutter.passes_for(film))


def speed_for(cutter: Cutter, film: Film) -> float:
    """Return the cutting speed for a film, mm/s.

    Raises
    ------
    CannotDoError
        When the cutter has none for the film.
    """
    speed = cutter.cut_speed_for(film)
    if speed is None:
        raise CannotDoError(f"the cutter {cutter.name} has no cutting speed for {film.name}")
    return speed


def rest_to_rest(length: float, speed: float, acceleration: float) -> float:
    """Return the time for a straight move from rest to rest (trapezoidal velocity profile)."""
    return ramp_seconds(length, 0.0, 0.0, speed, acceleration)


def path_seconds(path: Path, speed: float, acceleration: float) -> float:
    """Return the time along a path from rest to rest, at no more than ``speed``."""
    limits = [segment_speed(segment, speed, acceleration) for segment in path]
    lengths = [path_length((segment,)) for segment in path]
    joints = joint_speeds(path, lengths, limits, acceleration)
    return sum(
        ramp_seconds(length, before, after, limit, acceleration)
        for length, limit, (before, after) in zip(lengths, limits, pairwise(joints), strict=True)
    )


def segment_speed(segment: Segment, speed: float, acceleration: float) -> float:
    """Return the highest speed on a segment: ``v² / R`` stays within the acceleration."""
    if isinstance(segment, Arc):
        return min(speed, math.sqrt(acceleration * segment.radius))
    return speed


def corner_speed(turn: float, acceleration: float) -> float:
    """Return the highest speed through a corner where the direction changes by ``turn``.

    A circle of radius R that touches both sides of the corner misses its tip by
    ``R (1 / cos(turn/2) - 1)``. With the miss at ``CORNER_DEVIATION`` that gives R, and
    ``v = sqrt(a R)`` (plane geometry and kinematics). No turn, no limit; a full turn back, rest.
    """
    half = math.cos(turn / 2.0)
    if half >= 1.0:
        return math.inf
    if half <= 0.0:
        return 0.0
    return math.sqrt(acceleration * CORNER_DEVIATION * half / (1.0 - half))


def joint_speeds(
    path: Path, lengths: Sequence[float], limits: Sequence[float], acceleration: float
) -> list[float]:
    """Return the speed at the start, at every joint and at the end of a path, rest to rest.

    Forwards no joint is reached faster than the acceleration allows, backwards none is left
    faster than the braking ahead allows.
    """
    speeds = [0.0]
    for (before, after), pair in zip(pairwise(path), pairwise(limits), strict=True):
        speeds.append(min(*pair, corner_speed(turn_between(before, after), acceleration)))
    speeds.append(0.0)
    for index, length in enumerate(lengths):
        reachable = math.sqrt(speeds[index] ** 2 + 2.0 * acceleration * length)
        speeds[index + 1] = min(speeds[index + 1], reachable)
    for index in range(len(lengths) - 1, -1, -1):
        brakeable = math.sqrt(speeds[index + 1] ** 2 + 2.0 * acceleration * lengths[index])
        speeds[index] = min(speeds[index], brakeable)
    return speeds


def ramp_seconds(
    length: float, before: float, after: float, limit: float, acceleration: float
) -> float:
    """Return the time over a length, entered at speed ``before`` and left at ``after``.

    It speeds up towards ``limit`` and brakes again; where the length is too short for that it
    peaks below, at ``v² = a L + (before² + after²) / 2``.
    """
    peak = math.sqrt(acceleration * length + (before**2 + after**2) / 2.0)
    if peak <= limit:
        return (2.0 * peak - before - after) / acceleration
    ramps = (2.0 * limit**2 - before**2 - after**2) / (2.0 * acceleration)
    return (2.0 * limit - before - after) / acceleration + (length - ramps) / limit
