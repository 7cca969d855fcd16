"""Find how a shape lies where a piece is: turned and shifted, never mirrored.

Both are seen from their middles. How much film lies in every direction from there is worked out
exactly; where the two distributions agree best the shape is tried (the correlation theorem of the
discrete Fourier transform, any text book). Then it is shifted and turned until its outline lies on
the piece's: least squares of the distances square to the outline (Chen & Medioni, Object Modelling
by Registration of Multiple Range Images, 1992, from memory).
"""

from __future__ import annotations

import math
from functools import cache
from typing import NamedTuple

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.affinity import affine_transform
from shapely.geometry import Polygon

Array = NDArray[np.float64]
BINS = 2048
TRIED = 8
"""Directions tried: a shape may look nearly the same from several."""
STEPS = 20
FITS = 1e-4
"""So small a gap, mm, with no point farther off than ``NARROW``, and no other way need be tried."""
SETTLED = 1e-7
"""A step this small is the last one, mm."""
POINTS = 300
"""Of an outline that are laid on another, about; at least a few on each ring."""
LEAST, FEWEST = 16, 3
"""Points on each ring, and where there are hundreds: all corners are compared in the end."""
MOST = 2000
"""Points that are laid on another outline, about, evenly apart, and as many at corners: a tight
bend is a hundred chords, each with a corner."""
WIDE, NARROW = 0.5, 2e-3
"""What counts as far off, mm, at first and in the end."""
SHARP = 0.3
"""An outline that turns by more than this, radians, has a corner there."""
TIGHT = 1.0
"""A bend of a smaller radius than this, mm, is a corner too."""
SLIDES = 3e-3
"""What moves no point by more than this share, as turning a round shape does, is left alone: its
corners lie no farther aside."""


class Pose(NamedTuple):
    """Turned by ``angle`` (radians) about the origin, then shifted by ``(x, y)``.

    ``gap`` is how far, on the average, the outline then lies from the piece's, mm; what lies
    farther than 1 mm counts as 1 mm. ``most`` is the largest such distance.
    """

    angle: float
    x: float
    y: float
    gap: float = 0.0
    most: float = 0.0

    def of(self, shape: Polygon) -> Polygon:
        """Return a shape as it lies."""
        c, s = math.cos(self.angle), math.sin(self.angle)
        return affine_transform(shape, (c, -s, s, c, self.x, self.y))


class Outline:
    """The sides of a polygon, to find which is nearest to a point."""

    def __init__(self, polygon: Polygon) -> None:
        rings = [shapely.get_coordinates(each) for each in (polygon.exterior, *polygon.interiors)]
        self.starts = np.concatenate([ring[:-1] for ring in rings])
        ends = np.concatenate([ring[1:] for ring in rings])
        along = ends - self.starts
        self.normals = np.column_stack((along[:, 1], -along[:, 0]))
        self.normals /= np.maximum(np.hypot(*along.T), 1e-300)[:, None]
        sides = shapely.linestrings(np.stack((self.starts, ends), axis=1))
        self.tree = shapely.STRtree(sides)

    def nearest(self, points: Array) -> tuple[Array, Array]:
        """Return how far points lie from the outline, and which side is nearest to each."""
        (_, sides), distances = self.tree.query_nearest(
            shapely.points(points), return_distance=True, all_matches=False
        )
        return distances, sides


def off(shape: Polygon, piece: Polygon) -> Array:
    """Return how far the corners of either outline lie from the other, mm."""
    one, _ = Outline(piece).nearest(shapely.get_coordinates(shape))
    other, _ = Outline(shape).nearest(shapely.get_coordinates(piece))
    return np.concatenate((one, other))


