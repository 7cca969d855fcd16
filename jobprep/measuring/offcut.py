"""The outline of a leftover in a photograph, beside a sheet of paper that gives the scale.

The ground's colour is taken round the picture's border, the film's from the largest thing that
differs from it; the edge lies where the light is half way between the two. The errors of the
sheet's sides, of its corners in the picture and of the pixels are added up, and the outline is kept
that far inside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from jobprep.geometry.outline import Region, polygon
from jobprep.measuring.colour import lab_from_linear
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture
from jobprep.measuring.sheet import FoundSheet

if TYPE_CHECKING:
    from shapely import Polygon

LEAST_CONTRAST = 8.0
"""CIELAB distance from the ground by which film must stand out."""

LEAST_SHARE = 0.003
"""Least share of the picture that a leftover fills."""

LEAST_SPOT = 12
"""Least pixels of a hole in the film: less is noise or dust."""

UNLIKE, MOST_UNLIKE = 0.6, 0.03
"""How far a pixel may be from the film's own brightness, in steps from the ground to the film, and
the share of the film that may be further: beyond is a shadow, glare or a second colour."""

PIXELS_OFF = 1.5
"""How far an edge may lie off in pixels: half a pixel's diagonal, and as much of blur and mottle
(common practice, no source)."""

SIMPLER = 0.5
"""Pixels by which a side may be straightened."""

COVERAGE = 2.0
"""Standard uncertainties of the sheet's corners that the outline stays inside."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Offcut:
    """A leftover: its ``region`` on the sheet's plane, mm, and how far that may be off, mm."""

    region: Region
    off: float


def find_offcut(picture: Picture, sheet: FoundSheet, inset: float | None = None) -> Offcut:
    """Return the leftover in a picture, its outline kept ``inset`` mm inside what is seen.

    By default ``inset`` is how far the outline may be off.

    Raises
    ------
    ValueError
        With a sentence, where no leftover stands out from the ground as a whole.
    """
    import shapely

    mask = _film_mask(picture, sheet)
    seen = _outline(mask)
    flat = shapely.transform(seen, sheet.flat)
    off = _off(seen, flat, sheet)
    kept = _largest(flat.buffer(-(off if inset is None else inset), join_style="mitre"))
    if kept is None:
        raise ValueError(
            f"the leftover is narrower than twice the {off:.1f} mm that its outline may be off: "
            "take the picture from nearer, or measure the sheet's sides and give them (--paper WxH)"
        )
    kept = shapely.geometry.polygon.orient(kept)
    rings = [np.asarray(ring.coords)[:-1] for ring in (kept.exterior, *kept.interiors)]
    contours = [polygon([(float(x), float(y)) for x, y in ring]) for ring in rings]
    return Offcut(region=Region(contours[0], tuple(contours[1:])), off=off)


