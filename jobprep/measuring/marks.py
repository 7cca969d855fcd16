"""Find holes beside the centre: small round places where the ground shows through."""

from __future__ import annotations

import math
from functools import partial
from typing import NamedTuple

import numpy as np

from jobprep.light.difference import ciede2000
from jobprep.measuring.circle_fit import fit_circle
from jobprep.measuring.colour import Lab, lab_from_linear
from jobprep.measuring.disc_plane import DiscPlane, polar
from jobprep.measuring.edge_profile import edge_positions, sample
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture
from jobprep.measuring.remembered import Remembered
from jobprep.measuring.unwrap import Unwrapped
from jobprep.units import TURN

LEAST_DIFFERENCE = 6.0
"""CIELAB distance from its zone at which a place may be a hole."""

SMALLEST, LARGEST = 0.009, 0.12
"""Radii, in disc radii, between which a round place may be a hole; at least three pixels."""

LEAST_ROUNDNESS = 0.6
LEAST_SUPPORT = 0.75
LEAST_SHARPNESS = 0.65
"""Share of its whole step that a hole's edge makes within three pixels; glare fades slower."""

MOST_HOLES = 12
LIKE_GROUND_HERE = 20.0
"""CIEDE2000 difference up to which a hole's inside may be the ground, unevenly lit."""


class FoundHole(NamedTuple):
    """A hole in the disc's plane: place, radius, standard uncertainty of each, and doubt."""

    x: float
    y: float
    radius: float
    uncertainty: float
    doubt: str


def find_holes(
    picture: Picture,
    plane: DiscPlane,
    disc: Unwrapped,
    odd: Floats,
    ground: Lab,
    kept: Remembered,
) -> tuple[FoundHole, ...]:
    """Return the holes inside the zones, largest first; doubtful ones say so."""
    found: list[FoundHole] = []
    for x, y, radius in _round_blobs(disc, odd, plane):
        hole = kept.of(
            ("hole", x, y, radius), partial(_refined, picture, plane, x, y, radius, ground)
        )
        if hole is not None and all(
            math.dist(hole[:2], other[:2]) > hole.radius for other in found
        ):
            found.append(hole)
    return tuple(found[:MOST_HOLES])


