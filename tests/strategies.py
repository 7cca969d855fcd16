"""Random shapes that are small, valid and shrink well.

Lengths are drawn from a coarse grid as often as freely, so that edges, circles and corners that
coincide or touch come up all the time instead of never.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from hypothesis import strategies as st
from oracles import is_simple

from jobprep.geometry.boolean import difference
from jobprep.geometry.measure import area, signed_area
from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Point,
    Region,
    Segment,
    circle,
    moved_region,
    polygon,
    rectangle,
    reversed_contour,
)
from jobprep.geometry.shapes import annular_sector, ring, rounded_rectangle, slot_arc

SIZE = 10.0


def lengths(least: float = 0.5, most: float = SIZE) -> st.SearchStrategy[float]:
    """Draw a length, mm, on a grid of half millimetres or anywhere."""
    on_grid = st.integers(math.ceil(2 * least), math.floor(2 * most)).map(lambda n: n / 2)
    return on_grid | st.floats(least, most)


def angles() -> st.SearchStrategy[float]:
    """Draw a direction, a multiple of 15 degrees or any."""
    return st.integers(0, 23).map(lambda n: n * math.pi / 12) | st.floats(0.0, math.tau)


def points(most: float = SIZE) -> st.SearchStrategy[Point]:
    """Draw a point near the origin."""
    axis = st.integers(-math.floor(2 * most), math.floor(2 * most)).map(lambda n: n / 2)
    free = st.floats(-most, most)
    return st.builds(Point, axis, axis) | st.builds(Point, free, free)


def lines() -> st.SearchStrategy[Line]:
    """Draw a line of at least a tenth of a millimetre."""
    return st.builds(Line, points(), points()).filter(lambda line: math.dist(*line) > 0.1)


def sweeps() -> st.SearchStrategy[float]:
    """Draw a sweep of either sign, up to a whole turn."""
    size = st.floats(0.05, math.tau) | st.sampled_from((math.pi / 2, math.pi, math.tau))
    return st.builds(math.copysign, size, st.sampled_from((1.0, -1.0)))


def arcs() -> st.SearchStrategy[Arc]:
    """Draw an arc of either direction, now and then a whole circle."""
    return st.builds(Arc, points(), lengths(), angles(), sweeps())


def segments() -> st.SearchStrategy[Segment]:
    """Draw a line or an arc."""
    return lines() | arcs()


def discs() -> st.SearchStrategy[Region]:
    """Draw a disc about the origin."""
    return lengths().map(lambda radius: Region(circle(Point(0.0, 0.0), radius)))


def rings() -> st.SearchStrategy[Region]:
    """Draw a ring about the origin."""
    return st.builds(lambda inner, width: ring(inner, inner + width), lengths(), lengths())


def sectors() -> st.SearchStrategy[Region]:
    """Draw an annular sector, its sides shifted now and then."""
    sweep = st.integers(1, 23).map(lambda n: n * math.pi / 12) | st.floats(0.2, 6.0)
    shift = st.sampled_from((0.0, 0.0, 0.05, -0.05))
    return st.builds(
        lambda inner, width, start, sweep, shift: annular_sector(
            inner, inner + width, start, sweep, (shift, shift)
        ),
        lengths(1.0),
        lengths(),
        angles(),
        sweep,
        shift,
    )


def slots() -> st.SearchStrategy[Region]:
    """Draw a slot along a circle."""
    return st.builds(slot_arc, lengths(2.0), angles(), lengths(1.0, 6.0), st.just(1.0))


def rectangles() -> st.SearchStrategy[Region]:
    """Draw a rectangle with sharp or round corners."""
    sharp = st.builds(rectangle, lengths(), lengths()).map(Region)
    return sharp | st.builds(
        rounded_rectangle, lengths(1.0), lengths(1.0), st.sampled_from((0.25, 0.5))
    )


def bulged(corners: Sequence[Point], bulges: Sequence[float]) -> Contour:
    """Return a closed outline; ``bulge`` is the tangent of a quarter of a side's sweep."""
    segments: list[Segment] = []
    for start, end, bulge in zip(corners, (*corners[1:], corners[0]), bulges, strict=True):
        if abs(bulge) < 0.02:
            segments.append(Line(start, end))
            continue
        chord = math.dist(start, end)
        sweep = 4.0 * math.atan(bulge)
        out = 0.5 * chord / math.tan(0.5 * sweep)
        x = 0.5 * (start.x + end.x) - out * (end.y - start.y) / chord
        y = 0.5 * (start.y + end.y) + out * (end.x - start.x) / chord
        angle = math.atan2(start.y - y, start.x - x)
        segments.append(Arc(Point(x, y), math.dist((x, y), start), angle, sweep))
    return Contour(tuple(segments))


@st.composite
def blobs(draw: st.DrawFn) -> Region:
    """Draw an outline of lines and arcs around the origin that does not cross itself."""
    number = draw(st.integers(3, 8))
    radii = draw(st.lists(lengths(3.0), min_size=number, max_size=number))
    bulges = draw(st.lists(st.floats(-0.7, 0.7), min_size=number, max_size=number))
    turn = draw(angles())
    corners = [
        Point(radius * math.cos(angle), radius * math.sin(angle))
        for radius, angle in zip(
            radii, (turn + i * math.tau / number for i in range(number)), strict=True
        )
    ]
    contour = bulged(corners, bulges)
    if not is_simple(contour):
        contour = polygon(corners)
    return Region(contour if signed_area(contour) > 0.0 else reversed_contour(contour))


def regions() -> st.SearchStrategy[Region]:
    """Draw any of the shapes, where it was made."""
    return st.one_of(discs(), rings(), sectors(), slots(), rectangles(), blobs())


@st.composite
def cut_outs(draw: st.DrawFn, width: float) -> Region:
    """Draw what may be cut out of a region: a slot, straight or bent, a notch or a hole.

    It is about ``width`` mm wide, half to twice as much.
    """
    wide = width * draw(st.sampled_from((0.5, 0.9, 1.1, 2.0)) | st.floats(0.5, 2.0))
    kind = draw(st.sampled_from(("slot", "round slot", "bent slot", "notch", "hole")))
    length = draw(lengths(2.0 * wide, 6.0))
    if kind == "slot":
        made = Region(rectangle(length, wide))
    elif kind == "round slot":
        made = rounded_rectangle(length, wide, 0.4 * wide)
    elif kind == "bent slot":
        made = slot_arc(draw(lengths(2.0, 5.0)), 0.0, length, wide)
    elif kind == "notch":
        half = length * math.tan(0.5 * draw(st.floats(0.2, 2.0)))
        made = Region(polygon(((0.0, 0.0), (length, -half), (length, half))))
    else:
        made = Region(circle(Point(0.0, 0.0), wide))
    place = draw(points())
    return moved_region(made, draw(angles()), place.x, place.y)


@st.composite
def slotted_regions(draw: st.DrawFn, width: float) -> Region:
    """Draw the largest piece of a region with slots, notches and holes cut out of it."""
    region = draw(regions())
    pieces = difference(region, draw(st.lists(cut_outs(width), max_size=5)))
    return max(pieces, key=area, default=region)


def placed_regions() -> st.SearchStrategy[Region]:
    """Draw any of the shapes, turned and shifted."""
    return st.builds(
        lambda region, angle, to: moved_region(region, angle, to.x, to.y),
        regions(),
        angles(),
        points(5.0),
    )
