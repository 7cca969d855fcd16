"""Look for the directions in which the colour of a ring steps at all radii.

The step is the median over the radii, which a speck, a hair, a glare spot or a grain of the table
does not move.
"""

from __future__ import annotations

import math

import numpy as np

from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.measured import Floats
from jobprep.measuring.unwrap import RingLimits, Unwrapped
from jobprep.units import TURN, from_degrees

LEAST_STEP = 1.6
"""Smallest median CIELAB step that may be an edge."""

GROUND_RATIO = 3.0
"""How far a step must stand out from those either side: a grainy table steps everywhere."""

LEAST_CLEAR = 0.25
"""Share of the radii that glare must leave for an edge to be looked for."""

CLOSEST = from_degrees(2.0)
"""Edges nearer to each other than this are not told apart."""


def median_steps(
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
    far = width + 2 * gap

    def at(sums: Floats, place: int) -> Floats:
        return sums[:, place : place + count]

    before = (at(total, width) - at(total, 0)) / width
    after = (at(total, far + width) - at(total, far)) / width
    spoilt = (at(lost, far + width) - at(lost, 0))[..., 0] > 0
    rises = after - before
    usable = (~spoilt).mean(axis=0) >= LEAST_CLEAR
    by_direction = np.ascontiguousarray(np.moveaxis(rises, 0, -1))
    steps = np.median(by_direction, axis=-1, overwrite_input=True)
    partly = usable & spoilt.any(axis=0)
    if partly.any():
        held = np.where(spoilt[:, partly, None], np.nan, rises[:, partly])
        steps[partly] = np.nanmedian(held, axis=0)
    steps[~usable] = 0.0
    directions = (np.arange(count) + width + gap - 0.5) * spacing
    return np.sqrt((steps**2).sum(axis=1)), directions % TURN, (2 * gap + width) * spacing


def peaks(steps: Floats, directions: Floats, closest: float) -> list[float]:
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
    """Return whether a step is only the foot of a higher one."""
    apart = abs(math.remainder(direction - other, TURN))
    return apart <= closest or (apart <= 2.0 * closest and step < 0.4 * height)


def _plateau(steps: Floats, index: int, near: int) -> float:
    """Return how far the middle of the plateau about a peak lies from it, in steps."""
    window = np.arange(-near, near + 1)
    high = window[steps[(index + window) % len(steps)] > 0.8 * steps[index]]
    return float(high.mean())
