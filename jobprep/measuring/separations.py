"""Find the separations of a ring, and place them to a fraction of a pixel.

A separation is a step in colour that all radii show in one direction. Steps are looked for with the
median over the radii, which a speck, a hair, a glare spot or a grain of the table does not move;
then each radius places the edge for itself, and enough of them must agree on one line through the
centre. What agrees only in part is kept and called doubtful; what does not, is dropped.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from jobprep.colour import LUMINANCE
from jobprep.measuring.colour import lab_from_linear, srgb_from_linear
from jobprep.measuring.disc_plane import DiscPlane, polar
from jobprep.measuring.edge_profile import sample
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture
from jobprep.measuring.unwrap import RingLimits, Unwrapped, is_spoilt
from jobprep.units import TURN, from_degrees

LEAST_STEP = 1.6
"""Smallest median CIELAB step looked at."""

GROUND_RATIO = 3.0
"""How far a step must stand out from those either side: a grainy table steps everywhere."""

FAINT_STEP = 6.0
SHADE_STEP = 3.0
"""CIELAB step below which an edge is called doubtful, or left out."""

WHOLE_SHARE = 0.75
SURE_SHARE = 0.65
DOUBTFUL_SHARE = 0.45
"""Share of radii that agree on an edge: free of doubt, taken in, mentioned."""

GIVEN = from_degrees(0.5)
"""Standard uncertainty of a direction that a person gave."""

LEAST_CLEAR = 0.25
"""Share of the radii that glare must leave for an edge to be looked for."""

CLOSEST = from_degrees(2.0)
"""Edges nearer to each other than this are not told apart."""

ROW_PIXELS = 2.0
"""Radial distance of the rows that place an edge."""

BRIGHTNESS_STEP = 20.0
"""Above this step in CIELAB lightness an edge is placed by luminance alone.

JPEG keeps colour at half the sharpness, in encoded values; where the edge is mostly one of colour
the places in linear and encoded light are averaged two to one. How far they lie apart goes into the
uncertainty, since a camera may have sharpened or smoothed in either.
"""

LEAST_BIAS = 0.15
"""Pixels an edge may lie off as a whole for reasons that its rows do not show."""

INDEPENDENT = 5.0
"""Rows that share their noise: two pixels apart, smoothed by three, in JPEG blocks of eight."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeRows:
    """One separation as its rows saw it.

    ``direction`` in radians anticlockwise, ``radii`` and ``off`` (n,) the rows that agree and their
    distances from the ray, anticlockwise positive, in disc radii; ``error`` the standard
    uncertainty of one row, ``bias`` that of a shift of the whole edge, across the ray; ``step`` the
    CIELAB step, ``share`` the share of rows that agree.
    """

    ring: int
    direction: float
    radii: Floats
    off: Floats
    error: float
    bias: float
    step: float
    share: float
    rim_in_doubt: bool = False

    @property
    def is_sure(self) -> bool:
        """Whether it may stand in a design: seen at most radii, and no mere shade."""
        return self.share >= SURE_SHARE and self.step >= SHADE_STEP

    @property
    def miss(self) -> float:
        """How far the line of the rows misses the centre, in disc radii."""
        if len(self.radii) < 3:
            return 0.0
        design = np.column_stack([np.ones(len(self.radii)), self.radii])
        return abs(float(np.linalg.lstsq(design, self.off, rcond=None)[0][0]))

    @property
    def doubt(self) -> str:
        """Why this may not be an edge; empty if it is one."""
        if self.rim_in_doubt:
            return "the rim was poorly seen"
        if self.share == 0.0:
            return "given, not seen"
        if self.step < SHADE_STEP:
            return f"a mere shade: colours differ by {self.step:.1f}"
        if self.share < WHOLE_SHARE:
            return f"seen at only {100 * self.share:.0f} % of the radii"
        if self.step < FAINT_STEP:
            return f"faint: colours differ by {self.step:.1f}"
        return ""


class _Rows(NamedTuple):
    """Rows across one edge: places in samples from the ray, and what they agree on."""

    off: Floats
    agrees: Floats
    step: Floats
    size: float
    bias: float


