"""Colours, their differences, and which films come close.

Colours are sRGB (0..1, encoded), linear RGB (0..1, D65) or CIELAB (L 0..100, D65, 2 degrees);
arrays carry the three channels in the last axis.

Sources: IEC 61966-2-1:1999 (the four-digit matrix of sRGB); CIE 15 and ISO/CIE 11664-4 (CIELAB).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from jobprep.colour import LAB_KNEE, RGB_TO_XYZ, WHITE, channels, decode, encode, hex_of
from jobprep.light.difference import ciede2000
from jobprep.measuring.measured import Floats
from jobprep.model import Film

COLOUR_CAVEAT = (
    "A photograph says how a film looked under one light, not what it lets through: two films of "
    "the same picture colour can differ by eye in another lamp. Take the proposals as a first "
    "choice, lay the film beside the original in the lamp it will work in, and decide there. "
    "Without spectra, stacks are computed by multiplying the three colour channels, which only "
    "comes near to multiplying transmissions at every wavelength."
)
"""To be shown wherever films are proposed."""

_TO_XYZ = np.array(RGB_TO_XYZ)
_DELTA = LAB_KNEE


class Lab(NamedTuple):
    """A CIELAB colour."""

    lightness: float
    a: float
    b: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmMatch:
    """One film or a stack of films, front to back, its colour and CIEDE2000 difference."""

    films: tuple[str, ...]
    lab: Lab
    difference: float


def linear_from_srgb(encoded: ArrayLike) -> Floats:
    """Decode sRGB to linear light."""
    return decode(np.asarray(encoded, dtype=np.float64))


def srgb_from_linear(linear: ArrayLike) -> Floats:
    """Encode linear light as sRGB; values outside 0..1 are clipped."""
    return encode(np.clip(np.asarray(linear, dtype=np.float64), 0.0, 1.0))


def lab_from_linear(linear: ArrayLike) -> Floats:
    """Convert linear RGB to CIELAB."""
    ratio = np.asarray(linear, dtype=np.float64) @ _TO_XYZ.T / WHITE
    root = np.where(
        ratio > _DELTA**3,
        np.cbrt(np.maximum(ratio, 0.0)),
        ratio / (3.0 * _DELTA**2) + 4.0 / 29.0,
    )
    x, y, z = np.moveaxis(root, -1, 0)
    return np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=-1)


def linear_from_lab(lab: ArrayLike) -> Floats:
    """Convert CIELAB to linear RGB; colours outside the sRGB gamut leave 0..1."""
    lightness, a, b = np.moveaxis(np.asarray(lab, dtype=np.float64), -1, 0)
    y = (lightness + 16.0) / 116.0
    root = np.stack([y + a / 500.0, y, y - b / 200.0], axis=-1)
    ratio = np.where(root > _DELTA, root**3, 3.0 * _DELTA**2 * (root - 4.0 / 29.0))
    return np.asarray(ratio * WHITE @ np.linalg.inv(_TO_XYZ).T)


def lab_from_srgb(encoded: ArrayLike) -> Floats:
    """Convert sRGB (0..1) to CIELAB."""
    return lab_from_linear(linear_from_srgb(encoded))


def lab_from_hex(text: str) -> Lab:
    """Convert ``#rrggbb`` to CIELAB."""
    return Lab(*map(float, lab_from_srgb(channels(text))))


def hex_from_lab(lab: ArrayLike) -> str:
    """Convert CIELAB to the nearest ``#rrggbb``."""
    return hex_of(srgb_from_linear(linear_from_lab(lab)))


def film_lab(film: Film) -> Lab:
    """Return a film's colour: its measured one, else that of its picture."""
    return lab_from_hex(film.colour) if film.lab is None else Lab(*film.lab)


def stacked_lab(films: Iterable[Film]) -> Lab:
    """Return the colour of films laid over each other, channel transmittances multiplied."""
    through = np.ones(3)
    for film in films:
        through = through * np.clip(linear_from_lab(film_lab(film)), 0.0, 1.0)
    return Lab(*(float(value) for value in lab_from_linear(through)))


def nearest_films(
    lab: tuple[float, float, float], films: Iterable[Film], count: int = 3, *, stacks: bool = True
) -> tuple[FilmMatch, ...]:
    """Return the ``count`` films, and stacks of two that let light through, nearest in colour.

    A stack is listed only where it comes nearer than each of its films alone; stand-ins for films
    to be chosen are left out. Show ``COLOUR_CAVEAT`` with the result.
    """
    singles = sorted((film for film in films if film.is_chosen), key=lambda film: film.name)
    if not singles:
        return ()
    colours = np.array([film_lab(film) for film in singles])
    matches = _matches(lab, [(film.name,) for film in singles], colours)
    passing = [place for place, film in enumerate(singles) if film.light == "passes"]
    if stacks and passing:
        pairs = np.array(list(combinations_with_replacement(passing, 2)))
        through = np.clip(linear_from_lab(colours), 0.0, 1.0)
        stacked = lab_from_linear(through[pairs[:, 0]] * through[pairs[:, 1]])
        names = [(singles[first].name, singles[second].name) for first, second in pairs]
        alone = {match.films[0]: match.difference for match in matches}
        matches += [
            match
            for match in _matches(lab, names, stacked)
            if match.difference < min(alone[name] for name in match.films) - 1e-9
        ]
    return tuple(sorted(matches, key=lambda each: (each.difference, len(each.films)))[:count])


def _matches(
    lab: tuple[float, float, float], names: Sequence[tuple[str, ...]], colours: Floats
) -> list[FilmMatch]:
    """Return how near colours (n, 3) of films or stacks come to one; ValueError for no colour."""
    differences = ciede2000(lab, colours)
    if not np.isfinite(differences).all():
        raise ValueError(f"not a colour: {lab}")
    return [
        FilmMatch(films=films, lab=Lab(*map(float, colour)), difference=float(difference))
        for films, colour, difference in zip(names, colours, differences, strict=True)
    ]
