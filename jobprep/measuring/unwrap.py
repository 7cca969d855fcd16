"""Unwrap the disc to direction × radius, and find the circles that bound its rings."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from jobprep.measuring.colour import lab_from_linear
from jobprep.measuring.disc_plane import DiscPlane, polar
from jobprep.measuring.edge_profile import edge_positions, sample
from jobprep.measuring.measured import Floats, Measured
from jobprep.measuring.picture import Picture
from jobprep.units import TURN

LEAST_SHARE = 0.10
"""Share of directions in which a circle between two rings must show a step."""

CLEAR_STEP = 7.0
"""CIELAB step that counts as seen when rings are separated."""

FAINT_CIRCLE = 1.2
"""CIELAB step of medians that counts as a faint circle."""

LEAST_RADII = 5
"""Least number of radii to search for a faint circle: it must stand out from those beside it."""

MARGIN = 0.015
"""How close, in disc radii, two circles may lie and still bound a ring."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unwrapped:
    """The disc in CIELAB, (radii, directions, 3), and where glare has spoilt it.

    ``radii`` run in disc radii a little beyond the rim; ``directions`` anticlockwise from +x.
    """

    radii: Floats
    directions: Floats
    lab: Floats
    spoilt: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class RingLimits:
    """A ring between two circles, in disc radii; None where it reaches the bore or the rim."""

    inner: float
    outer: float
    inner_measured: Measured | None = None
    outer_measured: Measured | None = None


def unwrap(picture: Picture, plane: DiscPlane, glare: Floats) -> Unwrapped:
    """Sample the disc about its centre, about one sample per pixel at the rim."""
    count = _count(TURN * plane.pixels, 1440, 2880)
    directions = np.arange(count) * TURN / count
    radii = np.linspace(0.01, 1.08, _count(1.08 * plane.pixels / 1.6, 160, 360))
    places = plane.to_picture(polar(radii, directions))
    return Unwrapped(
        radii=radii,
        directions=directions,
        lab=lab_from_linear(sample(picture.linear, places)).astype(np.float32),
        spoilt=is_spoilt(glare, places),
    )


def is_spoilt(glare: Floats, places: Floats) -> Floats:
    """Return which places (..., 2) of the picture glare has spoilt, (...)."""
    rows, columns = glare.shape
    x = np.clip(np.rint(places[..., 0]).astype(np.intp), 0, columns - 1)
    y = np.clip(np.rint(places[..., 1]).astype(np.intp), 0, rows - 1)
    return np.asarray(glare[y, x])


def find_rings(
    picture: Picture, plane: DiscPlane, disc: Unwrapped, bore: float
) -> tuple[RingLimits, ...]:
    """Return the rings between bore and rim, innermost first."""
    limits = [_placed(picture, plane, radius) for radius in _limit_radii(disc, bore)]
    seen = [each for each in limits if each is not None]
    bounds: list[Measured | None] = [None, *seen, None]
    rings = []
    for inner, outer in pairwise(bounds):
        low = bore if inner is None else inner.value
        high = 1.0 if outer is None else outer.value
        if high - low > MARGIN:
            rings.append(
                RingLimits(inner=low, outer=high, inner_measured=inner, outer_measured=outer)
            )
    return tuple(rings)


def rings_again(
    picture: Picture, plane: DiscPlane, rings: tuple[RingLimits, ...]
) -> tuple[RingLimits, ...]:
    """Return rings with their limits placed again, about a centre close by."""
    before = [
        limit
        for ring in rings
        for limit in (ring.inner_measured, ring.outer_measured)
        if limit is not None
    ]
    now = {limit: _placed(picture, plane, limit.value) or limit for limit in set(before)}

    def again(limit: Measured | None, otherwise: float) -> tuple[float, Measured | None]:
        return (otherwise, None) if limit is None else (now[limit].value, now[limit])

    found = []
    for ring in rings:
        inner, inner_measured = again(ring.inner_measured, ring.inner)
        outer, outer_measured = again(ring.outer_measured, ring.outer)
        found.append(
            RingLimits(
                inner=inner,
                outer=outer,
                inner_measured=inner_measured,
                outer_measured=outer_measured,
            )
        )
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True)
class OctantRises:
    """The step at radii (n,) of each octant's medians, (n, 8, 3), in CIELAB."""

    radii: Floats
    rises: Floats

    def between(self, low: float, high: float) -> OctantRises:
        """Return those between two radii."""
        usable = (self.radii > low) & (self.radii < high)
        return OctantRises(radii=self.radii[usable], rises=self.rises[usable])