def find_separations(
    picture: Picture,
    plane: DiscPlane,
    glare: Floats,
    disc: Unwrapped,
    ring: RingLimits,
    number: int,
) -> tuple[EdgeRows, ...]:
    """Return a ring's separations, anticlockwise."""
    margin = max(0.012, 4.0 / plane.pixels)
    rows = (disc.radii > ring.inner + margin) & (disc.radii < ring.outer - margin)
    if rows.sum() < 4:
        return ()
    steps, directions, reach = _median_steps(disc, rows, ring, plane)
    rough = _peaks(steps, directions, max(CLOSEST, 1.1 * reach))
    found = [
        placed
        for index, direction in enumerate(rough)
        if (
            placed := place_separation(
                picture, plane, glare, ring, number, direction, _room(rough, index)
            )
        )
    ]
    return tuple(_distinct(found))


def place_separation(
    picture: Picture,
    plane: DiscPlane,
    glare: Floats,
    ring: RingLimits,
    number: int,
    direction: float,
    room: float,
) -> EdgeRows | None:
    """Place one separation near a direction; ``room`` (radians) is free of others either side."""
    pixel = 1.0 / plane.pixels
    margin = max(0.012, 4.0 * pixel)
    low, high = ring.inner + margin, ring.outer - margin
    radii = np.arange(low, high, ROW_PIXELS * pixel)
    half = 12
    reach = half + 8
    # near the centre neighbours come closer than the profile reaches: leave those radii out
    radii = radii[radii * min(room, 0.8) > (half + 2) * 0.5 * pixel]
    if len(radii) < 6:
        return None
    clear = ~is_spoilt(glare, plane.to_picture(polar(radii, np.array([direction]))))[:, 0]
    radii = radii[clear]
    if len(radii) < 6 or len(radii) < LEAST_CLEAR * len(clear):
        return None
    for _ in range(8):
        along = np.array([math.cos(direction), math.sin(direction)])
        across = np.array([-along[1], along[0]])
        steps = np.arange(-reach, reach + 1) * 0.5 * pixel
        points = radii[:, None, None] * along + steps[None, :, None] * across
        rows = _rows_of(_smoothed(sample(picture.linear, plane.to_picture(points))), half)
        off = rows.off * 0.5 * pixel
        if rows.agrees.sum() < 6:
            return None
        turn, agree, error = _agree(radii, off, rows.agrees, pixel)
        direction += turn
        off = off - turn * radii
        if abs(turn) < 0.02 * pixel:
            break
    share = float(agree.mean())
    if share < DOUBTFUL_SHARE:
        return None
    return EdgeRows(
        ring=number,
        direction=direction,
        radii=radii[agree],
        off=off[agree],
        error=error,
        bias=max(rows.bias * 0.5, LEAST_BIAS) * pixel,
        step=rows.size,
        share=share,
    )


def given_separation(number: int, direction: float) -> EdgeRows:
    """Return a separation that a person gave and the picture does not show."""
    return EdgeRows(
        ring=number,
        direction=direction,
        radii=np.ones(1),
        off=np.zeros(1),
        error=0.0,
        bias=GIVEN,
        step=0.0,
        share=0.0,
    )


def _median_steps(
    disc: Unwrapped, rows: Floats, ring: RingLimits, plane: DiscPlane
) -> tuple[Floats, Floats, float]:
    """Return the step across each direction, median over the radii, and how wide it looks."""
    count = len(disc.directions)
    spacing = TURN / count
    middle = (ring.inner + 2.0 * ring.outer) / 3.0
    pixel = 1.0 / (plane.pixels * middle)
    gap = max(1, round(1.5 * pixel / spacing))
    width = max(2, round(max(from_degrees(0.9), 5.0 * pixel) / spacing))
    lab = disc.lab[rows].astype(np.float64)
    lab[disc.spoilt[rows]] = np.nan
    total = np.concatenate([lab, lab[:, : 2 * (gap + width)]], axis=1)
    broken = np.isnan(total[..., :1])
    total = np.cumsum(np.nan_to_num(total), axis=1)
    total = np.concatenate([np.zeros((len(lab), 1, 3)), total], axis=1)
    lost = np.concatenate([np.zeros((len(lab), 1, 1)), np.cumsum(broken, axis=1)], axis=1)
    start = np.arange(count)
    far = start + width + 2 * gap
    before = (total[:, start + width] - total[:, start]) / width
    after = (total[:, far + width] - total[:, far]) / width
    spoilt = (lost[:, far + width] - lost[:, start])[..., 0] > 0
    rises = after - before
    usable = (~spoilt).mean(axis=0) >= LEAST_CLEAR
    steps = np.median(rises, axis=0)
    partly = usable & spoilt.any(axis=0)
    if partly.any():
        held = np.where(spoilt[:, partly, None], np.nan, rises[:, partly])
        steps[partly] = np.nanmedian(held, axis=0)
    steps[~usable] = 0.0
    directions = (start + width + gap - 0.5) * spacing
    return np.sqrt((steps**2).sum(axis=1)), directions % TURN, (2 * gap + width) * spacing


