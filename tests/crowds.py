"""Outlines of many edges that lie close beside each other; each is simple.

They are turned by half a radian, so that no axis keeps their edges apart.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable
from pathlib import Path

import ezdxf
import ezdxf.units

from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Point,
    Segment,
    moved_contour,
    polygon,
    reversed_contour,
)

Corners = list[tuple[float, float]]


def turned(corners: Corners, angle: float = 0.5) -> Corners:
    """Turn corners about the origin."""
    cos, sin = math.cos(angle), math.sin(angle)
    return [(cos * x - sin * y, sin * x + cos * y) for x, y in corners]


def zigzag(count: int, width: float = 200.0) -> Corners:
    """Return a strip with long teeth, pointed at both ends."""
    teeth = count - 3 - (count - 3) % 2
    pitch = width / teeth
    top = [(i * pitch, 100.0 if i % 2 else 20.0) for i in range(teeth + 1)]
    return turned([(0.0, 0.0), (width, 0.0), *reversed(top)])


def comb(count: int, width: float = 200.0) -> Corners:
    """Return a strip with long rectangular teeth, as wide as the gaps."""
    teeth = count // 4 - 1
    pitch = width / (teeth - 0.5)
    corners: Corners = []
    for left in (i * pitch for i in range(teeth)):
        right = left + 0.5 * pitch
        corners += [(left, 20.0), (left, 100.0), (right, 100.0), (right, 20.0)]
    return turned([(0.0, 0.0), (width, 0.0), *reversed(corners[1:-1])])


def star(count: int, inner: float = 10.0) -> Corners:
    """Return a star of pointed rays."""
    radii = (100.0, inner)
    steps = [(radii[i % 2], math.tau * i / count) for i in range(count - count % 2)]
    return [(r * math.cos(angle), r * math.sin(angle)) for r, angle in steps]


def spiral(count: int) -> Corners:
    """Return a spiral arm of which each turn has 100 edges, at most 1 mm from the next."""
    steps = count // 2
    turns = steps / 100.0
    out = [(10.0 + min(90.0, turns) * i / steps, math.tau * i / 100.0) for i in range(steps)]
    width = 0.5 * min(90.0, turns) / turns
    rim = [(r * math.cos(angle), r * math.sin(angle)) for r, angle in out]
    back = [((r - width) * math.cos(a), (r - width) * math.sin(a)) for r, a in reversed(out)]
    return back + rim


def beads(count: int) -> Corners:
    """Return a chain of beads, 3 mm high, that hang together by necks of 0.6 mm."""
    number = count // 10
    top: Corners = []
    for left in (4.0 * i for i in range(number)):
        top += [(left, 0.3), (left + 1.0, 0.3), (left + 1.5, 1.5), (left + 2.5, 1.5)]
        top.append((left + 3.0, 0.3))
    return turned([*((x, -y) for x, y in top), *reversed(top)])


def rough(count: int) -> Corners:
    """Return a star of rays each as long as chance has it."""
    chance = random.Random(1)
    steps = [(chance.uniform(10.0, 100.0), math.tau * i / count) for i in range(count)]
    return [(r * math.cos(angle), r * math.sin(angle)) for r, angle in steps]


def scribble(count: int) -> Corners:
    """Return corners anywhere: each edge crosses a third of all the others."""
    chance = random.Random(1)
    return [(chance.uniform(0.0, 200.0), chance.uniform(0.0, 200.0)) for _ in range(count)]


def frame(corners: Corners) -> Corners:
    """Return a rectangle around corners, 10 mm away."""
    (left, right), (low, high) = ((min(each), max(each)) for each in zip(*corners, strict=True))
    left, low, right, high = left - 10.0, low - 10.0, right + 10.0, high + 10.0
    return [(left, low), (right, low), (right, high), (left, high)]


def holes(count: int) -> list[Corners]:
    """Return a square of 60 mm and turned square holes all over it, that nearly touch."""
    side = math.isqrt(count // 4)
    pitch = 60.0 / side
    found: list[Corners] = []
    for number in range(side * side):
        x, y = (pitch * (each + 0.5) for each in divmod(number, side))
        angles = (math.tau * (corner + 0.3) / 4.0 for corner in range(4))
        found.append(
            [(x + 0.49 * pitch * math.cos(a), y + 0.49 * pitch * math.sin(a)) for a in angles]
        )
    return [frame([(0.0, 0.0), (60.0, 60.0)]), *found]


def svg(paths: Iterable[Corners]) -> str:
    """Return outlines as an SVG drawing, 1 unit = 1 mm, y up."""
    data = " ".join(
        "M" + " L".join(f"{x:.6f},{-y:.6f}" for x, y in corners) + " Z" for corners in paths
    )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="8000mm" height="8000mm"'
        f' viewBox="-4000 -4000 8000 8000"><path fill="none" stroke="black" d="{data}"/></svg>'
    )


def write_dxf(paths: Iterable[Corners], file: Path) -> None:
    """Write outlines as a DXF drawing in mm."""
    drawing = ezdxf.new(units=ezdxf.units.MM)
    for corners in paths:
        drawing.modelspace().add_lwpolyline(corners, close=True)
    drawing.saveas(file)


SHAPES: dict[str, Callable[[int], Corners]] = {
    "zigzag": zigzag,
    "comb": comb,
    "star": star,
    "spiral": spiral,
}


def fingers(count: int, width: float = 200.0) -> Contour:
    """Return a strip with long fingers, round at both ends."""
    number = count // 4
    radius = width / (4 * number - 2)
    path: list[Segment] = []
    for left in (4.0 * radius * i for i in range(number)):
        right = left + 2.0 * radius
        path += [
            Line(Point(left, 20.0), Point(left, 100.0)),
            Arc(Point(left + radius, 100.0), radius, math.pi, -math.pi),
            Line(Point(right, 100.0), Point(right, 20.0)),
            Arc(Point(right + radius, 20.0), radius, math.pi, math.pi),
        ]
    path.pop()
    path.append(Line(path[-1].end, Point(width, 0.0)))
    path += [Line(Point(width, 0.0), Point(0.0, 0.0)), Line(Point(0.0, 0.0), Point(0.0, 20.0))]
    return moved_contour(reversed_contour(Contour(tuple(path))), 0.5, 0.0, 0.0)


OUTLINES: dict[str, Callable[[int], Contour]] = {
    "zigzag": lambda count: polygon(zigzag(count)),
    "comb": lambda count: polygon(comb(count)),
    "star": lambda count: polygon(star(count)),
    "spiral": lambda count: polygon(spiral(count)),
    "fingers": fingers,
    "beads": lambda count: polygon(beads(count)),
    "rough": lambda count: polygon(rough(count)),
}
