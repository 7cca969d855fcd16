"""Regions of common shapes, exact."""

from __future__ import annotations

import math

from jobprep.geometry.boolean import difference, intersection
from jobprep.geometry.intersect import SNAP
from jobprep.geometry.offset import offset
from jobprep.geometry.outline import (
    Arc,
    Contour,
    Line,
    Point,
    Region,
    Segment,
    circle,
    polygon,
    rectangle,
)
from jobprep.geometry.stitch import merged_path
from jobprep.units import TURN

ORIGIN = Point(0.0, 0.0)

WHOLE_TURN = TURN * (1.0 - 1e-12)
"""A sweep this wide is a whole turn, to the rounding of a sum of sectors."""


def ring(inner_radius: float, outer_radius: float) -> Region:
    """Return the ring between two circles about the origin; a disc when the inner one is 0."""
    if not 0.0 <= inner_radius < outer_radius:
        raise ValueError(f"a ring needs 0 <= inner < outer radius: {inner_radius}, {outer_radius}")
    hole = (circle(ORIGIN, inner_radius, clockwise=True),) if inner_radius > 0.0 else ()
    return Region(circle(ORIGIN, outer_radius), hole)


def annular_sector(
    inner_radius: float,
    outer_radius: float,
    start_angle: float,
    sweep: float,
    side_shift: tuple[float, float] = (0.0, 0.0),
) -> Region:
    """Return the piece of a ring about the origin between two radial sides.

    It reaches anticlockwise from ``start_angle`` over ``sweep``, 0 < sweep <= 2 pi. Each side,
    the start first, is shifted parallel to itself by ``side_shift``, mm, into the piece (negative:
    out of it), so the strip between shifted neighbours has the same width everywhere. With inner
    radius 0 the sides meet in a point; a whole turn has no sides, so it is the whole ring.

    Raises ``ValueError`` when nothing is left or the piece falls apart.
    """
    whole = ring(inner_radius, outer_radius)
    if not 0.0 < sweep <= TURN * (1.0 + 1e-12):
        raise ValueError(f"a sector sweeps more than 0, at most a turn: {sweep}")
    if sweep >= WHOLE_TURN:
        return whole
    end_angle = start_angle + sweep
    first, second = side_shift
    if first == second == 0.0 and inner_radius == 0.0:
        return _pie(outer_radius, start_angle, sweep)
    if max(abs(first), abs(second)) < inner_radius:
        narrowed = [
            (start_angle + math.asin(first / radius), end_angle - math.asin(second / radius))
            for radius in (inner_radius, outer_radius)
        ]
        if all(0.0 < end - start < WHOLE_TURN for start, end in narrowed):
            (inner_start, inner_end), (outer_start, outer_end) = narrowed
            outer = Arc(ORIGIN, outer_radius, outer_start, outer_end - outer_start)
            inner = Arc(ORIGIN, inner_radius, inner_end, inner_start - inner_end)
            return Region(_closed(outer, inner))
    start_side = _half_plane(start_angle, first, 4.0 * outer_radius)
    end_side = _half_plane(end_angle + math.pi, second, 4.0 * outer_radius)
    if sweep <= math.pi:
        pieces = [
            piece
            for wedge in intersection(start_side, end_side)
            for piece in intersection(whole, wedge)
        ]
    else:
        before = _half_plane(start_angle + math.pi, -first, 4.0 * outer_radius)
        after = _half_plane(end_angle, -second, 4.0 * outer_radius)
        pieces = list(difference(whole, intersection(before, after)))
    if len(pieces) != 1:
        found = "nothing" if not pieces else f"{len(pieces)} pieces"
        raise ValueError(f"sides shifted by {first} and {second} leave {found} of the sector")
    return pieces[0]