def _film_mask(picture: Picture, sheet: FoundSheet) -> Floats:
    """Return the pixels of the leftover, holes in it left out."""
    from scipy import ndimage

    linear = ndimage.gaussian_filter(picture.linear, (0.7, 0.7, 0))
    free = ~_sheet_mask(picture, sheet)
    border = np.zeros(picture.shape, dtype=bool)
    edge = max(4, round(0.03 * min(picture.shape)))
    border[:edge] = border[-edge:] = border[:, :edge] = border[:, -edge:] = True
    ground = np.median(linear[border & free], axis=0)
    lab = lab_from_linear(linear)
    apart = np.sqrt(((lab - lab_from_linear(ground)) ** 2).sum(axis=2))
    mottle = float(np.percentile(apart[border & free], 90.0))
    stands_out = free & (apart > max(LEAST_CONTRAST, 2.0 * mottle))
    core = _largest_part(ndimage.binary_opening(stands_out, iterations=2))
    if core is None or core.sum() < LEAST_SHARE * core.size:
        raise ValueError(
            "no leftover was found that differs from its ground: lay clear film on something dark "
            "or coloured and dark film on something bright, in even light"
        )
    film = np.median(linear[ndimage.binary_erosion(core, iterations=2)], axis=0)
    step = film - ground
    share = (linear - ground) @ step / float(step @ step)
    near = ndimage.binary_dilation(core, iterations=6)
    mask = _largest_part(near & free & (share > 0.5))
    assert mask is not None
    if (mask & border).any():
        raise ValueError("the leftover reaches to the picture's border: take it in as a whole")
    if (ndimage.binary_dilation(mask, iterations=3) & ~free).any():
        raise ValueError("the leftover touches the sheet of paper: lay them apart")
    if float((np.abs(share[mask] - 1.0) > UNLIKE).mean()) > MOST_UNLIKE:
        raise ValueError(
            "the leftover is not of one brightness: a shadow beside it, or glare on it, would pass "
            "for film; light it evenly, and lay it flat on a ground that differs more from it"
        )
    labels, count = ndimage.label(~mask)
    sizes = np.bincount(labels.ravel(), minlength=count + 1)
    spots = [each for each in range(1, count + 1) if sizes[each] < LEAST_SPOT]
    return np.asarray(mask | np.isin(labels, spots))


def _sheet_mask(picture: Picture, sheet: FoundSheet) -> Floats:
    import shapely

    size = float(np.hypot(*(sheet.corners[0] - sheet.corners[2])))
    around = shapely.Polygon(sheet.corners).buffer(max(3.0, 0.012 * size))
    shapely.prepare(around)
    rows, columns = np.indices(picture.shape)
    inside = shapely.contains_xy(around, columns.ravel(), rows.ravel())
    return np.asarray(inside.reshape(picture.shape))


def _largest_part(mask: Floats) -> Floats | None:
    from scipy import ndimage

    labels, count = ndimage.label(mask)
    if not count:
        return None
    return np.asarray(labels == 1 + int(np.argmax(np.bincount(labels.ravel())[1:])))


def _outline(mask: Floats) -> Polygon:
    """Return the pixels' outline, straightened a little, (column, row)."""
    import shapely

    boxes = []
    for row in np.flatnonzero(mask.any(axis=1)):
        ends = np.flatnonzero(np.diff(np.concatenate([[False], mask[row], [False]]).astype(int)))
        boxes += [
            shapely.box(start - 0.5, row - 0.5, end - 0.5, row + 0.5)
            for start, end in zip(ends[::2], ends[1::2], strict=True)
        ]
    outline = _largest(shapely.union_all(boxes).simplify(SIMPLER))
    assert outline is not None
    return outline


def _off(seen: Polygon, flat: Polygon, sheet: FoundSheet) -> float:
    """Return how far the outline may be off anywhere, mm, about its own middle."""
    import shapely

    places, home = shapely.get_coordinates(seen), shapely.get_coordinates(flat)
    middle = home.mean(axis=0)
    per_pixel = math.sqrt(flat.area / seen.area)
    square = np.zeros(len(home))
    for each in sheet.variants():
        moved = each.flat(places) - home
        square += ((moved - moved.mean(axis=0)) ** 2).sum(axis=1)
    corners = COVERAGE * math.sqrt(float(square.max()))
    across, up = sheet.places.max(axis=0) - sheet.places.min(axis=0)
    widths = sorted((sheet.sheet.width_off, sheet.sheet.height_off))
    short, long = sorted(sheet.sheet.paper)
    shares = (max(widths) / short, max(widths) / long)
    if across > up:
        shares = shares[::-1]
    sides = float(np.hypot(*((home - middle) * shares).T).max())
    return (PIXELS_OFF + SIMPLER) * per_pixel + corners + sides


def _largest(shape: object) -> Polygon | None:
    import shapely

    parts = [each for each in shapely.get_parts(shape) if each.geom_type == "Polygon"]
    return max(
        (each for each in parts if not each.is_empty), key=lambda each: each.area, default=None
    )