def poses(shape: Polygon, piece: Polygon, step: float | None, *, is_partly: bool) -> list[Pose]:
    """Return ways the shape may lie where the piece is, that which fits best first.

    ``step`` is the angle, in degrees, that it may be turned in steps of. The turns that lie nearest
    before anything is shifted are tried first, until one fits. Where the outlines are the
    same only ``is_partly``, what lies far off counts the less the better the rest fits.
    """
    middle, target = _centre(shape), _centre(piece)
    agree = np.fft.irfft(
        np.fft.rfft(_film_around(piece, target)) * np.conj(np.fft.rfft(_film_of(shape))),
        BINS,
    )
    points = _spread(shape) - middle
    outline = Outline(piece)
    found = []
    turns: list[float] = []
    if step is None:
        turns += _angles_by_hole(shape, piece, middle, target)
        turns += _angles_by_corner(shape, piece, middle, target)
    angles = [*turns, *_angles(agree, step)]
    for angle in sorted(angles, key=lambda each: _at_first(points, each, target, outline)):
        pose = _laid_on(points, angle, target, outline, step is None, is_partly)
        c, s = math.cos(pose.angle), math.sin(pose.angle)
        x = pose.x - c * middle[0] + s * middle[1]
        y = pose.y - s * middle[0] - c * middle[1]
        found.append(pose._replace(x=x, y=y))
        if pose.gap < FITS and pose.most < NARROW:
            break
    return sorted(found, key=lambda pose: pose.gap)


def _spread(shape: Polygon) -> Array:
    """Return points evenly along every ring, and its corners.

    A key narrower than the points lie apart would not be seen, nor how a round part is turned.
    """
    found = []
    share = MOST // (1 + len(shape.interiors))
    most, least = max(LEAST, share), min(LEAST, max(FEWEST, share))
    for ring in (shape.exterior, *shape.interiors):
        count = max(least, round(POINTS * ring.length / shape.length))
        even = shapely.line_interpolate_point(ring, np.arange(count) / count, normalized=True)
        corners = _corners(shapely.get_coordinates(ring)[:-1])
        thinned = corners[:: math.ceil(len(corners) / most) or 1]
        found += [shapely.get_coordinates(even), thinned]
    return np.concatenate(found)


def _corners(ring: Array) -> Array:
    """Return the points where a ring turns sharply, or in less than a millimetre's radius."""
    there = np.roll(ring, -1, axis=0) - ring
    here = np.roll(there, 1, axis=0)
    cross = here[:, 0] * there[:, 1] - here[:, 1] * there[:, 0]
    turn = np.abs(np.arctan2(cross, (here * there).sum(axis=1)))
    length = (np.hypot(*here.T) + np.hypot(*there.T)) / 2.0
    return ring[(turn > SHARP) | (turn > length / TIGHT)]


def _centre(polygon: Polygon) -> Array:
    return np.array(polygon.centroid.coords[0])


def _angles(agree: Array, step: float | None) -> list[float]:
    if step is not None:
        allowed = np.arange(round(360.0 / step)) * math.radians(step)
        values = np.interp(
            allowed, np.arange(BINS + 1) * math.tau / BINS, np.append(agree, agree[0])
        )
        return [float(allowed[index]) for index in np.argsort(-values, kind="stable")[:TRIED]]
    if np.ptp(agree) <= 1e-7 * np.abs(agree).max():
        return [0.0]  # the same from all sides
    tops = np.flatnonzero((agree >= np.roll(agree, 1)) & (agree > np.roll(agree, -1)))
    best = tops[np.argsort(-agree[tops], kind="stable")][:TRIED]
    return [float(index) * math.tau / BINS for index in best]


def _angles_by_hole(shape: Polygon, piece: Polygon, middle: Array, target: Array) -> list[float]:
    """Return the turns that bring the outermost hole of a shape to one of the piece.

    A small hole in a round piece hardly shows in the film around its middle.
    """
    own = [np.array(Polygon(ring).centroid.coords[0]) - middle for ring in shape.interiors]
    x, y = max(own, key=lambda place: math.hypot(*place), default=(0.0, 0.0))
    radius = math.hypot(x, y)
    found = []
    for ring in piece.interiors:
        there = np.array(Polygon(ring).centroid.coords[0]) - target
        if radius > WIDE and abs(math.hypot(*there) - radius) < NARROW:
            found.append(math.atan2(there[1], there[0]) - math.atan2(y, x))
    return found[:TRIED]


