"""Which films, or two on one another, come nearest to a colour in the light of a lamp.

All singles and pairs are one array each: with the spectra of n films as rows, X, Y and Z of all
pairs are three products of matrices, so thousands of stacks cost no more than a few films did.
Where a film has no spectrum, its colour is the measured one, else that of its picture, and stacks
multiply its red, green and blue; both are of daylight, whatever the lamp.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from jobprep.light.difference import ciede2000
from jobprep.light.grid import WAVELENGTHS, Floats
from jobprep.light.transmission import has_spectrum, total
from jobprep.light.tristimulus import lab_of, pair_tristimulus, tristimulus
from jobprep.measuring.colour import film_lab, lab_from_linear, linear_from_lab
from jobprep.model import Film
from jobprep.model.spectrum import DAYLIGHT, Lamp

NO_NEARER = 1e-9
"""A stack that comes nearer by less than this than one of its films alone is not worth it."""


class LightMatch(NamedTuple):
    """One film, or two, with its CIELAB in a lamp and CIEDE2000 from the colour asked for.

    ``is_spectral`` says that the colour comes from spectra of all its films.
    """

    films: tuple[Film, ...]
    lab: tuple[float, float, float]
    difference: float
    is_spectral: bool


class Colours(NamedTuple):
    """CIELAB of n films in a lamp, (n, 3), and of every two on one another, (n, n, 3).

    Of single films and of pairs ``spectral`` says whether spectra gave them.
    """

    alone: Floats
    pairs: Floats
    spectral: Floats


def colours_in(films: Sequence[Film], lamp: Lamp) -> Colours:
    """Return the colours of films and of every two of them in a lamp."""
    known = np.array([has_spectrum(film) for film in films], dtype=bool)
    flat = np.array([film_lab(film) for film in films]).reshape(-1, 3)
    linear = np.clip(linear_from_lab(flat), 0.0, 1.0)
    curves = np.array(
        [
            total(film) if is_known else np.zeros_like(WAVELENGTHS)
            for film, is_known in zip(films, known, strict=True)
        ]
    ).reshape(-1, len(WAVELENGTHS))
    both = known[:, np.newaxis] & known
    by_spectra = lab_of(pair_tristimulus(curves, lamp), lamp)
    by_channels = lab_from_linear(linear[:, np.newaxis] * linear)
    # A film that blocks is seen by its picture's colour, not by the light that it does not pass.
    known &= np.array([film.light != "blocks" for film in films], dtype=bool)
    alone = np.where(known[:, np.newaxis], lab_of(tristimulus(curves, lamp), lamp), flat)
    return Colours(alone, np.where(both[..., np.newaxis], by_spectra, by_channels), known)


def nearest_in(
    lab: tuple[float, float, float], films: Sequence[Film], count: int, lamp: Lamp = DAYLIGHT
) -> tuple[LightMatch, ...]:
    """Return the ``count`` films, and stacks of two that let light through, nearest in a lamp.

    A stack is listed only where it comes nearer than each of its films alone.
    """
    ranked = sorted((film for film in films if film.is_chosen), key=lambda film: film.name)
    if not ranked:
        return ()
    colours = colours_in(ranked, lamp)
    alone = ciede2000(lab, colours.alone)
    pairs = ciede2000(lab, colours.pairs)
    passing = np.array([film.light == "passes" for film in ranked], dtype=bool)
    worth = pairs < np.minimum(alone[:, np.newaxis], alone) - NO_NEARER
    worth &= passing[:, np.newaxis] & passing & np.tri(len(ranked), dtype=bool).T
    first, second = np.nonzero(worth)
    order = np.argsort(np.concatenate([alone, pairs[first, second]]), kind="stable")[:count]
    found = []
    for place in map(int, order):
        stack = place - len(ranked)
        at = (place,) if stack < 0 else (int(first[stack]), int(second[stack]))
        own = colours.alone[at] if stack < 0 else colours.pairs[at]
        difference = alone[at] if stack < 0 else pairs[at]
        found.append(
            LightMatch(
                films=tuple(ranked[index] for index in at),
                lab=(float(own[0]), float(own[1]), float(own[2])),
                difference=float(difference),
                is_spectral=all(bool(colours.spectral[index]) for index in at),
            )
        )
    return tuple(found)