def _peaks(steps: Floats, directions: Floats, closest: float) -> list[float]:
    """Return directions of the highest steps, none closer to a higher one."""
    count = len(steps)
    near, far = round(closest / TURN * count), round(4.0 * closest / TURN * count)
    flank = np.concatenate([np.arange(-far, -near), np.arange(near + 1, far + 1)])
    found: list[tuple[float, float]] = []
    middles: list[float] = []
    for index in np.argsort(steps, kind="stable")[::-1]:
        if steps[index] < LEAST_STEP or len(found) >= 60:
            break
        direction = float(directions[index])
        ground = float(np.median(steps[(index + flank) % count]))
        if steps[index] > GROUND_RATIO * ground and not any(
            _belongs(direction, float(steps[index]), other, height, closest)
            for other, height in found
        ):
            found.append((direction, float(steps[index])))
            middles.append(direction + _plateau(steps, index, near) * TURN / count)
    return sorted(middles)


def _belongs(direction: float, step: float, other: float, height: float, closest: float) -> bool:
    """Say whether a step is only the foot of a higher one."""
    apart = abs(math.remainder(direction - other, TURN))
    return apart <= closest or (apart <= 2.0 * closest and step < 0.4 * height)


def _plateau(steps: Floats, index: int, near: int) -> float:
    """Return how far the middle of the plateau about a peak lies from it, in steps."""
    window = np.arange(-near, near + 1)
    high = window[steps[(index + window) % len(steps)] > 0.8 * steps[index]]
    return float(high.mean())


def _room(rough: list[float], index: int) -> float:
    if len(rough) < 2:
        return TURN / 2.0
    here = rough[index]
    before, after = rough[index - 1], rough[(index + 1) % len(rough)]
    return min((here - before) % TURN, (after - here) % TURN)


def _smoothed(linear: Floats) -> Floats:
    """Average each row with its neighbours: noise falls, an edge along the ray stays sharp."""
    padded = np.concatenate([linear[:1], linear, linear[-1:]])
    return np.asarray((padded[:-2] + padded[1:-1] + padded[2:]) / 3.0)


def _rows_of(linear: Floats, half: int) -> _Rows:
    """Place each row's edge; a row counts whose step looks like the rows' median step."""
    lab = lab_from_linear(linear)
    middle = lab.shape[1] // 2
    end = half // 2
    left = slice(middle - half, middle - half + end)
    right = slice(middle + half - end + 1, middle + half + 1)
    rise = lab[:, right].mean(axis=1) - lab[:, left].mean(axis=1)
    step = np.median(rise, axis=0)
    size = math.sqrt(float(step @ step))
    if size < 1e-6:
        nothing = np.zeros(len(lab))
        return _Rows(nothing, nothing > 1.0, step, 0.0, 0.0)
    likeness = (rise @ step) / size**2
    rest = np.sqrt(((rise - likeness[:, None] * step) ** 2).sum(axis=1)) / size
    window = linear[:, middle - half : middle + half + 1]
    light = window @ np.array(LUMINANCE) if abs(step[0]) > BRIGHTNESS_STEP else window
    light = light.reshape(*window.shape[:2], -1)
    off = _shares_sum(light, end) - half
    mean = window[(likeness > 0.5) & (likeness < 1.7)]
    mean = mean.mean(axis=0, keepdims=True) if len(mean) else window.mean(axis=0, keepdims=True)
    encoded = float(_shares_sum(srgb_from_linear(mean), end)[0]) - half
    apart = encoded - float(_shares_sum(mean, end)[0]) + half
    if abs(step[0]) <= BRIGHTNESS_STEP:
        off = off + apart / 3.0
    doubt = abs(apart) * (0.15 if abs(step[0]) > BRIGHTNESS_STEP else 0.3)
    agrees = (likeness > 0.6) & (likeness < 1.5) & (rest < 0.5) & (np.abs(off) < half - 1)
    return _Rows(off, agrees, step, size, doubt)