def _angles_by_corner(shape: Polygon, piece: Polygon, middle: Array, target: Array) -> list[float]:
    """Return the turns that bring a corner of a shape to one of the piece as far from its middle.

    It is the corner that has the fewest such. A narrow key in a round piece hardly shows in the
    film around its middle: the chords that both circles are drawn with may show more.
    """
    own, there = (
        np.concatenate([_corners(shapely.get_coordinates(ring)[:-1]) for ring in rings]) - centre
        for rings, centre in (
            ((shape.exterior, *shape.interiors), middle),
            ((piece.exterior, *piece.interiors), target),
        )
    )
    if not len(own):
        return []
    radii, far = np.hypot(*own.T), np.hypot(*there.T)
    ranked = np.sort(far)
    near = 10.0 * NARROW
    counts = np.searchsorted(ranked, radii + near) - np.searchsorted(ranked, radii - near, "right")
    if not counts.any():
        return []
    one = int(np.argmin(np.where(counts > 0, counts, len(there) + 1)))
    x, y = own[one]
    alike = there[np.abs(far - radii[one]) < near]
    turns = [float(math.atan2(v, u) - math.atan2(y, x)) for u, v in alike]
    # The round of a beam in a corner has many points; one of each corner will do.
    return list({round(turn, 2): turn for turn in reversed(turns)}.values())[:TRIED]


@cache
def _film_of(shape: Polygon) -> Array:
    """Return the film around the middle of a shape: many pieces are held against the same few."""
    return _film_around(shape, _centre(shape))


def _film_around(polygon: Polygon, middle: Array) -> Array:
    """Return the area of a polygon in each of many equal angles about a middle.

    A triangle with its tip in the middle and a side at the distance d has the area
    d² (tan b - tan a) / 2 between the angles a and b from the foot of the perpendicular.
    """
    total = np.zeros(BINS)
    oriented = shapely.geometry.polygon.orient(polygon)
    for ring in (oriented.exterior, *oriented.interiors):
        points = shapely.get_coordinates(ring) - middle
        for (x0, y0), (x1, y1) in zip(points[:-1].tolist(), points[1:].tolist(), strict=True):
            cross = x0 * y1 - x1 * y0
            length = math.hypot(x1 - x0, y1 - y0)
            if length == 0.0 or abs(cross) < 1e-12 * length:
                continue
            begin = math.atan2(y0, x0)
            turn = math.atan2(cross, x0 * x1 + y0 * y1)
            foot = math.atan2(-(x1 - x0) * cross, (y1 - y0) * cross)
            _add(total, begin, turn, foot, 0.5 * (cross / length) ** 2)
    return total


def _add(total: Array, begin: float, turn: float, foot: float, half_square: float) -> None:
    """Add the triangle of one side, bin by bin."""
    width = math.tau / BINS
    low, high = sorted((begin, begin + turn))
    first, last = math.floor(low / width), math.floor(high / width)
    sign = math.copysign(half_square, turn)
    tan_low = math.tan(low - foot)
    for number in range(first, last):
        tan_next = math.tan((number + 1) * width - foot)
        total[number % BINS] += sign * (tan_next - tan_low)
        tan_low = tan_next
    total[last % BINS] += sign * (math.tan(high - foot) - tan_low)


def _at_first(points: Array, angle: float, target: Array, outline: Outline) -> float:
    """Return the gap before anything is shifted: what lies nearest is tried first."""
    c, s = math.cos(angle), math.sin(angle)
    distances, _ = outline.nearest(points @ np.array(((c, s), (-s, c))) + target)
    return float(np.minimum(distances, 1.0).mean())


def _laid_on(
    points: Array, angle: float, target: Array, outline: Outline, may_turn: bool, is_partly: bool
) -> Pose:
    """Shift and turn points about the origin until they lie on an outline."""
    shift = target.copy()
    reach = float(np.hypot(*points.T).max())
    for number in range(STEPS):
        c, s = math.cos(angle), math.sin(angle)
        turned = points @ np.array(((c, s), (-s, c)))
        placed = turned + shift
        distances, sides = outline.nearest(placed)
        normals = outline.normals[sides]
        gaps = ((outline.starts[sides] - placed) * normals).sum(axis=1)
        spin = normals[:, 1] * turned[:, 0] - normals[:, 0] * turned[:, 1]
        scale = max(WIDE * 0.5**number, NARROW)
        weight = 1.0 / (1.0 + (distances / scale) ** 2) if is_partly else np.ones(len(points))
        columns = np.column_stack((normals, *([spin / reach] if may_turn else [])))
        change, *_ = np.linalg.lstsq(columns * weight[:, None], gaps * weight, rcond=SLIDES)
        shift += change[:2]
        angle += float(change[2]) / reach if may_turn else 0.0
        if (scale == NARROW or not is_partly) and np.abs(change).max() < SETTLED:
            break
    gap = float(np.minimum(distances, 1.0).mean())
    return Pose(angle, float(shift[0]), float(shift[1]), gap, float(distances.max()))
