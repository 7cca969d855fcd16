"""Find the disc's centre inside its rim, from the circles about it and the lines through it.

Seen in perspective the centre is not the middle of the rim's ellipse. A concentric circle of
radius b appears shifted by ``shift (1 - b²)``; a separation stays a straight line through the
centre. Both are used: circles at first, separations to refine (see ``separations``).
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from jobprep.measuring.circle_fit import fit_circle
from jobprep.measuring.colour import lab_from_linear
from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.edge_pixels import EdgePixels, strong_edges
from jobprep.measuring.edge_profile import edge_positions, sample
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture
from jobprep.units import TURN, from_degrees

LARGEST_SHIFT = 0.16
"""How far perspective may move the centre, in disc radii: a camera two diameters away."""

GRID = 380
REACH = 0.62
MOST_VOTERS = 2400
LEAST_SUPPORT = 0.6
_BINS = 48


class InnerCircle(NamedTuple):
    """A circle about the disc's centre, in the plane where the rim is the unit circle."""

    x: float
    y: float
    radius: float
    uncertainty: float
    support: float


def find_centre(picture: Picture, plane: DiscPlane) -> tuple[DiscPlane, tuple[InnerCircle, ...]]:
    """Return the plane with the centre that circles and lines show, and the circles.

    ``plane`` has no shift yet.
    """
    axis = np.linspace(-REACH, REACH, GRID)
    grid = np.stack(np.meshgrid(axis, -axis), axis=-1)
    edges = strong_edges(sample(picture.encoded, plane.to_picture(grid)).astype(np.float32))
    scale = 2.0 * REACH / (GRID - 1)
    places = np.column_stack(
        [edges.places[:, 0] * scale - REACH, REACH - edges.places[:, 1] * scale]
    )
    normals = edges.normals * (1.0, -1.0)
    flat = EdgePixels(places, normals, edges.strengths, edges.weights)
    centre = _vote(flat)
    circles: list[InnerCircle] = []
    for radius in _radii(flat, centre):
        circle = _refined(picture, plane, centre, radius)
        if circle is not None and all(abs(circle.radius - c.radius) > 0.01 for c in circles):
            circles.append(circle)
            if len(circles) == 1:
                centre = np.array([circle.x, circle.y])
    if circles:
        weight = np.array([1.0 / (c.uncertainty**2 + 0.002**2) for c in circles])
        shifts = np.array([(c.x, c.y) for c in circles])
        shifts /= 1.0 - np.array([c.radius for c in circles])[:, None] ** 2
        centre = (weight @ shifts) / weight.sum()
    return plane.moved(centre), tuple(circles)


def _vote(edges: EdgePixels) -> Floats:
    """Return the place near the middle that most circles face and most separations run through."""
    cells = 49
    axis = np.linspace(-LARGEST_SHIFT, LARGEST_SHIFT, cells)
    x, y = np.meshgrid(axis, axis)
    votes = np.zeros(x.shape)
    # single precision is enough for votes on so coarse a grid
    x, y = x.astype(np.float32), y.astype(np.float32)
    radius = np.hypot(edges.places[:, 0], edges.places[:, 1])
    near = np.flatnonzero((radius > 0.02) & (radius < REACH))
    strongest = near[np.argsort(edges.strengths[near], kind="stable")[::-1][:MOST_VOTERS]]
    for part in np.array_split(strongest, 8):
        (px, py), (nx, ny) = (
            edges.places[part].T[..., None, None].astype(np.float32),
            edges.normals[part].T[..., None, None].astype(np.float32),
        )
        dx, dy = x - px, y - py
        through = np.abs(dx * nx + dy * ny)  # distance of the centre from the edge's line
        faced = np.abs(dy * nx - dx * ny)  # and from its normal
        nearer = np.minimum(through, faced) / (0.006 + 0.03 * np.sqrt(dx * dx + dy * dy))
        votes += np.exp(-(nearer**2)).sum(axis=0)
    # far from the ellipse's middle only a strong perspective can put it
    votes *= np.exp(-0.5 * (np.hypot(x, y) / LARGEST_SHIFT) ** 2)
    row, column = np.unravel_index(int(np.argmax(votes)), votes.shape)
    return np.array([axis[column], axis[row]])


def _radii(edges: EdgePixels, centre: Floats) -> list[float]:
    """Return the radii where edges face the centre in the most directions, smallest first."""
    offset = edges.places - centre
    radius = np.hypot(offset[:, 0], offset[:, 1])
    facing = np.abs((offset * edges.normals).sum(axis=1)) / np.maximum(radius, 1e-9)
    slack = np.clip(0.02 / np.maximum(radius, 1e-9), from_degrees(20.0), from_degrees(40.0))
    good = (facing > np.cos(slack)) & (radius > 0.015) & (radius < REACH - 0.08)
    bins = ((np.arctan2(offset[:, 1], offset[:, 0]) / TURN) % 1.0 * _BINS).astype(int) % _BINS
    step = 0.004
    seen = np.zeros((int(REACH / step) + 6, _BINS), dtype=bool)
    for shift in (-3, -2, -1, 0, 1, 2, 3):
        level = np.rint(radius[good] / step).astype(int) + shift
        inside = (level >= 0) & (level < len(seen))
        seen[level[inside], bins[good][inside]] = True
    cover = seen.mean(axis=1)
    found: list[float] = []
    for level in np.argsort(cover, kind="stable")[::-1]:
        if cover[level] < LEAST_SUPPORT or len(found) >= 4:
            break
        if all(abs(level * step - other) > 0.025 for other in found):
            found.append(float(level * step))
    return sorted(found)


def _refined(
    picture: Picture, plane: DiscPlane, centre: Floats, radius: float
) -> InnerCircle | None:
    """Place a circle's edge all round and fit it; None where too little of it is seen."""
    circle = np.array([*centre, radius])
    pixel = 1.0 / plane.pixels
    angles = np.arange(180) * TURN / 180
    unit = np.column_stack([np.cos(angles), np.sin(angles)])
    support, error = 0.0, 0.0
    for reach in (max(wide, 5 * pixel) for wide in (0.035, 0.02, 0.01)):
        reach = min(reach, 0.9 * circle[2])
        steps = np.arange(-reach, reach + 0.25 * pixel, 0.5 * pixel)
        base = circle[:2] + circle[2] * unit
        places = plane.to_picture(base[:, None, :] + steps[None, :, None] * unit[:, None, :])
        linear = sample(picture.linear, places)
        position, weight = edge_positions(linear, lab_from_linear(linear))
        found = base + (steps[0] + position * 0.5 * pixel)[:, None] * unit
        keep, fitted = weight > 0.0, None
        for limit in (4.0, 3.0, 2.5, 2.5):
            if keep.sum() < 0.5 * len(angles):
                return None
            try:
                if fitted is None or (keep != fitted).any():
                    fit, fitted = fit_circle(found[keep]), keep
            except ValueError:
                return None
            circle = np.array([*fit.circle.centre, fit.circle.radius])
            off = np.hypot(*(found - circle[:2]).T) - circle[2]
            spread = 1.4826 * float(np.median(np.abs(off[keep])))
            keep = (weight > 0.0) & (np.abs(off) <= max(limit * spread, 0.3 * pixel))
        support = float(keep.mean())
        error = max(math.sqrt(2.0) * fit.centre_uncertainty, 0.05 * pixel)
        if math.dist(circle[:2], centre) > 0.05 or spread > 2.0 * pixel:
            return None
    if support < LEAST_SUPPORT:
        return None
    x, y, size = (float(value) for value in circle)
    return InnerCircle(x, y, size, error, support)