def _shares_sum(window: Floats, end: int) -> Floats:
    """Return where each profile passes from its first to its last colour (``edge_profile``)."""
    first, last = window[:, :end].mean(axis=1), window[:, -end:].mean(axis=1)
    step = last - first
    square = np.maximum((step**2).sum(axis=1), 1e-12)
    share = ((window - first[:, None]) * step[:, None]).sum(axis=2) / square[:, None]
    return np.asarray((1.0 - np.clip(share, -0.6, 1.6)).sum(axis=1) - 0.5)


def _agree(radii: Floats, off: Floats, keep: Floats, pixel: float) -> tuple[float, Floats, float]:
    """Return the turn that brings the ray to its rows, the rows that agree, and their error.

    Rows agree on a straight line, which need not run through the centre yet: that is what shows
    where the centre must move (see ``refine_centre``).
    """
    design = np.column_stack([np.ones(len(radii)), radii])
    inner, outer = np.array_split(np.flatnonzero(keep), 2)
    ends = np.array([[1.0, np.median(radii[half])] for half in (inner, outer)])
    middles = np.array([np.median(off[half]) for half in (inner, outer)])
    line = np.linalg.lstsq(ends, middles, rcond=None)[0]
    agree = keep
    error = pixel
    for limit in (4.0, 3.0, 2.5, 2.5):
        rest = off - design @ line
        spread = 1.4826 * float(np.median(np.abs(rest[agree])))
        error = min(max(spread, 0.1 * pixel), 1.0 * pixel)
        agree = keep & (np.abs(rest) <= limit * error)
        if agree.sum() < 4:
            return 0.0, agree, error
        line = np.linalg.lstsq(design[agree], off[agree], rcond=None)[0]
    turn = float((off[agree] @ radii[agree]) / (radii[agree] @ radii[agree]))
    return turn, agree, error


def _distinct(found: list[EdgeRows]) -> list[EdgeRows]:
    """Drop edges that settled on the same place as a better seen one."""
    chosen: list[EdgeRows] = []
    for edge in sorted(found, key=lambda each: -each.share * min(each.step, 20.0)):
        if all(
            abs(math.remainder(edge.direction - other.direction, TURN)) > CLOSEST / 2.0
            for other in chosen
        ):
            chosen.append(edge)
    return sorted(chosen, key=lambda each: each.direction % TURN)


def refine_centre(
    edges: tuple[EdgeRows, ...], circles: tuple[tuple[float, float, float], ...]
) -> tuple[Floats, Floats, Floats]:
    """Solve for the centre and all directions together.

    A centre wrong by ``e`` shows as rows that lie ``e`` off, across the ray: least squares over all
    rows, with a shift of each edge as a whole held to its bias, and over circles as (x, y,
    uncertainty): where, in the disc's plane, each puts the centre.

    Returns
    -------
    The step (x, y) the centre must move, the turn of every edge, and the covariance of all these.
    """
    number = len(edges)
    count = 2 + 2 * number
    normal, right = np.zeros((count, count)), np.zeros(count)
    for index, edge in enumerate(edges):
        weight = (0.2 if edge.doubt else 1.0) / (edge.error**2 * INDEPENDENT)
        rows = np.zeros((len(edge.radii), count))
        rows[:, 0] = -math.sin(edge.direction)
        rows[:, 1] = math.cos(edge.direction)
        rows[:, 2 + index] = edge.radii
        rows[:, 2 + number + index] = 1.0
        normal += weight * rows.T @ rows
        right += weight * rows.T @ edge.off
        normal[2 + number + index, 2 + number + index] += 1.0 / edge.bias**2
    for x, y, uncertainty in circles:
        normal[:2, :2] += np.eye(2) / uncertainty**2
        right[:2] += np.array([x, y]) / uncertainty**2
    normal[:2, :2] += np.eye(2) / 0.05**2  # perspective is bounded
    covariance = np.linalg.inv(normal)
    solution = covariance @ right
    return solution[:2], solution[2 : 2 + number], covariance
