"""The parts of a kerf coupon on a flatbed scanner: how wide each is along x and along y.

Parts lie as they were cut, none turned: across the scan is along x, down the scan along y. Each
side is placed by the edges along it, and a part is recognised by its drawn size, which no kerf
changes by half.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from jobprep.errors import Place
from jobprep.measuring.four_sides import clockwise, corners_of, four_sides, reduced_lab
from jobprep.measuring.kerf import fit_kerfs
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture
from jobprep.measuring.straight_sides import StraightSide, cross
from jobprep.model.kerf import (
    LEAST_HALF_WIDTH,
    MOST_HALF_WIDTH,
    MOST_KERF,
    Direction,
    KerfReading,
)
from jobprep.units import from_degrees

SCANNED_PIXELS = 12_000_000
"""Scans are reduced to this: a page at 300 dots per inch is not."""

SEARCH_PIXELS = 1200
LEAST_CONTRAST = 8.0
"""CIELAB distance from the ground by which a part must stand out."""

EDGE_OFF = 0.5
"""Pixels by which the two edges of a part may be off together: shade and shine at an edge look the
same on every part, so that they pass for kerf (common practice, no source)."""

MOST_TURNED = from_degrees(10.0)
"""How far a part may lie turned and still count as lying as cut."""

LEAST_SIDE = 2.0
"""Least side of a part, mm; anything smaller is dust."""


HALF_WIDTHS = (LEAST_HALF_WIDTH, MOST_HALF_WIDTH)


class ScannedPart(NamedTuple):
    """The size of a part, mm, along x and along y, and its middle in working pixels."""

    width: float
    height: float
    at: tuple[float, float]


def scanned_parts(picture: Picture, pixel: float) -> tuple[ScannedPart, ...]:
    """Return the rectangles in a scan, whose working pixels are ``pixel`` mm, from above.

    Raises
    ------
    ValueError
        With a sentence, where nothing stands out from the ground.
    """
    found = [_part(picture, corners, pixel) for corners in _boxes(picture, pixel)]
    parts = [part for part in found if part is not None]
    if not parts:
        raise ValueError(
            "no rectangular parts were found: lay them apart on the glass, flat, with a sheet "
            "behind them that contrasts with the film"
        )
    return tuple(sorted(parts, key=lambda part: (part.at[1], part.at[0])))


def scanned_kerfs(
    parts: Iterable[ScannedPart],
    drawn: Sequence[tuple[float, float]],
    pixel: float,
    place: Place,
) -> tuple[KerfReading, ...]:
    """Return the width of the cut that a scan shows, along x and along y.

    Only parts that are as large as ``drawn`` (width, height), less a kerf, count. A scanner has a
    scale of its own, so its parts are fitted by themselves, and only their kerf is returned.

    Raises
    ------
    ValueError
        With a sentence, where none of them is a part of the coupon.
    """
    seen = tuple(parts)
    readings = [each for part in seen for each in _readings(part, drawn, pixel, place)]
    if not readings:
        sizes = ", ".join(f"{part.width:.1f} × {part.height:.1f}" for part in seen)
        raise ValueError(
            f"no part of the coupon is as large as those in the scan ({sizes} mm): is the "
            "resolution right (--dpi), and does each part lie as it was cut?"
        )
    return tuple(
        KerfReading(
            kind="width",
            along=fit.along,
            drawn=0.0,
            kerfs=-1,
            reading=fit.kerf.value,
            half_width=min(
                max(fit.kerf.uncertainty * math.sqrt(3.0), LEAST_HALF_WIDTH), MOST_HALF_WIDTH
            ),
            place=place,
        )
        for fit in fit_kerfs(readings)
    )


def _readings(
    part: ScannedPart, drawn: Sequence[tuple[float, float]], pixel: float, place: Place
) -> Iterator[KerfReading]:
    for width, height in drawn:
        if all(
            -0.5 < size - seen < MOST_KERF
            for size, seen in ((width, part.width), (height, part.height))
        ):
            directions: tuple[tuple[Direction, float, float], ...] = (
                ("x", width, part.width),
                ("y", height, part.height),
            )
            for along, size, seen in directions:
                yield KerfReading(
                    kind="piece",
                    along=along,
                    drawn=size,
                    kerfs=1,
                    reading=seen,
                    half_width=EDGE_OFF * pixel,
                    place=place,
                )
            return


def _boxes(picture: Picture, pixel: float) -> Iterator[Floats]:
    """Yield rough corners (4, 2) of what stands out, clockwise from the upper left."""
    import shapely
    from scipy import ndimage

    lab, step = reduced_lab(picture, SEARCH_PIXELS)
    edge = max(3, round(0.02 * min(lab.shape[:2])))
    border = np.ones(lab.shape[:2], dtype=bool)
    border[edge:-edge, edge:-edge] = False
    apart = np.sqrt(((lab - np.median(lab[border], axis=0)) ** 2).sum(axis=2))
    mottle = float(np.percentile(apart[border], 90.0))
    labels, _ = ndimage.label(apart > max(LEAST_CONTRAST, 2.0 * mottle))
    for index, where in enumerate(ndimage.find_objects(labels), 1):
        region = ndimage.binary_fill_holes(labels[where] == index)
        if region.sum() < (LEAST_SIDE / (pixel * step)) ** 2:
            continue
        down, across = np.nonzero(region)
        points = shapely.multipoints(np.column_stack([across, down]))
        box = shapely.oriented_envelope(points)
        if box.geom_type != "Polygon" or region.sum() < 0.8 * box.area:
            continue
        start = np.array([where[1].start, where[0].start])
        yield clockwise(np.asarray(box.exterior.coords)[:4] + start) * step


def _part(picture: Picture, rough: Floats, pixel: float) -> ScannedPart | None:
    corners: Floats | None = rough
    sides: tuple[StraightSide, ...] | None = None
    for reach in (10.0, 5.0):
        sides = None if corners is None else four_sides(picture, corners, reach, 0.0)
        corners = None if sides is None else corners_of(sides)
    if sides is None or corners is None:
        return None
    top, right, bottom, left = sides
    middle = corners.mean(axis=0)
    if abs(math.atan2(top.along[1], top.along[0])) > MOST_TURNED:
        return None
    width = _apart(left, right, middle) * pixel
    height = _apart(top, bottom, middle) * pixel
    return ScannedPart(width, height, (float(middle[0]), float(middle[1])))


def _apart(first: StraightSide, second: StraightSide, middle: Floats) -> float:
    """Return the distance of two nearly parallel sides, at a place between them."""
    return abs(cross(first.along, middle - first.at)) + abs(cross(second.along, middle - second.at))
