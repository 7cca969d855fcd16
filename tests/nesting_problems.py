"""Small nesting problems for tests: shapes of the workshop, and random ones of every kind."""

from __future__ import annotations

import math
import random

from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Point,
    Region,
    circle,
    polygon,
    rectangle,
)
from jobprep.nesting.nest import Item, Sheet, Spacing

ORIGIN = Point(0.0, 0.0)
L_SHAPE = Region(polygon([(0, 0), (210, 0), (210, 180), (90, 180), (90, 297), (0, 297)]))


def sector(outer: float, inner: float, degrees: float) -> Region:
    """Return an annular sector about the origin, from +x anticlockwise."""
    sweep = math.radians(degrees)
    a, b = Arc(ORIGIN, outer, 0.0, sweep), Arc(ORIGIN, inner, sweep, -sweep)
    return Region(Contour((a, Line(a.end, b.start), b, Line(b.end, a.start))))


def ring(outer: float, inner: float) -> Region:
    """Return a ring about the origin."""
    return Region(circle(ORIGIN, outer), (circle(ORIGIN, inner, clockwise=True),))


def random_problem(seed: int) -> tuple[list[Item], list[Sheet], Spacing]:
    """Return a random problem: all shapes, all rules of rotation, all kinds of sheet."""
    draw = random.Random(seed)
    items = [
        Item(
            region=_random_region(draw),
            quantity=draw.randint(1, 8),
            rotation_step=draw.choice([None, None, math.tau, math.pi, math.pi / 2, math.tau / 7]),
        )
        for _ in range(draw.randint(1, 5))
    ]
    sheets = []
    if draw.random() < 0.6:
        sheets.append(Sheet(region=L_SHAPE, leftover=True))
    if draw.random() < 0.4:
        where = Point(draw.uniform(30.0, 70.0), draw.uniform(40.0, 80.0))
        defect = circle(where, draw.uniform(0.5, 20.0), clockwise=True)
        sheet = Region(circle(Point(50.0, 60.0), 80.0), (defect,))
        sheets.append(Sheet(region=sheet, leftover=True))
    if draw.random() < 0.3:
        sheets.append(Sheet(region=Region(polygon([(0, 0), (200, 0), (100, 150)])), leftover=True))
    if draw.random() < 0.8 or not sheets:
        size = draw.uniform(120, 300), draw.uniform(120, 300)
        count = draw.choice([None, 1, 2])
        sheets.append(Sheet(region=Region(rectangle(*size)), count=count, cost=1.0))
    return (
        items,
        sheets,
        Spacing(gap=draw.choice([0.0, 0.3, 1.2, 3.0]), edge=draw.choice([0, 0.2, 2, 5])),
    )


def _random_region(draw: random.Random) -> Region:
    kind = draw.randrange(5)
    if kind == 0:
        return sector(draw.uniform(15, 60), draw.uniform(3, 12), draw.uniform(20, 300))
    if kind == 1:
        outer = draw.uniform(15, 50)
        return ring(outer, outer * draw.uniform(0.2, 0.85))
    if kind == 2:
        centre = Point(draw.uniform(-20, 20), draw.uniform(-20, 20))
        return Region(circle(centre, draw.uniform(4, 30)))
    if kind == 3:
        return Region(rectangle(draw.uniform(5, 60), draw.uniform(5, 40)))
    notch = draw.uniform(8, 40), draw.uniform(10, 30)
    return Region(polygon([(0, 0), (50, 0), (50, 10), notch, (12, 50), (0, 50)]))
