"""Which stacks of the films at hand come near a measured thickness and mass.

Both are held against a stack at once. A film that comes out thicker is heavier, too, so the two
deviations hang together, and what fits is what lies in their common region of 95 %.

Sources: JCGM 100:2008, 4.3.7 (limits taken for a rectangular distribution, u = a / √3) and 5.2
(quantities that depend on each other); the chi-square quantile of two degrees of freedom is
-2 ln(1 - p), of one the square of the normal one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement
from typing import NamedTuple

from jobprep.errors import CannotDoError
from jobprep.model import Film
from jobprep.model.design import GLUE_DENSITY, NO_GLUE, GlueLine

MOST_LAYERS = 8
"""Plain layers of one stack: more than any disc here has (common practice, no source)."""

MOST_TRIED = 200_000
"""Stacks tried before the films at hand must be named."""

DENSITY_OFF = 0.01
"""Standard uncertainty of a film's density, as a share of it (common practice, no source)."""

FITS_ONE = 3.841
FITS_BOTH = -2.0 * math.log(0.05)
"""Chi-square quantiles of 95 %, of one degree of freedom and of two."""


class InstrumentReading(NamedTuple):
    """What an instrument read, and its largest error either way, in the same unit."""

    value: float
    error: float

    @property
    def variance(self) -> float:
        """The square of its standard uncertainty."""
        return self.error**2 / 3.0


class KeptFilm(NamedTuple):
    """Of one film: how often it lies in the thickest stack, and its area in all, mm²."""

    film: Film
    times: int
    area: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SoughtStack:
    """What a stack is held against.

    ``thickness`` mm where the disc is thickest and ``mass`` g, at least one of them; ``area`` mm²
    of a plain layer and ``glue_area`` of a glue line; ``kept`` what certainly lies in the disc, in
    ``kept_layers`` levels where it is thickest. ``other_mass`` g is that of a printed hub and
    counterweights.
    """

    thickness: InstrumentReading | None
    mass: InstrumentReading | None
    area: float
    glue_area: float
    glue_line: GlueLine = NO_GLUE
    kept: tuple[KeptFilm, ...] = ()
    kept_layers: int = 0
    other_mass: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class StackProposal:
    """Plain layers beside what is kept: names of films that neither reading tells apart, each.

    ``thickness`` mm and ``mass`` g of the whole disc, ``thickness_off`` and ``mass_off`` how far
    its films and glue let them be off, as two standard uncertainties; ``distance`` is chi-square.
    """

    layers: tuple[tuple[str, ...], ...]
    thickness: float
    thickness_off: float
    mass: float
    mass_off: float
    distance: float
    fits: bool


def stack_proposals(
    sought: SoughtStack, at_hand: Iterable[Film], most_layers: int = MOST_LAYERS
) -> tuple[StackProposal, ...]:
    """Return every stack that fits, nearest first, or else the nearest alone.

    Films alike in thickness and density count as one, whose layers come from one sheet: that is
    the wider case. Neither thickness nor mass says in which order the layers lie.

    Raises
    ------
    CannotDoError
        There are too many stacks to try them all.
    """
    alike = _alike(at_hand)
    tried = math.comb(len(alike) + most_layers, most_layers)
    if tried > MOST_TRIED:
        raise CannotDoError(
            f"{tried} stacks of {len(alike)} films could be meant; name the films at hand "
            "(--film), or fewer layers (--most-layers)"
        )
    least = 0 if sought.kept else 1
    found = sorted(
        (_proposal(sought, stack) for stack in _stacks(alike, least, most_layers)),
        key=lambda each: (each.distance, len(each.layers), each.layers),
    )
    fitting = [each for each in found if each.fits]
    return tuple(fitting or found[:1])


def _alike(films: Iterable[Film]) -> list[tuple[Film, ...]]:
    groups: dict[tuple[float, float, float], list[Film]] = {}
    for film in sorted(films, key=lambda each: each.name):
        key = (film.thickness, film.thickness_tolerance, film.density)
        groups.setdefault(key, []).append(film)
    return [tuple(group) for group in groups.values()]


def _stacks(
    alike: Sequence[tuple[Film, ...]], least: int, most: int
) -> Iterator[tuple[tuple[Film, ...], ...]]:
    for count in range(least, most + 1):
        yield from combinations_with_replacement(alike, count)


def _proposal(sought: SoughtStack, stack: tuple[tuple[Film, ...], ...]) -> StackProposal:
    shares = [*sought.kept, *(KeptFilm(group[0], 1, sought.area) for group in stack)]
    by_film: dict[str, tuple[Film, int, float]] = {}
    for film, times, area in shares:
        _, more, larger = by_film.get(film.name, (film, 0, 0.0))
        by_film[film.name] = (film, times + more, area + larger)
    glue, tolerance = sought.glue_line
    lines = max(0, sought.kept_layers + len(stack) - 1)
    glue_mass = sought.glue_area * GLUE_DENSITY * lines
    thickness, mass = lines * glue, sought.other_mass + glue_mass * glue
    # Variances of thickness and mass, and their covariance, film by film and of the glue.
    tt, tm, mm = (
        (lines * tolerance) ** 2 / 3.0,
        lines * glue_mass * tolerance**2 / 3.0,
        (glue_mass * tolerance) ** 2 / 3.0,
    )
    for film, times, area in by_film.values():
        per_mm, variance = area * film.density, film.thickness_tolerance**2 / 3.0
        thickness += times * film.thickness
        mass += per_mm * film.thickness
        tt += times**2 * variance
        tm += times * per_mm * variance
        mm += per_mm**2 * variance + (per_mm * film.thickness * DENSITY_OFF) ** 2
    distance, limit = _distance(sought, thickness, mass, (tt, tm, mm))
    return StackProposal(
        layers=tuple(tuple(film.name for film in group) for group in stack),
        thickness=thickness,
        thickness_off=2.0 * math.sqrt(tt),
        mass=mass,
        mass_off=2.0 * math.sqrt(mm),
        distance=distance,
        fits=distance <= limit,
    )


def _distance(
    sought: SoughtStack, thickness: float, mass: float, own: tuple[float, float, float]
) -> tuple[float, float]:
    """Return chi-square of the deviations, and what it may be."""
    tt, tm, mm = own
    if sought.mass is None:
        assert sought.thickness is not None
        variance = tt + sought.thickness.variance
        return (thickness - sought.thickness.value) ** 2 / variance, FITS_ONE
    if sought.thickness is None:
        return (mass - sought.mass.value) ** 2 / (mm + sought.mass.variance), FITS_ONE
    tt, mm = tt + sought.thickness.variance, mm + sought.mass.variance
    t, m = thickness - sought.thickness.value, mass - sought.mass.value
    return (mm * t * t - 2.0 * tm * t * m + tt * m * m) / (tt * mm - tm * tm), FITS_BOTH