def odd_places(disc: Unwrapped, mask: Floats) -> Floats:
    """Return where a zone differs from the plane of colour fitted to it (light is uneven)."""
    if mask.sum() < 60:
        return np.zeros_like(mask)
    row, column = np.nonzero(mask)
    radius, direction = disc.radii[row], disc.directions[column]
    x, y = radius * np.cos(direction), radius * np.sin(direction)
    lab = disc.lab[row, column].astype(np.float64)
    design = np.column_stack([np.ones(len(x)), x, y])
    clear = np.flatnonzero(~disc.spoilt[row, column])
    if len(clear) < 60:
        return np.zeros_like(mask)
    thin = clear[:: max(1, len(clear) // 12000)]
    design_part, lab_part = design[thin], lab[thin]
    keep = np.ones(len(design_part), dtype=bool)
    for _ in range(3):
        model = np.linalg.lstsq(design_part[keep], lab_part[keep], rcond=None)[0]
        off_part = np.sqrt(((lab_part - design_part @ model) ** 2).sum(axis=1))
        middle = float(np.median(off_part))
        keep = off_part < max(4.0 * middle, 3.0)
    off = np.sqrt(((lab - design @ model) ** 2).sum(axis=1))
    result = np.zeros(mask.shape, dtype=bool)
    result[row, column] = off > max(LEAST_DIFFERENCE, 4.5 * middle)
    return result


def _round_blobs(
    disc: Unwrapped, odd: Floats, plane: DiscPlane
) -> list[tuple[float, float, float]]:
    """Return (x, y, radius) of round blobs, in the disc's plane, largest first."""
    from scipy import ndimage

    extra = len(disc.directions) // 8
    wrapped = np.concatenate([odd, odd[:, :extra]], axis=1)
    labels, _ = ndimage.label(ndimage.binary_fill_holes(wrapped))
    cell = (disc.radii[1] - disc.radii[0]) * (disc.directions[1] - disc.directions[0])
    least = max(SMALLEST, 3.0 / plane.pixels)
    blobs = []
    for number, where in enumerate(ndimage.find_objects(labels), start=1):
        row, column = np.nonzero(labels[where] == number)
        radius = disc.radii[row + where[0].start]
        direction = disc.directions[(column + where[1].start) % len(disc.directions)]
        weight = radius * cell
        area = float(weight.sum())
        size = math.sqrt(area / math.pi)
        if not 0.7 * least < size < LARGEST:
            continue
        x, y = radius * np.cos(direction), radius * np.sin(direction)
        middle = float(weight @ x) / area, float(weight @ y) / area
        reach = float(np.hypot(x - middle[0], y - middle[1]).max())
        if area / (math.pi * reach**2) > 0.75 * LEAST_ROUNDNESS:
            blobs.append((*middle, size))
    return sorted(blobs, key=lambda each: -each[2])[:60]


def _refined(
    picture: Picture, plane: DiscPlane, x: float, y: float, radius: float, ground: Lab
) -> FoundHole | None:
    """Fit a circle to the blob's edge; None where it is not round."""
    pixel = 1.0 / plane.pixels
    angles = np.arange(48) * TURN / 48
    unit = np.column_stack([np.cos(angles), np.sin(angles)])
    circle = np.array([x, y, radius])
    for _ in range(3):
        reach = min(max(6.0 * pixel, 0.5 * circle[2]), circle[2] + 8.0 * pixel)
        steps = np.arange(max(-circle[2], -reach), reach + 0.25 * pixel, 0.5 * pixel)
        base = circle[:2] + circle[2] * unit
        linear = sample(
            picture.linear,
            plane.to_picture(base[:, None, :] + steps[None, :, None] * unit[:, None, :]),
        )
        position, weight = edge_positions(linear, lab_from_linear(linear), half=6)
        places = base + (steps[0] + position * 0.5 * pixel)[:, None] * unit
        keep, fitted = weight > 0.0, None
        for limit in (3.5, 3.0, 2.5):
            if keep.sum() < 0.6 * len(angles):
                return None
            try:
                if fitted is None or (keep != fitted).any():
                    fit, fitted = fit_circle(places[keep]), keep
            except ValueError:
                return None
            circle = np.array([*fit.circle.centre, fit.circle.radius])
            off = np.hypot(*(places - circle[:2]).T) - circle[2]
            spread = 1.4826 * float(np.median(np.abs(off[keep])))
            keep = (weight > 0.0) & (np.abs(off) <= limit * max(spread, 0.15 * pixel))
        if math.hypot(circle[0] - x, circle[1] - y) > radius + 3.0 * pixel:
            return None
    if (
        keep.mean() < LEAST_SUPPORT
        or spread > max(0.12 * circle[2], 0.5 * pixel)
        or not max(SMALLEST, 3.0 * pixel) < circle[2] < LARGEST
    ):
        return None
    if _sharpness(picture, plane, circle) < LEAST_SHARPNESS:
        return None
    error = max(1.5 * fit.centre_uncertainty, 0.12 * pixel)
    inside = lab_from_linear(
        np.median(sample(picture.linear, plane.to_picture(circle[:2] + 0.3 * circle[2] * unit)), 0)
    )
    direction = math.atan2(circle[1], circle[0]) + np.linspace(-0.25, 0.25, 41)
    beyond = plane.to_picture(polar(np.array([1.03, 1.045, 1.06]), direction))
    local = np.median(lab_from_linear(sample(picture.linear, beyond)).reshape(-1, 3), axis=0)
    apart = min(float(ciede2000(inside, ground)), float(ciede2000(inside, local)))
    doubt = ""
    if apart > LIKE_GROUND_HERE:
        doubt = "its colour is not that of the ground"
    x, y, size = (float(value) for value in circle)
    return FoundHole(x, y, size, float(error), doubt)


def _sharpness(picture: Picture, plane: DiscPlane, circle: Floats) -> float:
    """Return the share of the step from inside to outside that lies within three pixels."""
    pixel = 1.0 / plane.pixels
    angles = np.arange(48) * TURN / 48
    radii = circle[2] + np.array([-0.7 * circle[2], -3.0 * pixel, 3.0 * pixel, 14.0 * pixel])
    radii[1] = max(radii[1], 0.1 * circle[2])
    radii[0] = min(radii[0], radii[1])
    places = plane.to_picture(polar(radii, angles) + circle[:2])
    inside, near, beyond, outside = np.median(sample(picture.encoded, places), axis=1)
    whole = float(np.linalg.norm(outside - inside))
    return float(np.linalg.norm(beyond - near)) / max(whole, 1e-6)