def slot_arc(circle_radius: float, direction: float, length: float, width: float) -> Region:
    """Return a slot with round ends bent along a circle about the origin.

    Its middle lies at the angle ``direction``. ``length`` is measured along the circle and counts
    the round ends, so a slot as long as wide is a round hole.
    """
    end_radius = 0.5 * width
    if not (0.0 < width <= length and end_radius < circle_radius):
        raise ValueError(f"a slot needs 0 < width <= length, width < 2 radii: {width}, {length}")
    half = 0.5 * (length - width) / circle_radius
    if half * circle_radius <= SNAP:
        return Region(circle(Point(*polar(circle_radius, direction)), end_radius))
    if half + math.asin(end_radius / circle_radius) >= math.pi:
        raise ValueError(f"a slot {length} long closes around a circle of radius {circle_radius}")
    start, end = direction - half, direction + half
    return Region(
        Contour(
            (
                Arc(ORIGIN, circle_radius + end_radius, start, 2.0 * half),
                Arc(polar(circle_radius, end), end_radius, end, math.pi),
                Arc(ORIGIN, circle_radius - end_radius, end, -2.0 * half),
                Arc(polar(circle_radius, start), end_radius, start + math.pi, math.pi),
            )
        )
    )


def rounded_rectangle(width: float, height: float, corner_radius: float) -> Region:
    """Return a rectangle from the origin to ``(width, height)`` with round corners."""
    if not 0.0 <= 2.0 * corner_radius <= min(width, height):
        raise ValueError(f"a corner radius of {corner_radius} does not fit {width} x {height}")
    if corner_radius == 0.0:
        return Region(rectangle(width, height))
    near, right, top = corner_radius, width - corner_radius, height - corner_radius
    centres = (Point(right, near), Point(right, top), Point(near, top), Point(near, near))
    arcs = [
        Arc(centre, corner_radius, (quarter - 1) * 0.5 * math.pi, 0.5 * math.pi)
        for quarter, centre in enumerate(centres)
    ]
    return Region(Contour(merged_path(_closed(*arcs).segments)))


def bar(length: float, width: float) -> Region:
    """Return a bar along x from the origin, its ends half circles; ``length`` counts them."""
    if not 0.0 < width < length:
        raise ValueError(f"a bar needs 0 < width < length: {width}, {length}")
    radius = width / 2.0
    left, right = Point(radius, radius), Point(length - radius, radius)
    first = Arc(left, radius, TURN / 4.0, TURN / 2.0)
    second = Arc(right, radius, -TURN / 4.0, TURN / 2.0)
    sides = Line(first.end, second.start), Line(second.end, first.start)
    return Region(Contour((first, sides[0], second, sides[1])))


def rounded(region: Region, radius: float) -> Region:
    """Round the convex corners of a region: shrink it, then grow it back.

    Raises ``ValueError`` when a part is too narrow for the radius, so that the region would vanish
    or fall apart.
    """
    shrunk = offset(region, -radius).regions
    if len(shrunk) != 1:
        raise ValueError(f"a radius of {radius} is too large for the narrowest part")
    (grown,) = offset(shrunk[0], radius).regions
    return grown


def _pie(radius: float, start_angle: float, sweep: float) -> Region:
    arc = Arc(ORIGIN, radius, start_angle, sweep)
    if sweep == math.pi:
        return Region(Contour((arc, Line(arc.end, arc.start))))
    return Region(Contour((arc, Line(arc.end, ORIGIN), Line(ORIGIN, arc.start))))


def _closed(*arcs: Arc) -> Contour:
    """Join arcs by straight lines, where they do not meet anyway."""
    segments: list[Segment] = []
    for arc, following in zip(arcs, arcs[1:] + arcs[:1], strict=True):
        segments.append(arc)
        if math.dist(arc.end, following.start) > 1e-9:
            segments.append(Line(arc.end, following.start))
    return Contour(tuple(segments))


def polar(radius: float, direction: float) -> Point:
    """Return the point at a radius and direction from the origin."""
    return Point(radius * math.cos(direction), radius * math.sin(direction))


def _half_plane(angle: float, shift: float, size: float) -> Region:
    """Return a large square on the left of a line through the origin, shifted to its left."""
    x, y = math.cos(angle), math.sin(angle)
    corners = ((-size, shift), (size, shift), (size, shift + size), (-size, shift + size))
    return Region(polygon((x * u - y * v, y * u + x * v) for u, v in corners))
