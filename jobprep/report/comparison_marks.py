"""Symbols for verdicts, and where on a disc they stand."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from jobprep.comparing.verdict import JudgedLine, Verdict, worst
from jobprep.drawing.drawing import Element, Fill, Group, Pen, Stroke, Text, straight
from jobprep.geometry.affine import shift
from jobprep.geometry.outline import Path, Point, circle
from jobprep.report.diagram import FONT, RADIUS
from jobprep.units import TURN, spans

MOST_LISTED, MOST_MARKED = 60, 24
"""Lines that are listed, those that do not pass first; places that are marked on the discs: where
there are more, those that pass go unmarked."""

COLOURS: Mapping[Verdict, str] = {
    "pass": "#009E73",
    "look": "#0072B2",
    "fail": "#D55E00",
    "cannot tell": "#5b6670",
}
"""Okabe and Ito's palette (2008); the symbols differ by shape too."""

SYMBOL = 5.0
"""Radius of a symbol."""
RIM = Pen(3.0, "#ffffff", join="round")


class VerdictMark(NamedTuple):
    """Lines that lie in one place of the design: radius in the picture, and a direction."""

    numbers: tuple[int, ...]
    verdict: Verdict
    radius: float
    direction: float


def listed(lines: Sequence[JudgedLine]) -> list[JudgedLine]:
    """Return the lines that are shown, in their order."""
    if len(lines) <= MOST_LISTED:
        return list(lines)
    order = sorted(range(len(lines)), key=lambda k: (_rank(lines[k].verdict), k))
    return [lines[k] for k in sorted(order[:MOST_LISTED])]


def _rank(verdict: Verdict) -> int:
    return ("fail", "look", "cannot tell", "pass").index(verdict)


def marks_of(lines: Sequence[JudgedLine], scale: float) -> tuple[VerdictMark, ...]:
    """Return each place once with the numbers of its lines, circles where there is most room."""
    taken = [line.direction for line in lines if line.direction is not None]
    places: dict[tuple[float, float], list[int]] = {}
    circles = 0
    for number, line in enumerate(lines, start=1):
        if line.radius is None:
            continue
        direction = line.direction
        if direction is None:
            direction = _free(taken, circles)
            circles += 1
        places.setdefault((line.radius * scale, direction), []).append(number)
    found = [
        VerdictMark(tuple(numbers), worst(lines[n - 1].verdict for n in numbers), *place)
        for place, numbers in places.items()
    ]
    return tuple(sorted(found, key=lambda mark: _rank(mark.verdict)))


def is_crowded(marks: Sequence[VerdictMark]) -> bool:
    """Whether there are too many places to mark those that pass."""
    return len(marks) > MOST_MARKED


def thinned(marks: Sequence[VerdictMark]) -> tuple[VerdictMark, ...]:
    """Return the marks that there is room for."""
    if not is_crowded(marks):
        return tuple(marks)
    return tuple(mark for mark in marks if mark.verdict != "pass")[:MOST_MARKED]


def _free(taken: Iterable[float], rank: int) -> float:
    """Return a direction far from others: the best, the next best for the second, and so on."""
    directions = [k * TURN / 36.0 for k in range(36)]
    known = list(taken)

    def room(direction: float) -> float:
        return min((abs(math.remainder(direction - each, TURN)) for each in known), default=TURN)

    found = 0.0
    for _ in range(rank + 1):
        found = max(directions, key=room)
        known.append(found)
    return found


def point_on(direction: float, radius: float, is_mirrored: bool) -> Point:
    """Return the point of a direction, left and right exchanged on a mirrored copy."""
    way = -1.0 if is_mirrored else 1.0
    return Point(way * radius * math.cos(direction), radius * math.sin(direction))


def mark_elements(mark: VerdictMark, is_mirrored: bool) -> Iterator[Element]:
    """Yield the symbol of a place and the numbers of its lines."""
    x, y = point_on(mark.direction, mark.radius, is_mirrored)
    yield from symbol(mark.verdict, x, y)
    # Towards the middle, so that no number lies on a hole; near the middle always below.
    is_low = y < -0.5 * RADIUS
    at = Point(x, y + SYMBOL + 0.2 * FONT if is_low else y - SYMBOL - 0.75 * FONT)
    yield Text(
        text=spans(mark.numbers),
        at=at,
        size=0.8 * FONT,
        anchor="middle",
        colour="#000000",
        is_bold=True,
        rim=RIM,
    )


def symbol(verdict: Verdict, x: float, y: float) -> Iterator[Element]:
    """Yield a tick, a cross, a question mark or a bar in a white circle."""
    colour, half = COLOURS[verdict], 0.5 * SYMBOL
    yield Fill(
        paths=(circle(Point(x, y), SYMBOL).segments,), colour="#ffffff", pen=Pen(0.9, colour)
    )
    strokes: dict[Verdict, tuple[Path, ...]] = {
        "pass": (straight((-half, 0.0), (-0.2 * half, -0.8 * half), (half, 0.9 * half)),),
        "fail": (straight((-half, -half), (half, half)), straight((-half, half), (half, -half))),
        "cannot tell": (straight((-half, 0.0), (half, 0.0)),),
    }
    if verdict in strokes:
        pen = Pen(1.6, colour, cap="round", join="round")
        yield Group(elements=(Stroke(paths=strokes[verdict], pen=pen),), place=shift(x, y))
        return
    foot = Point(x, y - 0.36 * 1.7 * SYMBOL)
    yield Text(text="?", at=foot, size=1.7 * SYMBOL, anchor="middle", colour=colour, is_bold=True)