def octant_rises(disc: Unwrapped) -> OctantRises:
    """Return the steps of a disc, each the median over the directions of an octant.

    The median over many directions sees steps far below what one direction shows.
    """
    width = max(2, round(0.012 / (disc.radii[1] - disc.radii[0])))
    octants = np.array_split(disc.lab, 8, axis=1)
    profile = np.stack([np.median(part, axis=1) for part in octants], axis=1).astype(np.float64)
    total = np.cumsum(np.concatenate([np.zeros((1, *profile.shape[1:])), profile]), axis=0)
    index = np.arange(width, len(disc.radii) - width + 1)
    rises = (total[index + width] - 2.0 * total[index] + total[index - width]) / width
    radii = (disc.radii[index - 1] + disc.radii[np.minimum(index, len(disc.radii) - 1)]) / 2.0
    return OctantRises(radii=radii, rises=rises)


def faint_circle(steps: OctantRises, low: float, high: float) -> float | None:
    """Return the radius of a faint step between two radii that the octants agree on, else None."""
    near = steps.between(low, high)
    if len(near.radii) < LEAST_RADII:
        return None
    step = np.median(near.rises, axis=1)
    size = np.sqrt((step**2).sum(axis=1))
    ground = float(np.percentile(size, 25.0))
    best = int(np.argmax(size))
    agree = (near.rises[best] @ step[best]) / max(size[best], 1e-9) ** 2
    if size[best] < max(FAINT_CIRCLE, 4.0 * ground) or (np.abs(agree - 1.0) < 0.5).sum() < 7:
        return None
    return float(near.radii[best])


def _limit_radii(disc: Unwrapped, bore: float) -> list[float]:
    """Return radii at which enough directions show a step, well inside bore and rim."""
    width = max(2, round(0.008 / (disc.radii[1] - disc.radii[0])))
    total = np.cumsum(
        np.concatenate([np.zeros((1, *disc.lab.shape[1:])), disc.lab.astype(np.float64)]), axis=0
    )
    index = np.arange(width, len(disc.radii) - width + 1)
    after = (total[2 * width :] - total[width:-width]) / width
    before = (total[width:-width] - total[: -2 * width]) / width
    seen = (np.sqrt(((after - before) ** 2).sum(axis=2)) > CLEAR_STEP) & ~disc.spoilt[index - 1]
    share = seen.mean(axis=1)
    radii = (disc.radii[index - 1] + disc.radii[np.minimum(index, len(disc.radii) - 1)]) / 2.0
    usable = (radii > bore + MARGIN) & (radii < 1.0 - MARGIN)
    # a circle stands out from what textures, specks and slanting edges show at all radii
    around = np.array(
        [np.median(share[max(0, i - 6 * width) : i + 6 * width + 1]) for i in range(len(share))]
    )
    excess = np.where(usable, share - around, 0.0)
    found: list[float] = []
    for i in np.argsort(excess, kind="stable")[::-1]:
        if excess[i] < LEAST_SHARE:
            break
        if all(abs(radii[i] - other) > 1.5 * MARGIN for other in found):
            found.append(float(radii[i]))
    return sorted(found)


def _placed(picture: Picture, plane: DiscPlane, radius: float) -> Measured | None:
    """Place a concentric circle from the directions that show it."""
    pixel = 1.0 / plane.pixels
    directions = np.arange(720) * TURN / 720
    unit = np.column_stack([np.cos(directions), np.sin(directions)])
    reach = max(0.012, 7.0 * pixel)
    steps = radius + np.arange(-reach, reach + 0.25 * pixel, 0.5 * pixel)
    linear = sample(picture.linear, plane.to_picture(unit[:, None, :] * steps[None, :, None]))
    position, weight = edge_positions(linear, lab_from_linear(linear))
    places = steps[0] + position[weight > CLEAR_STEP] * 0.5 * pixel
    if len(places) < 0.5 * LEAST_SHARE * len(directions):
        return None
    middle = float(np.median(places))
    spread = 1.4826 * float(np.median(np.abs(places - middle)))
    near = places[np.abs(places - middle) <= 3.0 * max(spread, 0.2 * pixel)]
    if len(near) < 0.6 * len(places) or spread > 2.5 * pixel:
        return None
    # neighbouring directions share pixels: about one in three is independent
    error = float(near.std()) / (len(near) / 3.0) ** 0.5
    return Measured(float(near.mean()), max(error, 0.1 * pixel))


def _count(wanted: float, least: int, most: int) -> int:
    return int(min(max(wanted, least), most))
