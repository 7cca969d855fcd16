"""What is written on a paper pattern so that a trial disc can be put together: ticks and angles.

All of it lies inside the outline, where it is left when the pattern is cut out; what finds no room
is left out. Angles are degrees of the dial, clockwise from 12 o'clock.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from jobprep.disc.pieces import goes_through
from jobprep.drawing.drawing import Element, Stroke, Text
from jobprep.geometry.measure import contains
from jobprep.geometry.outline import Line, Point, Region
from jobprep.geometry.shapes import polar
from jobprep.model.design import Design, Hole, Layer
from jobprep.printing.dial import CAPITALS
from jobprep.printing.letters import printable
from jobprep.printing.page import HAIRLINE
from jobprep.units import TURN, from_dial, number, to_dial

SIZE = 2.6
AWAY = 0.8
"""From what a text belongs to, and from every edge, mm."""
TICK = 3.0
"""How far a tick runs in from the rim, mm."""
LETTER = 0.58
"""Mean width of a letter against its size, a little much (Helvetica's figures: from memory)."""
QUARTERS = (0, 90, 180, 270)
"""Where a whole layer is marked; dial degrees."""


class _Box(NamedTuple):
    """A box about ``middle``, ``width`` along ``turn`` and ``height`` across, mm."""

    middle: Point
    width: float
    height: float
    turn: float

    def at(self, along: float, across: float) -> Point:
        """Return a point of it, both shares from -1 to 1."""
        c, s = math.cos(self.turn), math.sin(self.turn)
        x, y = along * self.width / 2.0, across * self.height / 2.0
        return Point(self.middle.x + c * x - s * y, self.middle.y + s * x + c * y)

    def points(self) -> Iterator[Point]:
        """Yield points all over it."""
        for along in (-1.0, -0.5, 0.0, 0.5, 1.0):
            for across in (-1.0, 0.0, 1.0):
                yield self.at(along, across)

    def holds(self, point: Point) -> bool:
        """Whether a point lies in it."""
        c, s = math.cos(self.turn), math.sin(self.turn)
        x, y = point.x - self.middle.x, point.y - self.middle.y
        is_along = abs(c * x + s * y) <= self.width / 2.0
        return is_along and abs(c * y - s * x) <= self.height / 2.0


class _Wanted(NamedTuple):
    """Words along a direction: ``end`` is where they end nearest to the rim, or begin if outward.

    ``aside`` is how far their middle line lies beside the direction, anticlockwise, mm; upright
    words lie across the page whatever their direction.
    """

    words: str
    direction: float
    end: float
    is_outward: bool = False
    is_upright: bool = False
    aside: float = 0.0


def sector_span(layer: Layer, sector: int) -> tuple[float, float]:
    """Return the directions of a sector's leading and trailing joint; it is counted from 1."""
    leading = layer.start - math.fsum(each.angle for each in layer.sectors[: sector - 1])
    return leading, leading - layer.sectors[sector - 1].angle


def pattern_marks(design: Design, layer: Layer, sector: int, region: Region) -> Iterator[Element]:
    """Yield the ticks and angles of a piece whose region lies in its place in the disc."""
    rim = layer.outer_diameter / 2.0
    holes = [
        hole
        for hole in design.holes
        if goes_through(hole.layers, layer) and hole.radius - hole.diameter / 2.0 < rim
    ]
    directions = [hole.direction for hole in holes]
    wanted = [each for hole in holes for each in _hole(hole)]
    if len(layer.sectors) > 1:
        leading, trailing = sector_span(layer, sector)
        directions += [leading, trailing]
        aside = max(layer.joint_gap, 0.0) / 2.0 + AWAY + CAPITALS * SIZE / 2.0
        end = rim - AWAY
        wanted.append(_Wanted(angle_words(leading), leading, end, aside=-aside))
        wanted.append(_Wanted(angle_words(trailing), trailing, end, aside=aside))
    else:
        quarters = [from_dial(degrees) for degrees in QUARTERS]
        directions += quarters
        end = rim - TICK - AWAY
        wanted += [_Wanted(angle_words(each), each, end, is_upright=True) for each in quarters]
    depths = (0.1 * TICK, 0.5 * TICK, TICK)
    inside = tuple(
        (Line(polar(rim, each), polar(rim - TICK, each)),)
        for each in directions
        if all(contains(region, polar(rim - depth, each)) for depth in depths)
    )
    if inside:
        yield Stroke(paths=inside, pen=HAIRLINE)
    yield from _written(wanted, region)


def angle_words(direction: float) -> str:
    """Return a direction as the dial has it."""
    return f"{number(round(to_dial(direction), 2) % 360.0, 2)}°"


def _hole(hole: Hole) -> Iterator[_Wanted]:
    """Yield where a hole's name may stand: towards the centre, else towards the rim."""
    words = f"{printable(hole.name, 'hole')} {angle_words(hole.direction)}"
    reach = hole.diameter / 2.0 + AWAY
    yield _Wanted(words, hole.direction, hole.radius - reach)
    yield _Wanted(words, hole.direction, hole.radius + reach, is_outward=True)


def _written(wanted: list[_Wanted], region: Region) -> Iterator[Text]:
    """Yield the words that find room, each only once."""
    boxes: list[_Box] = []
    said: set[tuple[str, float]] = set()
    for each in wanted:
        box = _box(each)
        is_free = not any(other.holds(point) for other in boxes for point in box.points())
        key = (each.words, each.direction)
        if key not in said and is_free and all(contains(region, at) for at in box.points()):
            said.add(key)
            boxes.append(box)
            foot = box.at(0.0, -CAPITALS * SIZE / box.height)
            yield Text(text=each.words, at=foot, size=SIZE, turn=box.turn, anchor="middle")


def _box(wanted: _Wanted) -> _Box:
    """Return the room that words take; they read from the left, however they lie."""
    width, height = LETTER * SIZE * len(wanted.words), CAPITALS * SIZE + AWAY
    length = width
    if wanted.is_upright:
        across, up = math.cos(wanted.direction), math.sin(wanted.direction)
        length = abs(across) * width + abs(up) * height
    middle = polar(wanted.end + (0.5 if wanted.is_outward else -0.5) * length, wanted.direction)
    x = middle.x - wanted.aside * math.sin(wanted.direction)
    y = middle.y + wanted.aside * math.cos(wanted.direction)
    is_left = math.cos(wanted.direction) < -1e-9
    along = math.remainder(wanted.direction + (math.pi if is_left else 0.0), TURN)
    return _Box(Point(x, y), width, height, 0.0 if wanted.is_upright else along)
