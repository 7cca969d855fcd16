"""What is engraved on a sector, so that nobody mixes pieces up on the bench.

The part's number stands near the inner edge, its foot to the centre: it reads right from the front
only. A tick runs along the leading side, the one that passes first. Both keep clear of every edge
and lie under the hub where there is room; what finds no room is made smaller, then left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from jobprep.disc.pieces import inner_radius, side_shift
from jobprep.disc.stroke_font import (
    GRID_HEIGHT,
    UNDERLINE_DROP,
    needs_underline,
    number_paths,
    text_width,
)
from jobprep.geometry.distance import path_distance
from jobprep.geometry.measure import Bounds, centroid, contains, region_bounds
from jobprep.geometry.outline import Contour, Line, Path, Point, Region, moved_path, polygon
from jobprep.geometry.shapes import polar
from jobprep.model.design import Design, Layer, Marks

EDGE_CLEARANCE = 0.5
"""Least distance from a mark to any edge of the part, mm."""
DRAWN_CLEARANCE = EDGE_CLEARANCE - 0.01
"""The same of a mark that was written and read again, mm: drawings are read within 0.01 mm."""
TICK_CLEARANCE = 1.0
"""Distance of the tick from the leading side, mm: well off the edge, unmistakably beside it."""
OFF_THE_PART = f"it does not lie on its part, {EDGE_CLEARANCE:g} mm from its edges"
"""What is wrong with such a mark."""
LEAST_HEIGHT = 1.2
"""Smallest letters that can be read on film, mm (common practice, no source)."""
SHRINK = 0.8
"""Each smaller size tried is this share of the one before."""
AROUND = (0.0, 0.15, -0.15, 0.3, -0.3)
"""Where across the sector the number is tried, as shares of its angle off the middle."""
RADIAL_STEP = 0.5
"""How finely radii are tried, as a share of the height of what is placed."""


class Field(NamedTuple):
    """Where a sector lies: radii in mm, direction of its leading side, its angle.

    ``gap`` is how far its leading side draws back from that direction, ``hub_radius`` is 0 where
    nothing is hidden.
    """

    inner_radius: float
    outer_radius: float
    leading: float
    angle: float
    gap: float
    hub_radius: float


def sector_field(design: Design, layer: Layer, sector: int) -> Field:
    """Return where a sector, counted from 1, of a design's layer lies."""
    before = layer.sectors[: sector - 1]
    return Field(
        inner_radius=inner_radius(design, layer),
        outer_radius=layer.outer_diameter / 2.0,
        leading=layer.start - math.fsum(each.angle for each in before),
        angle=layer.sectors[sector - 1].angle,
        gap=side_shift(layer, layer.sectors[sector - 2].film),
        hub_radius=(design.hub_diameter or 0.0) / 2.0,
    )


def part_marks(region: Region, field: Field, number: int, marks: Marks) -> tuple[Path, ...]:
    """Return the tick, then the number's strokes, as far as wanted and as there is room."""
    tick = _tick(region, field, marks.height) if marks.tick else ()
    if not marks.number:
        return tick
    return (*tick, *_number(region, field, number, marks.height, tick))


def _tick(region: Region, field: Field, height: float) -> tuple[Path, ...]:
    """Return a stroke along the leading side, or nothing."""
    across = field.gap + TICK_CLEARANCE
    for length, radius in _places(field, height, 1.0):
        inner, outer = radius - length / 2.0, radius + length / 2.0
        if inner > abs(across):
            start = _beside(field.leading, inner, across)
            end = _beside(field.leading, outer, across)
            if _has_room((Line(start, end),), region):
                return ((Line(start, end),),)
    return ()


def _number(
    region: Region, field: Field, number: int, height: float, tick: tuple[Path, ...]
) -> tuple[Path, ...]:
    """Return the strokes of the number at the first place where its box is clear, or nothing."""
    directions = _directions(region, field)
    reach = region_bounds(region)
    drop = UNDERLINE_DROP / GRID_HEIGHT if needs_underline(number) else 0.0
    for size, radius in _places(field, height, 1.0 + drop):
        width, foot = text_width(str(number), size), drop * size
        if field.angle < math.pi and width > 2.0 * radius * math.tan(field.angle / 2.0):
            continue
        for direction in directions:
            middle = polar(radius, direction)
            if not _is_within(middle, reach):
                continue
            turn = direction - math.pi / 2.0
            box = polygon(
                (
                    (-width / 2.0, -(size + foot) / 2.0),
                    (width / 2.0, -(size + foot) / 2.0),
                    (width / 2.0, (size + foot) / 2.0),
                    (-width / 2.0, (size + foot) / 2.0),
                )
            )
            placed = moved_path(box.segments, turn, *middle)
            if not _has_room(placed, region) or _near(tick, placed):
                continue
            return tuple(
                moved_path(
                    moved_path(path, 0.0, -width / 2.0, foot - (size + foot) / 2.0), turn, *middle
                )
                for path in number_paths(number, size)
            )
    return ()


def _directions(region: Region, field: Field) -> tuple[float, ...]:
    """Return where across the sector the number is tried: its middle first, a piece's own last."""
    across = [field.leading - field.angle * (0.5 + share) for share in AROUND]
    x, y = centroid(region)
    return (*across, math.atan2(y, x))


def _is_within(point: Point, box: Bounds) -> bool:
    return box.x_min < point.x < box.x_max and box.y_min < point.y < box.y_max


def _places(field: Field, height: float, share: float) -> Iterator[tuple[float, float]]:
    """Yield sizes and middle radii: under the hub first, however small, then outside it.

    What is placed is as high as ``share`` times its size.
    """
    hidden: list[tuple[float, float]] = []
    shown: list[tuple[float, float]] = []
    for size in _heights(height):
        for radius in _radii(field, size * share):
            is_hidden = radius + size * share / 2.0 <= field.hub_radius
            (hidden if is_hidden else shown).append((size, radius))
    yield from hidden
    yield from shown


def _heights(height: float) -> Iterator[float]:
    """Yield the heights tried, from the wanted one down."""
    yield height
    while (height := height * SHRINK) >= LEAST_HEIGHT:
        yield height


def _radii(field: Field, height: float) -> Iterator[float]:
    """Yield the middle radii tried for something so high, from the inner edge outwards."""
    radius = field.inner_radius + EDGE_CLEARANCE + height / 2.0
    while radius <= field.outer_radius - EDGE_CLEARANCE - height / 2.0:
        yield radius
        radius += RADIAL_STEP * height


def _beside(leading: float, radius: float, across: float) -> Point:
    """Return the point at a radius and a distance clockwise of the leading side."""
    return polar(radius, leading - math.asin(across / radius))


def lies_on(path: Path, region: Region, clearance: float = EDGE_CLEARANCE) -> bool:
    """Whether a stroke lies on the film of a region, so far from its edges, mm."""
    return contains(region, path[0].start) and all(
        path_distance(path, contour.segments, clearance) >= clearance for contour in region.contours
    )


def _has_room(path: Path, region: Region) -> bool:
    """Whether a stroke or a box lies in a region, clear of its edges and with no hole inside."""
    if not lies_on(path, region):
        return False
    if len(path) < 2:
        return True
    box = Region(Contour(path))
    return not any(contains(box, hole.segments[0].start) for hole in region.holes)


def _near(tick: tuple[Path, ...], placed: Path) -> bool:
    return any(path_distance(path, placed, EDGE_CLEARANCE) < EDGE_CLEARANCE for path in tick)
