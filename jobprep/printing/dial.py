"""The dial round a disc: ticks, degrees and the zero; degrees clockwise from 12 o'clock."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator

from jobprep.disc.features import polar
from jobprep.geometry.outline import Line, Path, Point
from jobprep.printing.page import HAIRLINE, THIN, Area, Ink, Lines, Text
from jobprep.units import TURN, from_dial, number, to_dial

REACH, JOINT_REACH = 12.0, 18.5
"""How far beyond the rim the dial reaches without and with the angles of joints, mm."""
TICK, LONG_TICK = 2.0, 3.5
FIRST = 1.0
"""Where the ticks begin, mm beyond the rim."""
NUMBERS = 7.0
"""Where the middles of the degrees stand, mm beyond the rim."""
JOINTS = 10.0
"""How far a joint line runs on beyond the rim, mm; its angle stands further out."""
JOINT_WORDS = 13.5
NUMBER_SIZE, JOINT_SIZE = 3.0, 3.2
CAPITALS = 0.72
"""Height of a figure against the size of its letters (Helvetica, from memory)."""
CLOSE = 4.5
"""Degrees nearer to a joint line than this, mm, are left out: the line would run through them."""
LEAST_APART = 7.0
"""Angles of joints stand at least so far apart, mm; those between are left unwritten."""


def dial(rim: float, joints: Collection[float]) -> Iterator[Ink]:
    """Yield the dial outside a rim of this radius, and each joint's line and angle.

    ``joints`` are directions, radians.
    """
    yield Lines(paths=tuple(_ticks(rim)), width=HAIRLINE)
    zero = rim + FIRST
    point = ((0.0, zero), (-1.6, zero + 3.6), (1.6, zero + 3.6))
    corners = [Point(*each) for each in point]
    triangle = tuple(Line(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True))
    yield Area(paths=(triangle,))
    for degrees in range(0, 360, 30):
        direction = from_dial(degrees)
        if all(rim * _between(direction, each) > CLOSE for each in joints):
            yield upright(f"{degrees}°", rim + NUMBERS, direction, NUMBER_SIZE)
    lines = [(Line(polar(rim, each), polar(rim + JOINTS, each)),) for each in joints]
    if lines:
        yield Lines(paths=tuple(lines), width=THIN)
    written: list[float] = []
    for each in joints:
        if all((rim + JOINT_WORDS) * _between(each, other) > LEAST_APART for other in written):
            written.append(each)
            words = f"{number(to_dial(each), 2)}°"
            yield upright(words, rim + JOINT_WORDS, each, JOINT_SIZE)


def upright(text: str, radius: float, direction: float, size: float) -> Text:
    """Return an upright text whose middle is at a radius and direction."""
    x, y = polar(radius, direction)
    at = Point(x, y - CAPITALS * size / 2.0)
    return Text(text=text, at=at, size=size, anchor="middle")


def _ticks(rim: float) -> Iterator[Path]:
    for degrees in range(0, 360, 5):
        length = LONG_TICK if degrees % 30 == 0 else TICK if degrees % 10 == 0 else TICK / 2.0
        direction = from_dial(degrees)
        start, end = polar(rim + FIRST, direction), polar(rim + FIRST + length, direction)
        yield (Line(start, end),)


def _between(first: float, second: float) -> float:
    """Return the angle between two directions."""
    turned = math.fmod(abs(first - second), TURN)
    return min(turned, TURN - turned)
