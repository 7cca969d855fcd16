"""Place one separation to a fraction of a pixel.

The edge is placed at each radius by itself, and enough radii must agree on one line.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from jobprep.colour import LUMINANCE
from jobprep.measuring.colour import lab_from_linear, srgb_from_linear
from jobprep.measuring.disc_plane import DiscPlane, polar
from jobprep.measuring.edge_profile import sample
from jobprep.measuring.edge_rows import DOUBTFUL_SHARE, INDEPENDENT, ROW_PIXELS, EdgeRows
from jobprep.measuring.ground import Ground, goes_on, on_ground
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture
from jobprep.measuring.shade import contrast
from jobprep.measuring.step_search import LEAST_CLEAR
from jobprep.measuring.unwrap import RingLimits, is_spoilt

BRIGHTNESS_STEP = 20.0
"""Above this step in CIELAB lightness an edge is placed by luminance alone.

JPEG keeps colour at half the sharpness, in encoded values; where the edge is mostly one of colour
the places in linear and encoded light are averaged two to one. How far they lie apart goes into the
uncertainty, since a camera may have sharpened or smoothed in either.
"""

GRAIN = 6.0
"""Half pixels by which an edge may be misplaced where the light beside it changes by as much as the
edge itself: a quarter of the profile that places it."""

LEAST_BIAS = 0.15
"""Pixels an edge may lie off as a whole for reasons that its rows do not show."""

FROM_MEDIAN = 1.4826
"""From the median of deviations to their standard deviation, of a normal distribution."""

SHARED = 0.35
"""How much more noise rows share, for each pixel of blur: a Gaussian's noise agrees over 2 √π times
its deviation, against ``INDEPENDENT`` rows."""


class _Rows(NamedTuple):
    """Rows across one edge: places in samples from the ray, and what they agree on."""

    off: Floats
    agrees: Floats
    step: Floats
    size: float
    bias: float
    contrast: float = 0.0
    sides: Floats | None = None
    grain: float = 0.0


def place_separation(
    picture: Picture,
    plane: DiscPlane,
    glare: Floats,
    ground: Ground,
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
    # a grain along the edge has one error over much of its length: two independent stretches
    grainy = 0.25 * GRAIN * min(rows.grain, 1.0) * pixel
    alike = agree.sum() / (2.0 * INDEPENDENT)
    error = math.hypot(error, grainy * math.sqrt(alike))
    return EdgeRows(
        ring=number,
        direction=direction,
        radii=radii[agree],
        off=off[agree],
        error=error * math.hypot(1.0, SHARED * picture.softness),
        bias=max(0.5 * rows.bias, LEAST_BIAS) * pixel,
        step=rows.size,
        share=share,
        contrast=rows.contrast,
        of_ground=goes_on(picture, plane, direction, rows.step, half)
        or on_ground(rows.sides, rows.size, ground),
    )


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
    alike = (likeness > 0.5) & (likeness < 1.7)
    whole = (linear[alike] if alike.any() else linear).mean(axis=0)
    mean = whole[None, middle - half : middle + half + 1]
    encoded = float(_shares_sum(srgb_from_linear(mean), end)[0]) - half
    apart = encoded - float(_shares_sum(mean, end)[0]) + half
    if abs(step[0]) <= BRIGHTNESS_STEP:
        off = off + apart / 3.0
    doubt = abs(apart) * (0.15 if abs(step[0]) > BRIGHTNESS_STEP else 0.3)
    agrees = (likeness > 0.6) & (likeness < 1.5) & (rest < 0.5) & (np.abs(off) < half - 1)
    before, after = mean[0, :end].mean(axis=0), mean[0, -end:].mean(axis=0)
    doubt = math.hypot(doubt, GRAIN * _unevenness(whole, before, after, middle - half))
    sides = lab_from_linear(np.array([before, after]))
    grain = _grain(linear[alike] if alike.any() else linear, before, after, middle - half)
    return _Rows(off, agrees, step, size, doubt, float(contrast(before, after)), sides, grain)


def _unevenness(mean: Floats, before: Floats, after: Floats, margin: int) -> float:
    """Return the difference of the light farther out from that used, as a share of the step.

    Both sides count. Rows beside a grain along the edge all have the same error, so their scatter
    does not show it.
    """
    step = after - before
    off = [mean[:margin].mean(axis=0) - before, mean[-margin:].mean(axis=0) - after]
    shares = [float(each @ step) / max(float(step @ step), 1e-12) for each in off]
    return min(math.hypot(*shares), 1.0)


def _grain(rows: Floats, before: Floats, after: Floats, margin: int) -> float:
    """Return by how much the same difference varies from row to row (standard deviation)."""
    step = after - before
    end = rows.shape[1] - margin
    sides = [
        rows[:, :margin].mean(axis=1) - rows[:, margin : 2 * margin].mean(axis=1),
        rows[:, end:].mean(axis=1) - rows[:, end - margin : end].mean(axis=1),
    ]
    shares = np.array([each @ step for each in sides]) / max(float(step @ step), 1e-12)
    off = np.abs(shares - np.median(shares, axis=1)[:, None])
    return FROM_MEDIAN * math.hypot(*np.median(off, axis=1))


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
    inner, outer = np.array_split(np.flatnonzero(keep), 2)
    near, far = (float(np.median(radii[half])) for half in (inner, outer))
    first, last = (float(np.median(off[half])) for half in (inner, outer))
    slope = (last - first) / (far - near)
    miss = first - slope * near
    agree = keep
    error = pixel
    for limit in (4.0, 3.0, 2.5, 2.5):
        rest = off - miss - slope * radii
        spread = 1.4826 * float(np.median(np.abs(rest[agree])))
        error = min(max(spread, 0.1 * pixel), 1.0 * pixel)
        agree = keep & (np.abs(rest) <= limit * error)
        if agree.sum() < 4:
            return 0.0, agree, error
        mean, own = radii[agree].mean(), radii[agree] - radii[agree].mean()
        slope = float(own @ off[agree]) / float(own @ own)
        miss = float(off[agree].mean() - slope * mean)
    turn = float((off[agree] @ radii[agree]) / (radii[agree] @ radii[agree]))
    return turn, agree, error
