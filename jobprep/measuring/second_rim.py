"""Look for a second circle close outside the rim: the edge of clear film beyond the colours.

A clear film changes little of the light, but does so at one radius all round. Each sector's mean
over its directions takes a grain away, and the median over the sectors a board's edge, a speck or
the shadow on one side; what the sectors differ by says how far the median may be off.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from jobprep.measuring.colour import lab_from_linear
from jobprep.measuring.disc_plane import DiscPlane, polar
from jobprep.measuring.edge_profile import sample
from jobprep.measuring.ground import LIGHTNESS_FOOT
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture
from jobprep.units import TURN

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
DIRECTIONS = 1440
ROW = 0.8
"""Pixels between two radii at which the light is taken."""

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


def rim_steps(picture: Picture, plane: DiscPlane) -> RimSteps:
    """Return the steps in lightness of the median sector, where another rim may lie.

    ``picture`` is as it was taken: softened, the rim's own step would reach too far out.
    """
    radii = np.arange(BEYOND_RIM[0] - 2.0 * WIDTH, BEYOND_RIM[1] + 2.0 * WIDTH, ROW / plane.pixels)
    directions = np.arange(DIRECTIONS) * TURN / DIRECTIONS
    seen = sample(picture.linear, plane.to_picture(polar(radii, directions)))
    return steps_of(radii, lab_from_linear(seen)[..., 0])


def steps_of(all_radii: Floats, light: Floats) -> RimSteps:
    """Return the same of the lightness (radii, directions) at evenly spaced radii."""
    width = max(2, round(WIDTH / (all_radii[1] - all_radii[0])))
    sectors = np.stack(
        [part.mean(axis=1) for part in np.array_split(light, SECTORS, axis=1)], axis=1
    )
    total = np.cumsum(np.concatenate([np.zeros((1, SECTORS)), sectors]), axis=0)
    index = np.arange(width, len(all_radii) - width + 1)
    rises = (total[index + width] - 2.0 * total[index] + total[index - width]) / width
    radii = (all_radii[index - 1] + all_radii[np.minimum(index, len(all_radii) - 1)]) / 2.0
    near = (radii > BEYOND_RIM[0]) & (radii < BEYOND_RIM[1])
    steps = np.median(rises[near], axis=1)
    spread = FROM_MEDIAN * np.median(np.abs(rises[near] - steps[:, None]), axis=1)
    errors = MEDIAN_ERROR * spread / math.sqrt(SECTORS)
    ground = float(np.median(light[all_radii > BEYOND_RIM[1]]))
    # lightness goes with the cube root of the light
    least = LEAST_SHARE / 3.0 * (max(ground, 0.0) + LIGHTNESS_FOOT)
    return RimSteps(radii[near], steps, errors, least)
