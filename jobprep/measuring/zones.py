"""What lies between the edges: colours, open places, opaque places."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from jobprep.light.difference import ciede2000
from jobprep.measuring.colour import Lab, linear_from_lab, nearest_films
from jobprep.measuring.light import Lighting, film_colour
from jobprep.measuring.measured import Floats
from jobprep.measuring.measurement import ColourZone, ZoneKind
from jobprep.measuring.unwrap import Unwrapped
from jobprep.model import Film
from jobprep.units import TURN

LIKE_GROUND = 9.0
"""CIEDE2000 difference up to which a zone looks like the ground round the disc."""

OPAQUE_LIGHTNESS = 14.0
DARK_LIGHTNESS = 26.0
"""CIELAB lightness below which a zone counts as opaque."""

OPAQUE_CHROMA = 8.0

DARK_GROUND = 65.0
"""CIELAB lightness of a ground below which the light that films throw back may be as strong as what
comes through dark ones, twice: then all of them look grey (common practice, no source)."""

OTHER_COLOUR, OTHER_SHARE = 18.0, 0.12
"""CIELAB distance from the median, and share of a zone so far off, that show a second colour."""


FROM_MEDIAN = 1.4826
"""From the median of deviations to their standard deviation, of a normal distribution."""

INDEPENDENT = 30.0
"""Pixels of a zone that count as independent: mottles are large (common practice, no source)."""


class ZonePlace(NamedTuple):
    """A zone between two radii that starts at an edge and runs clockwise over a width."""

    inner: float
    outer: float
    edge: float
    width: float


class ZoneSeen(NamedTuple):
    """A zone's median colour in CIELAB and linear light, (3,), and the spread of the latter.

    ``other`` is the share of its pixels that are of another colour.
    """

    lab: Floats
    linear: Floats
    spread: Floats
    other: float


def zone_mask(disc: Unwrapped, zone: ZonePlace, pixel: float) -> Floats:
    """Return (radii, directions) of a zone that starts at ``edge`` and runs clockwise.

    Three pixels along its border are left out.
    """
    radii = disc.radii[:, None]
    rows = (radii > zone.inner + 3.5 * pixel) & (radii < zone.outer - 3.5 * pixel)
    if zone.width >= TURN:
        return np.asarray(np.broadcast_to(rows, disc.spoilt.shape))
    past = (zone.edge - disc.directions) % TURN
    rim = 3.5 * pixel / np.maximum(radii, pixel)
    return np.asarray(rows & (past > rim) & (past < zone.width - rim))


def ground_colour(disc: Unwrapped) -> Lab:
    """Return the median colour just outside the rim."""
    rows = (disc.radii > 1.03) & (disc.radii < 1.075)
    return Lab(*(float(value) for value in np.median(disc.lab[rows].reshape(-1, 3), axis=0)))


def zone_seen(disc: Unwrapped, mask: Floats) -> ZoneSeen | None:
    """Return the colour of a zone, glare left out; None where too little of it is seen."""
    pixels = disc.lab[mask & ~disc.spoilt]
    if len(pixels) < 30:
        return None
    lab = np.median(pixels, axis=0).astype(np.float64)
    apart = np.sqrt(((pixels[:: max(1, len(pixels) // 5000)] - lab) ** 2).sum(axis=1))
    linear = linear_from_lab(lab)
    spread = np.median(np.abs(linear_from_lab(pixels) - linear), axis=0) * FROM_MEDIAN
    return ZoneSeen(lab, linear, spread, float((apart > OTHER_COLOUR).mean()))


def describe_zone(
    seen: ZoneSeen | None, ground: Lab, lighting: Lighting, films: tuple[Film, ...]
) -> ColourZone:
    """Return a zone's colour, kind and nearest films."""
    if seen is None:
        return ColourZone(doubt="too small or too spoilt by glare to tell its colour")
    kind, doubt = _kind(seen.lab, ground)
    if kind != "clear" and seen.other > OTHER_SHARE:
        doubt = "of more than one colour: an edge in it may not have been seen"
    lab, off = film_colour(seen.linear, seen.spread / math.sqrt(INDEPENDENT), lighting)
    proposals = nearest_films(lab, films, 3)
    if films and all(len(match.films) > 1 for match in proposals):
        proposals = (*proposals[:2], *nearest_films(lab, films, 1, stacks=False))
    return ColourZone(kind=kind, lab=lab, lab_off=off, proposals=proposals, doubt=doubt)


def _kind(lab: Floats, ground: Lab) -> tuple[ZoneKind, str]:
    chroma = float(np.hypot(lab[1], lab[2]))
    if float(ciede2000(lab, ground)) < LIKE_GROUND:
        return "clear", "looks like the ground: clear film or no film at all"
    if lab[0] < OPAQUE_LIGHTNESS and chroma < OPAQUE_CHROMA:
        return "opaque", ""
    if lab[0] < DARK_LIGHTNESS:
        return "colour", (
            "so dark that a film is not surely told from an opaque one, and that an edge in it may"
            " not have been seen"
        )
    if ground.lightness < DARK_GROUND and chroma < OPAQUE_CHROMA and lab[0] < ground.lightness:
        return "colour", (
            "as grey as what dark films throw back before a dark ground: an edge between two of"
            " them in it may not have been seen; take the picture on white paper"
        )
    return "colour", ""
