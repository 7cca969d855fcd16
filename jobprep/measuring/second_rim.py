"""Look for a second circle close outside the rim: the edge of clear film beyond the colours.

A clear film changes little of the light, but does so at one radius all round. Each sector's mean
over its directions takes a grain away, and the median over the sectors a board's edge, a speck or
the shadow on one side; what the sectors differ by says how far the median may be off.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from jobprep.measuring.ground import LIGHTNESS_FOOT
from jobprep.measuring.measured import Floats
from jobprep.measuring.unwrap import Unwrapped

BEYOND_RIM = (1.018, 1.068)
"""Where, in radii of the rim, another circle may be the true rim."""

LEAST_SHARE = 0.04
"""Share of the ground's light by which the edge of a clear film is seen to step at least.

One that lets nine tenths of the light through, twice, and throws back up to 3 % takes 6 to 17 % on
card, wood and paper, and blur leaves two thirds of that. Where the ground reflects some 15 % it
takes nothing (common practice, no source)."""

TAKEN_SHARE = 0.75
"""Share of that step from which a circle is taken for one; noise may have lessened it."""

SIGNIFICANT = 5.0
"""Standard uncertainties by which a step must stand out, since the largest of many is taken."""

SECTORS = 36
WIDTH = 0.012
"""How far to either side, in disc radii, the light is averaged."""

FROM_MEDIAN = 1.4826
"""From the median of deviations to their standard deviation, of a normal distribution."""

MEDIAN_ERROR = 1.2533
"""Standard uncertainty of a median over that of a mean, of a normal distribution."""


class RimSteps(NamedTuple):
    """Radii (n,) outside the rim, the CIELAB lightness step there, and its uncertainty.

    ``least`` is the smallest step that the edge of a clear film would make on this ground.
    """

    radii: Floats
    steps: Floats
    errors: Floats
    least: float


def second_rim(around: RimSteps) -> float | None:
    """Return the radius, in disc radii, of a circle close outside the rim, or None."""
    size = np.abs(around.steps)
    # the rim's own blur reaches this far in a small picture, but falls outwards
    top = np.zeros(len(size), dtype=bool)
    top[1:-1] = (size[1:-1] >= size[:-2]) & (size[1:-1] >= size[2:])
    seen = top & (size >= TAKEN_SHARE * around.least) & (size >= SIGNIFICANT * around.errors)
    if not seen.any():
        return None
    return float(around.radii[np.argmax(np.where(seen, size, 0.0))])


def hides_second_rim(around: RimSteps) -> bool:
    """Return whether a grain or noise is so strong that such a circle would not stand out."""
    if not len(around.radii):
        return True
    return SIGNIFICANT * float(np.median(around.errors)) > around.least


def rim_steps(disc: Unwrapped) -> RimSteps:
    """Return the steps in lightness of the median sector, where another rim may lie."""
    width = max(2, round(WIDTH / (disc.radii[1] - disc.radii[0])))
    light = disc.lab[..., 0].astype(np.float64)
    sectors = np.stack(
        [part.mean(axis=1) for part in np.array_split(light, SECTORS, axis=1)], axis=1
    )
    total = np.cumsum(np.concatenate([np.zeros((1, SECTORS)), sectors]), axis=0)
    index = np.arange(width, len(disc.radii) - width + 1)
    rises = (total[index + width] - 2.0 * total[index] + total[index - width]) / width
    radii = (disc.radii[index - 1] + disc.radii[np.minimum(index, len(disc.radii) - 1)]) / 2.0
    near = (radii > BEYOND_RIM[0]) & (radii < BEYOND_RIM[1])
    steps = np.median(rises[near], axis=1)
    spread = FROM_MEDIAN * np.median(np.abs(rises[near] - steps[:, None]), axis=1)
    errors = MEDIAN_ERROR * spread / math.sqrt(SECTORS)
    ground = float(np.median(light[disc.radii > BEYOND_RIM[1]]))
    # lightness goes with the cube root of the light
    least = LEAST_SHARE / 3.0 * (max(ground, 0.0) + LIGHTNESS_FOOT)
    return RimSteps(radii[near], steps, errors, least)
