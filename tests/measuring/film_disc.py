"""A disc of films as light meets it: what it lets through at a place, and what it reflects.

Places are mm in the plane of the disc, x right, y up, the disc's centre at the origin; angles are
degrees on a dial, clockwise from +y. Colours are linear red, green and blue.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

OPEN = "open"

FILMS = {
    "clear": (0.90, 0.91, 0.91),
    "red": (0.74, 0.04, 0.03),
    "amber": (0.86, 0.46, 0.04),
    "lemon": (0.89, 0.82, 0.12),
    "green": (0.10, 0.44, 0.13),
    "cyan": (0.14, 0.55, 0.62),
    "blue": (0.05, 0.11, 0.52),
    "violet": (0.34, 0.09, 0.42),
    "rose": (0.86, 0.38, 0.52),
    "black": (0.001, 0.001, 0.001),
    "night blue": (0.02, 0.03, 0.12),
    "deep red": (0.20, 0.012, 0.01),
}
"""Share of the light that each film lets through once; `from memory`, of no real film."""

GLOSS = 0.025
"""Share of the light that a film's faces throw back to the camera from all round (two faces of
4 %, most of it past the camera); `common practice, no source`."""


class RoundHole(NamedTuple):
    """A round opening through all films."""

    x: float
    y: float
    radius: float


class FilmRing(NamedTuple):
    """A ring of sectors: sector ``i`` begins at ``edges[i]``; one film alone has no edges."""

    inner: float
    outer: float
    edges: tuple[float, ...]
    films: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmDisc:
    """A disc: rings of coloured films on a hub film that reaches out to the rim."""

    radius: float
    hub: str
    rings: tuple[FilmRing, ...]
    holes: tuple[RoundHole, ...]
    reflectance: float = GLOSS

    def light_through(self, x: NDArray, y: NDArray, soft: float) -> tuple[NDArray, NDArray]:
        """Return what passes at places (n,): the share by colour (n, 3), and of film there (n,).

        Each edge becomes a straight ramp ``soft`` mm wide about its place: the border of its
        shadow under a lamp of some extent.
        """
        x, y = x.astype(np.float32), y.astype(np.float32)
        rho = np.hypot(x, y)
        through = np.broadcast_to(_colour(self.hub), (*x.shape, 3)).astype(np.float32)
        film = np.ones(x.shape, np.float32)
        for ring in self.rings:
            here = (_ramp(ring.outer - rho, soft) * _ramp(rho - ring.inner, soft))[..., None]
            colours, filled = _sectors(ring, x, y, rho, soft)
            through += here * (colours - through)
            film += here[..., 0] * (filled - film)
        gone = _ramp(rho - self.radius, soft)
        for hole in self.holes:
            gone = np.maximum(gone, _ramp(hole.radius - np.hypot(x - hole.x, y - hole.y), soft))
        through += gone[..., None] * (1.0 - through)
        return through, film * (1.0 - gone)


def _ramp(inward: NDArray, soft: float) -> NDArray:
    return np.clip(inward / np.float32(soft) + np.float32(0.5), 0.0, 1.0)


def _colour(name: str) -> NDArray:
    return np.array((1.0, 1.0, 1.0) if name == OPEN else FILMS[name], np.float32)


def _sectors(
    ring: FilmRing, x: NDArray, y: NDArray, rho: NDArray, soft: float
) -> tuple[NDArray, NDArray]:
    colours = np.array([_colour(name) for name in ring.films])
    filled = np.array([name != OPEN for name in ring.films], np.float32)
    if len(ring.films) == 1:
        return np.broadcast_to(colours[0], (*x.shape, 3)), np.full(x.shape, filled[0])
    count = len(ring.films)
    bounds = np.radians([*ring.edges, ring.edges[0] + 360.0]).astype(np.float32)
    past = np.arctan2(x, y) - bounds[0]
    past += np.where(past < 0.0, np.float32(2.0 * np.pi), np.float32(0.0))
    own = np.searchsorted(bounds[1:] - bounds[0], past, side="right") % count
    since, ahead = past + bounds[0] - bounds[own], bounds[own + 1] - bounds[0] - past
    before = 1.0 - _ramp(rho * np.sin(np.minimum(since, np.pi / 2)), soft)
    after = 1.0 - _ramp(rho * np.sin(np.minimum(ahead, np.pi / 2)), soft)
    shares = ((own, 1.0 - before - after), ((own - 1) % count, before), ((own + 1) % count, after))
    mixed = np.zeros((*x.shape, 3), np.float32)
    kept = np.zeros(x.shape, np.float32)
    for index, share in shares:
        mixed += share[..., None] * colours[index]
        kept += share * filled[index]
    return mixed, kept
