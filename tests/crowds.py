"""Outlines of many edges that lie close beside each other; each is simple.

They are turned by half a radian, so that no axis keeps their edges apart.
"""

from __future__ import annotations

import math
from collections.abc import Callable

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
}
