"""How much light comes through films, one or more on one another, at every wavelength.

Air between films: each loses light at both of its surfaces, so their total transmissions are
multiplied. Glue of the films' index between them: only the two outer surfaces are left. A real
stack lies between the two. Left out: light that is reflected between films, which adds a little,
and what the glue itself absorbs.

Source: Fresnel's reflection at normal incidence, R = ((n - 1) / (n + 1))²; a clear plate passes
(1 - R) / (1 + R) with all its inner reflections (Hecht, Optics).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from jobprep.light.grid import WAVELENGTHS, Floats, on_grid
from jobprep.model.film import Film

USUAL_INDEX = 1.5
"""Refractive index taken for a film that gives none (common practice, no source)."""


def has_spectrum(film: Film) -> bool:
    """Whether the light that passes a film is known at every wavelength."""
    return film.light == "blocks" or film.transmission is not None


def is_invented(film: Film) -> bool:
    """Whether a film's spectrum is invented: neither measured nor from a data sheet."""
    return film.transmission is not None and film.transmission.source == "invented"


def through_surfaces(index: float) -> float:
    """Return the share, 0 to 1, that both surfaces of a clear plate of this index let through."""
    reflected = ((index - 1.0) / (index + 1.0)) ** 2
    return (1.0 - reflected) / (1.0 + reflected)


def index_of(film: Film) -> float:
    """Return a film's refractive index, the usual one where it gives none."""
    return USUAL_INDEX if film.refractive_index is None else film.refractive_index


def total(film: Film) -> Floats:
    """Return a film's total transmission at ``WAVELENGTHS``, shape (401,).

    Raises ``ValueError`` for a film without a spectrum.
    """
    if film.light == "blocks":
        return np.zeros_like(WAVELENGTHS)
    if film.transmission is None:
        raise ValueError(f"the film {film.name} has no spectrum")
    curve = on_grid(film.transmission.curve)
    if film.transmission.kind == "internal":
        return curve * through_surfaces(index_of(film))
    return curve


def stacked(films: Sequence[Film]) -> Floats:
    """Return the transmission of films with air between them, shape (401,); 1 without films.

    Raises ``ValueError`` where one has no spectrum.
    """
    through = np.ones_like(WAVELENGTHS)
    for film in films:
        through = through * total(film)
    return through


def most_gained(films: Sequence[Film]) -> float:
    """Return the most by which glue multiplies the light through a stack of films with air between.

    With glue of the films' own index only the two outer surfaces are left. Where indices differ the
    lowest is taken, which reflects least.
    """
    if len(films) < 2:
        return 1.0
    each = math.prod(through_surfaces(index_of(film)) for film in films)
    return through_surfaces(min(index_of(film) for film in films)) / each
