"""The dial round a disc: ticks, degrees and the zero; degrees clockwise from 12 o'clock.

Its figures stand on circles, so that it takes little room beside the disc; in the lower half they
stand on their heads, to be read without turning the page.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator

from jobprep.drawing.drawing import Element, Fill, Stroke, Text
from jobprep.geometry.outline import Line, Path, Point
from jobprep.geometry.shapes import polar
from jobprep.printing.page import HAIRLINE, THIN
from jobprep.units import TURN, from_dial, number, to_dial

REACH, JOINT_REACH = 8.0, 12.0
"""How far beyond the rim the dial reaches without and with the angles of joints, mm."""
TICK, LONG_TICK = 2.0, 3.5
FIRST = 1.0
"""Where the ticks begin, mm beyond the rim."""
NUMBERS = 6.3
"""Where the middles of the degrees stand, mm beyond the rim."""
JOINTS = 8.0
"""How far a joint line runs on beyond the rim, mm; its angle stands further out."""
JOINT_WORDS = 10.0
NUMBER_SIZE, JOINT_SIZE = 3.0, 3.2
CAPITALS = 0.72
"""Height of a figure against the size of its letters (Helvetica, from memory)."""
WIDTH = 0.56
"""Width of a figure against the size of its letters (Helvetica, from memory)."""
CLOSE = 4.5
"""Degrees nearer to a joint line than this, mm, are left out: the line would run through them."""
LEAST_APART = 1.5
"""So much is left between the angles of joints, mm; those that have no room are left unwritten."""


def dial(rim: float, joints: Collection[float]) -> Iterator[Element]:
    """Yield the dial outside a rim of this radius, and each joint's line and angle.

    ``joints`` are directions, radians.
    """
    yield Stroke(paths=tuple(_ticks(rim)), pen=HAIRLINE)
    zero = rim + FIRST
    point = ((0.0, zero), (-1.6, zero + 3.6), (1.6, zero + 3.6))
    corners = [Point(*each) for each in point]
    triangle = tuple(Line(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True))
    yield Fill(paths=(triangle,))
    for degrees in range(0, 360, 30):
        direction = from_dial(degrees)
        if all(rim * _between(direction, each) > CLOSE for each in joints):
            yield _on_circle(f"{degrees}°", rim + NUMBERS, direction, NUMBER_SIZE)
    lines = [(Line(polar(rim, each), polar(rim + JOINTS, each)),) for each in joints]
    if lines:
        yield Stroke(paths=tuple(lines), pen=THIN)
    written: list[tuple[float, float]] = []
    for each in joints:
        words = f"{number(to_dial(each), 2)}°"
        half = WIDTH * JOINT_SIZE * len(words) / 2.0
        if all(
            (rim + JOINT_WORDS) * _between(each, other) > half + other_half + LEAST_APART
            for other, other_half in written
        ):
            written.append((each, half))
            yield _on_circle(words, rim + JOINT_WORDS, each, JOINT_SIZE)


def _on_circle(text: str, radius: float, direction: float, size: float) -> Text:
    """Return a text whose middle is at a radius and direction, its foot along the circle."""
    is_below = math.sin(direction) < -1e-9
    turn = direction - TURN / 4.0 + (TURN / 2.0 if is_below else 0.0)
    drop = CAPITALS * size / 2.0 * (-1.0 if is_below else 1.0)
    x, y = polar(radius - drop, direction)
    return Text(text=text, at=Point(x, y), size=size, turn=turn, anchor="middle")


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
