"""A sheet of paper in a photograph: its corners, and with them scale, perspective and white.

Paper is brighter than what lies round it and has little colour. Its bright region is looked for in
a reduced picture at several brightnesses, its hull cut down to four corners, and each side placed
on the full picture by the edges along it. Things that lie on the sheet, or over its edge, are left
out of a side as strays.

The sheet's plane has x to the right and y up as seen in the picture, mm, its middle at the origin.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from jobprep.measuring.edge_profile import sample
from jobprep.measuring.ellipse_fit import Ellipse, fit_ellipse, signed_distances
from jobprep.measuring.four_sides import clockwise, corners_of, four_sides, reduced_lab
from jobprep.measuring.measured import Floats, Measured
from jobprep.measuring.picture import Picture
from jobprep.measuring.plane_map import apply_map, projective_map
from jobprep.measuring.straight_sides import (
    CORNER_FLOOR,
    Bend,
    bend_of,
    cross,
    side_through,
)
from jobprep.model.paper import Paper
from jobprep.units import TURN, number, to_degrees

SEARCH_PIXELS = 480
"""Longer side of the reduced picture in which the sheet is looked for."""

LEAST_SHARE = 0.05
"""Least share of the picture that a sheet fills."""

MOST_CHROMA = 25.0
"""CIELAB chroma of paper, under a warm lamp too (common practice, no source)."""

LEAST_FILLED = 0.5
"""Least share of the area between the four corners that is bright: a disc may lie on the rest."""

MOST_OVAL = 0.025
"""Share by which a disc may be longer one way than another, laid flat by its sheet: more than two
sides may be off, so that it is another sheet, or not in its plane."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetOfPaper:
    """The size of a sheet, ``width`` by ``height`` mm, and how far each may be off either way."""

    paper: Paper
    width_off: float
    height_off: float
    name: str

    @property
    def relative(self) -> float:
        """Standard uncertainty of a length that counts both sides alike, as a share of it."""
        across, up = self.width_off / self.paper.width, self.height_off / self.paper.height
        return math.hypot(across, up) / 2.0 / math.sqrt(3.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundSheet:
    """A sheet in a picture.

    ``corners`` (4, 2) are working pixels, from upper left clockwise, and ``places`` (4, 2) theirs
    on the sheet, mm; ``offs`` (4,) the corners' standard uncertainties, pixels. ``lens`` is how the
    lens bends lines, as the sheet's sides show it.
    """

    sheet: SheetOfPaper
    corners: Floats
    places: Floats
    offs: Floats
    lens: Bend

    def flat(self, pixels: Floats) -> Floats:
        """Return places of the sheet's plane, mm, from working pixels (n, 2)."""
        return apply_map(self._matrix(self.corners), self.lens.straight(pixels))

    def seen(self, places: Floats) -> Floats:
        """Return working pixels of places (n, 2) of the sheet's plane, mm."""
        inverse = np.linalg.inv(self._matrix(self.corners))
        return self.lens.bent(apply_map(inverse, places))

    def variants(self) -> list[FoundSheet]:
        """Return it with each corner moved by its uncertainty, along x and along y."""
        found = []
        for corner in range(4):
            for axis in (0, 1):
                corners = self.corners.copy()
                corners[corner, axis] += self.offs[corner]
                found.append(replace(self, corners=corners))
        return found

    def _matrix(self, corners: Floats) -> Floats:
        return projective_map(self.lens.straight(corners), self.places)

    def slant(self, at: Floats) -> float:
        """Return about how far from straight above the camera sees a place (2,), radians."""
        step = 4.0
        around = np.array([[step, 0.0], [0.0, step], [-step, 0.0], [0.0, -step]]) + at
        flat = self.flat(around)
        short, long = sorted(np.linalg.svd(np.array([flat[0] - flat[2], flat[1] - flat[3]]))[1])
        return math.acos(min(1.0, float(short / long)))


def find_sheet(picture: Picture, sheet: SheetOfPaper) -> FoundSheet | None:
    """Return the sheet of paper in a picture, or None where none is seen as a whole."""
    best: tuple[float, Floats, Floats, Bend] | None = None
    for rough in _rough_corners(picture):
        placed = _placed(picture, rough)
        if placed is not None and (best is None or placed[0] > best[0]):
            best = placed
    if best is None:
        return None
    _, corners, offs, lens = best
    places = _places(corners, sheet)
    return FoundSheet(sheet=sheet, corners=corners, places=places, offs=offs, lens=lens)


def rim_diameter(found: FoundSheet, rim: Ellipse, rim_off: float) -> Measured:
    """Return the diameter of a disc that lies on the sheet or beside it, mm.

    ``rim`` in working pixels, its scale known to ``rim_off`` as a share.

    Raises
    ------
    ValueError
        With a sentence, where the disc is no circle in the sheet's plane.
    """
    points = rim.at(np.linspace(0.0, TURN, 180, endpoint=False))
    flat = fit_ellipse(found.flat(points)).ellipse
    long, short = flat.semi_axes
    if long / short - 1.0 > MOST_OVAL:
        raise ValueError(
            f"laid flat by the sheet ({found.sheet.name}), the disc is {long / short:.3f} times as "
            "long as wide: is it another sheet? Name it (--paper A4, Letter or its measured WxH), "
            "and let both lie flat"
        )
    size = math.sqrt(long * short)
    square = 0.0
    for moved in found.variants():
        axes = fit_ellipse(moved.flat(points), start=flat).ellipse.semi_axes
        square += (math.sqrt(math.prod(axes)) - size) ** 2
    own = math.sqrt(square) / size
    return Measured(2.0 * size, 2.0 * size * math.hypot(own, found.sheet.relative, rim_off))


def disc_centre(found: FoundSheet, rim: Ellipse) -> tuple[Floats, float]:
    """Return where the centre of a disc with this ``rim`` lies in the picture, and its uncertainty.

    Working pixels (2,) and their standard uncertainty. When the camera is near, the middle of the
    rim's ellipse is not the disc's centre: the sheet's perspective gives the difference.
    """
    points = rim.at(np.linspace(0.0, TURN, 180, endpoint=False))

    def centre(sheet: FoundSheet) -> Floats:
        middle = fit_ellipse(sheet.flat(points)).ellipse.centre
        return np.asarray(sheet.seen(np.array([middle]))[0])

    place = centre(found)
    offs = [centre(each) - place for each in found.variants()]
    return place, math.sqrt(float(np.sum(np.square(offs))) / 2.0)


def white_of_sheet(
    picture: Picture, found: FoundSheet, rim: Ellipse
) -> tuple[Floats, float] | None:
    """Return the linear colour (3,) of the sheet, and how uneven it is as a share.

    A disc with its ``rim`` on the sheet is left out; None where too little paper is left.
    """
    across, up = np.meshgrid(np.linspace(0.04, 0.96, 40), np.linspace(0.04, 0.96, 40))
    size = np.array(found.places.max(axis=0) - found.places.min(axis=0))
    flat = np.stack([across.ravel() - 0.5, up.ravel() - 0.5], axis=-1) * size
    places = found.seen(flat)
    places = places[signed_distances(rim, places) > 0.04 * rim.semi_axes[0]]
    if len(places) < 30:
        return None
    seen = sample(picture.linear, places)
    white = np.median(seen, axis=0)
    light = seen.mean(axis=1)
    off = 1.4826 * float(np.median(np.abs(light - np.median(light))))
    return np.asarray(white), off / max(float(np.median(light)), 1e-6)


def sheet_remark(found: FoundSheet, rim: Ellipse) -> str:
    """Return a remark on how good the scale of a sheet is, and how to improve it."""
    sheet = found.sheet
    slant = number(to_degrees(found.slant(np.array(rim.centre))), 0)
    said = f"the scale is from a sheet of paper, {sheet.name}, seen {slant}° from straight above"
    if sheet.name in ("A4", "Letter", "A3", "A5"):
        off = number(max(sheet.width_off, sheet.height_off), 1)
        said += (
            f"; its sides may be off by {off} mm (ISO 216, from memory): measure them with a ruler "
            "and give them, --paper WxH"
        )
    return said


def _rough_corners(picture: Picture) -> list[Floats]:
    """Return corners (4, 2) of bright regions in working pixels, clockwise."""
    from scipy import ndimage

    lab, step = reduced_lab(picture, SEARCH_PIXELS)
    pale = np.hypot(lab[..., 1], lab[..., 2]) < MOST_CHROMA
    found: list[Floats] = []
    low, high = np.percentile(lab[..., 0], (2.0, 98.0))
    for share in (0.5, 0.6, 0.7, 0.8, 0.4):
        bright = pale & (lab[..., 0] > low + share * (high - low))
        labels, count = ndimage.label(ndimage.binary_opening(bright, iterations=1))
        if not count:
            continue
        sizes = np.bincount(labels.ravel())[1:]
        for index in np.argsort(sizes)[::-1][:2]:
            region = ndimage.binary_fill_holes(labels == index + 1)
            if region.sum() < LEAST_SHARE * region.size:
                continue
            corners = _four_corners(region)
            if corners is not None:
                found.append(corners * step)
    return found


def _four_corners(region: Floats) -> Floats | None:
    """Return the hull's four main corners (column, row), where they enclose little more than it."""
    import shapely

    rows, columns = np.nonzero(region)
    hull = shapely.convex_hull(shapely.multipoints(np.column_stack([columns, rows])))
    if hull.geom_type != "Polygon":
        return None
    corners = list(np.asarray(hull.exterior.coords)[:-1])
    while len(corners) > 4:
        areas = [
            abs(cross(corners[i] - corners[i - 1], corners[(i + 1) % len(corners)] - corners[i]))
            for i in range(len(corners))
        ]
        corners.pop(int(np.argmin(areas)))
    if len(corners) < 4:
        return None
    quad = np.array(corners)
    area = abs(sum(cross(quad[i - 1], quad[i]) for i in range(4))) / 2.0
    if not LEAST_FILLED * area < region.sum() or hull.area > 1.25 * area:
        return None
    return clockwise(quad)


def _placed(picture: Picture, rough: Floats) -> tuple[float, Floats, Floats, Bend] | None:
    """Return how well four sides are seen, their corners in the picture, their offs, the lens."""
    corners = rough
    size = float(np.hypot(*(rough - np.roll(rough, 1, axis=0)).T).mean())
    for reach in (0.03 * size, 0.012 * size):
        lines = four_sides(picture, corners, max(reach, 6.0), CORNER_FLOOR)
        if lines is None:
            return None
        lens = bend_of(picture, lines)
        straight = [
            side_through(lens.straight(line.places), CORNER_FLOOR, line.seen, line.along)
            for line in lines
        ]
        met = corners_of(straight)
        if met is None:
            return None
        corners = lens.bent(met)
    height, width = picture.shape
    if (corners < -1.0).any() or (corners > (width, height)).any():
        return None
    # What still bows is paper that curls: its rise counts against the side's place.
    rises = [
        abs(line.bow) * float(np.ptp(line.places @ line.along)) ** 2 / 4.0 for line in straight
    ]
    own = [math.hypot(line.off, rise) for line, rise in zip(straight, rises, strict=True)]
    offs = np.array([math.hypot(own[i - 1], own[i]) for i in range(4)])
    return min(line.seen for line in straight), corners, offs, lens


def _places(corners: Floats, sheet: SheetOfPaper) -> Floats:
    """Return where the corners lie on the sheet, upright or lying as it is seen."""
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    short, long = sorted(sheet.paper)
    is_wide = sides[0] + sides[2] > sides[1] + sides[3]
    x, y = (long / 2.0, short / 2.0) if is_wide else (short / 2.0, long / 2.0)
    return np.array([[-x, y], [x, y], [x, -y], [-x, -y]])
