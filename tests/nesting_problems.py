"""Small nesting problems for tests: shapes of the workshop, and random ones of every kind.

``random_problem`` is what the first tests grew up with; ``varied_problem`` knows many more kinds of
sheet and part, and is made to be quick, so that thousands can be proven.
"""

from __future__ import annotations

import math
import random
from itertools import pairwise

from jobprep.geometry.distance import clearance
from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Point,
    Region,
    circle,
    moved_contour,
    moved_region,
    polygon,
    rectangle,
    reversed_contour,
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


def varied_problem(seed: int) -> tuple[list[Item], list[Sheet], Spacing]:
    """Return a random problem: all kinds of sheet and part, prices, counts, rules of rotation."""
    draw = random.Random(seed)
    turned = draw.choice([None, math.tau, math.pi, math.pi / 2, math.tau / 5, math.tau / 24])
    items = [
        Item(
            region=_moved_off(draw, _varied_region(draw)),
            quantity=draw.choice([1, 1, 2, 3, 5, 9]),
            # Mostly free: sums of parts turned in steps take long to make.
            rotation_step=turned if draw.random() < 0.4 else draw.choice([None, None, math.tau]),
        )
        for _ in range(draw.randint(1, 4))
    ]
    sheets = [_varied_sheet(draw) for _ in range(draw.choice([1, 1, 2, 3]))]
    spacing = Spacing(
        gap=draw.choice([0.0, 0.05, 0.3, 1.2, draw.uniform(0.0, 4.0)]),
        edge=draw.choice([0.0, 0.1, 2.0, 5.0, draw.uniform(0.0, 8.0)]),
    )
    return items, sheets, spacing


def _moved_off(draw: random.Random, region: Region) -> Region:
    """Shift and turn a region, so that its origin lies anywhere."""
    if draw.random() < 0.5:
        return region
    turn = draw.choice([0.0, draw.uniform(0.0, math.tau)])
    return moved_region(region, turn, draw.uniform(-90, 90), draw.uniform(-90, 90))


def _varied_region(draw: random.Random) -> Region:
    """Return a part: those of ``random_problem``, and slim, tiny, toothed and framed ones."""
    kind = draw.randrange(9)
    if kind < 5:
        return _random_region(draw)
    if kind == 5:
        return Region(rectangle(draw.uniform(60, 140), draw.uniform(2, 6)))
    if kind == 6:
        return Region(circle(ORIGIN, draw.uniform(0.6, 3.0)))
    if kind == 7:
        deep = draw.uniform(5, 35)
        teeth = [(8.0 * k, deep if k % 2 else 0.0) for k in range(1, 8)]
        return Region(polygon([(0, 0), *teeth, (64, 0), (64, 45), (0, 45)]))
    wide, high = draw.uniform(30, 90), draw.uniform(30, 70)
    hole = moved_contour(rectangle(wide - 12, high - 12), 0.0, 6.0, 6.0)
    return Region(rectangle(wide, high), (reversed_contour(hole),))


def _varied_sheet(draw: random.Random) -> Sheet:
    wide, high = draw.uniform(60, 320), draw.uniform(60, 320)
    return Sheet(
        region=_with_defects(draw, _sheet_outline(draw, wide, high), wide, high),
        count=draw.choice([1, 1, 2, 3, None]),
        cost=draw.choice([0.0, 1.0, draw.uniform(0.5, 9.0)]),
        leftover=draw.random() < 0.4,
    )


def _sheet_outline(draw: random.Random, wide: float, high: float) -> Contour:
    """Return a rectangle, a notched leftover, a slope, a round one, or one with a bite."""
    kind = draw.randrange(6)
    x, y = draw.uniform(0.2, 0.8) * wide, draw.uniform(0.2, 0.8) * high
    if kind == 2:
        return polygon([(0, 0), (wide, 0), (wide, y), (x, y), (x, high), (0, high)])
    if kind == 3:
        return polygon([(0, 0), (wide, 0), (x, high)])
    if kind == 4:
        return circle(Point(wide / 2.0, wide / 2.0), wide / 2.0)
    if kind == 5:
        radius = 0.3 * min(wide, high)
        bite = Arc(Point(x, high), radius, 0.0, -math.pi)
        if radius < x < wide - radius:
            path = [Point(0, high), Point(0, 0), Point(wide, 0), Point(wide, high), bite.start]
            lines = tuple(Line(a, b) for a, b in pairwise(path))
            return Contour((*lines, bite, Line(bite.end, path[0])))
    return rectangle(wide, high)


def _with_defects(draw: random.Random, outline: Contour, wide: float, high: float) -> Region:
    """Cut up to three holes into a sheet, none near another or the edge."""
    holes: list[Contour] = []
    for _ in range(draw.choice([0, 0, 0, 1, 3])):
        where = Point(draw.uniform(0.1, 0.9) * wide, draw.uniform(0.1, 0.9) * high)
        size = draw.choice([0.3, draw.uniform(0.5, 25.0)])
        hole = circle(where, size, clockwise=True)
        if draw.random() < 0.5:
            hole = moved_contour(rectangle(size, 1.5 * size), draw.random(), *where)
            hole = reversed_contour(hole)
        whole = Region(outline, tuple(holes))
        if clearance(Region(reversed_contour(hole)), whole) > 0.1:
            holes.append(hole)
    return Region(outline, tuple(holes))


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
