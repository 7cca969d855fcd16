"""The outlines of pictures: SVG path data as short as it shows, and where a part was moved to.

Each point is told from the one before, rounded so that no error adds up. What differs from the true
outline by less than the last decimal is told more shortly: an arc that is almost straight as a
line, a step of no length not at all. So is what SVG understands without: the line that closes a
contour, a command like the one before.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from jobprep.drawing.arcs import split_arc
from jobprep.geometry.outline import Arc, Contour, Line, Point, Region, Segment
from jobprep.units import TURN, number, to_degrees

DECIMALS = 2
"""Of a coordinate, mm: finer than any screen or printer shows a sheet."""
MANY = 4000
"""A picture with more segments than this is told to one decimal less: its page stays light, and
what is so fine is not seen at the size of a page."""
LONGEST = TURN / 3.0
"""Arcs are told in pieces no longer than this, so that the shorter way round is meant."""

_NOUGHT = re.compile(r"^(-?)0\.")
_SPACE = re.compile(r" (?=-)|(?<=\.\d) (?=\.)|(?<=\.\d\d) (?=\.)")


class Moved(NamedTuple):
    """Where something lies: turned by ``angle`` about its origin, then shifted to ``(x, y)``."""

    angle: float
    x: float
    y: float


def decimals_for(regions: Iterable[Region]) -> int:
    """Return how many decimals some regions are told to in one picture."""
    count = sum(len(contour.segments) for each in regions for contour in each.contours)
    return DECIMALS if count <= MANY else DECIMALS - 1


def region_data(region: Region, height: float = 0.0, decimals: int = DECIMALS) -> str:
    """Return the path data of a region, y down on a picture of this height."""
    return "".join(_contour_data(region.contours, height, decimals))


def _contour_data(contours: Iterable[Contour], height: float, decimals: int) -> Iterator[str]:
    unit = 10**decimals
    here = (0, 0)

    def grid(point: Point) -> tuple[int, int]:
        return round(point.x * unit), round((height - point.y) * unit)

    def step(to: tuple[int, int]) -> list[str]:
        return [number((new - old) / unit, decimals) for new, old in zip(to, here, strict=True)]

    for contour in contours:
        start = grid(contour.segments[0].start)
        commands = [("m", step(start))]
        here = start
        pieces = list(_pieces(contour))
        for piece in pieces:
            end = grid(piece.end)
            if end == here:
                continue
            if isinstance(piece, Arc) and _rise(piece) >= 0.5 / unit:
                # Anticlockwise with y up is anticlockwise on the screen too: SVG's flag 0.
                radius = number(piece.radius, decimals)
                shape = [radius, radius, "0", "0", str(int(piece.sweep < 0.0))]
                commands.append(("a", shape + step(end)))
            elif piece is pieces[-1]:
                continue
            elif commands[-1][0] in "ml":
                commands[-1][1].extend(step(end))
            else:
                commands.append(("l", step(end)))
            here = end
        here = start
        yield "".join(command + _joined(numbers) for command, numbers in commands) + "z"


def where_moved(region: Region, to: Region) -> Moved | None:
    """Return how a region was moved to become another, None if it is not the same region moved."""
    first, second = region.outer.segments[0], to.outer.segments[0]
    same = [len(contour.segments) for contour in region.contours] == [
        len(contour.segments) for contour in to.contours
    ]
    if not same or type(first) is not type(second):
        return None
    angle = _direction(second) - _direction(first)
    cos, sin = math.cos(angle), math.sin(angle)
    (x, y), (u, v) = first.start, second.start
    return Moved(angle, u - cos * x + sin * y, v - sin * x - cos * y)


def transform(moved: Moved, height: float) -> str:
    """Return the SVG transform that moves a region's data to a picture of this height."""
    shift = f"{number(moved.x, 3)} {number(height - moved.y, 3)}"
    degrees = number(-math.remainder(to_degrees(moved.angle), 360.0), 4)
    return f"translate({shift})" + (f"rotate({degrees})" if degrees != "0" else "")


def _pieces(contour: Contour) -> Iterator[Segment]:
    for segment in contour.segments:
        if isinstance(segment, Arc):
            yield from split_arc(segment, LONGEST)
        else:
            yield segment


def _rise(arc: Arc) -> float:
    """Return how far an arc leaves its chord."""
    return arc.radius * (1.0 - math.cos(arc.sweep / 2.0))


def _direction(segment: Segment) -> float:
    if isinstance(segment, Line):
        (x0, y0), (x1, y1) = segment
        return math.atan2(y1 - y0, x1 - x0)
    return segment.start_angle


def _joined(numbers: Iterable[str]) -> str:
    """Return numbers in a row, without a nought or a space that SVG can do without."""
    return _SPACE.sub("", " ".join(_NOUGHT.sub(r"\1.", each) for each in numbers))
