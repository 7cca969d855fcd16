"""What lies round the disc, and whether an edge is only a line of it, seen through clear film."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from jobprep.measuring.colour import lab_from_linear, linear_from_lab
from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.edge_profile import sample
from jobprep.measuring.edge_rows import ROW_PIXELS
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture
from jobprep.measuring.unwrap import Unwrapped
from jobprep.units import TURN

BEYOND, ALIKE = 1.2, 0.35
"""How far out, in disc radii, the line of an edge is followed beyond the rim, and which share of
its step there betrays a line of the ground; `common practice, no source`."""

MOST_GRAINS, LIKE_GROUND = 4.0, 15.0
"""Steps of a grainy ground up to which a step may be one of its own, and the CIELAB distance up to
which a place may show it through clear film; `common practice, no source`."""

MOST_SHADES = 6.0
"""The same of a step that is a mere shade, as hardly any two films make; `common practice, no
source`."""

OTHER_HUE = 0.25
"""Share of a step in linear light that may be one of hue where a grain makes it;
`common practice, no source`."""

LIGHTNESS_FOOT = 16.0
"""Lightness plus this goes with the cube root of the light (CIE 15:2018, 8.2.1.1)."""

APART = 6.0
"""Pixels between the two places whose difference is a ground's grain."""


class Ground(NamedTuple):
    """What lies round the disc: its median CIELAB colour and its ``grain``.

    That is 1.5 times the median difference of two places six pixels apart.
    """

    colour: Floats
    grain: float


def ground_of(disc: Unwrapped, plane: DiscPlane) -> Ground:
    """Return the ground just outside the rim."""
    rows = (disc.radii > 1.03) & (disc.radii < 1.075)
    lab = disc.lab[rows].astype(np.float64)
    apart = max(1, round(APART * len(disc.directions) / (TURN * plane.pixels)))
    steps = np.sqrt(((lab - np.roll(lab, apart, axis=1)) ** 2).sum(axis=2))
    return Ground(np.median(lab.reshape(-1, 3), axis=0), 1.5 * float(np.median(steps)))


def on_ground(sides: Floats | None, size: float, ground: Ground) -> bool:
    """Return whether ``sides`` (2, 3) show a grainy ground, and their step is like its own.

    They show it through clear film where they have its colour, through any film where one is the
    other darkened alike in all colours, by no more than a grain does.
    """
    if sides is None:
        return False
    most = MOST_GRAINS * ground.grain
    off = np.sqrt(((sides - ground.colour) ** 2).sum(axis=1))
    if size <= most and (off < LIKE_GROUND).all():
        return True
    # a grain changes light by a share: in CIELAB the step goes with the cube root of the light
    seen = (float(sides[:, 0].mean()) + LIGHTNESS_FOOT) / (float(ground.colour[0]) + LIGHTNESS_FOOT)
    return size <= MOST_SHADES * ground.grain * seen and _is_shade(sides)


def _is_shade(sides: Floats) -> bool:
    """Return whether one of two CIELAB colours (2, 3) is the other, darkened."""
    before, after = linear_from_lab(sides)
    factor = float(before @ after) / max(float(before @ before), 1e-12)
    rest = float(np.linalg.norm(after - factor * before))
    return rest <= OTHER_HUE * float(np.linalg.norm(after - before))


def goes_on(picture: Picture, plane: DiscPlane, direction: float, step: Floats, half: int) -> bool:
    """Return whether the ground beyond the rim continues the step of an edge: a grain, a board."""
    pixel = 1.0 / plane.pixels
    radii = np.arange(1.03, BEYOND, ROW_PIXELS * pixel)
    along = np.array([math.cos(direction), math.sin(direction)])
    steps = np.array([-half, 1 - half, half - 1, half]) * 0.5 * pixel
    across = steps[:, None] * np.array([-along[1], along[0]])
    lab = lab_from_linear(
        sample(picture.linear, plane.to_picture(radii[:, None, None] * along + across))
    )
    rise = np.median(lab[:, 2:].mean(axis=1) - lab[:, :2].mean(axis=1), axis=0)
    return float(rise @ step) > ALIKE * float(step @ step)
