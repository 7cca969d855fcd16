"""How much light comes through films, one or more on one another, at every wavelength.

Air between films: each loses light at both of its surfaces, so their total transmissions are
multiplied. Glue of the films' index between them: only the two outer surfaces are left. A real
stack lies between the two. Left out: light thrown to and fro between films, which adds a little,
and what the glue itself takes.

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
"""Refractive index of a film of which nobody gave it (common practice, no source)."""


def has_spectrum(film: Film) -> bool:
    """Whether it is known how much light passes a film at every wavelength."""
    return film.light == "blocks" or film.transmission is not None


def is_invented(film: Film) -> bool:
    """Whether a film's spectrum is nobody's."""
    return film.transmission is not None and film.transmission.source == "invented"


def surface_loss(index: float) -> float:
    """Return what both surfaces of a clear plate of a refractive index let through, 0 to 1."""
    reflected = ((index - 1.0) / (index + 1.0)) ** 2
    return (1.0 - reflected) / (1.0 + reflected)


def index_of(film: Film) -> float:
    """Return a film's refractive index, the usual one where nobody gave it."""
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
        return curve * surface_loss(index_of(film))
    return curve


def stacked(films: Sequence[Film]) -> Floats:
    """Return the transmission of films with air between them, shape (401,); of none all."""
    through = np.ones_like(WAVELENGTHS)
    for film in films:
        through = through * total(film)
    return through


def most_gained(films: Sequence[Film]) -> float:
    """Return how many times the light of the air-spaced stack comes through at most when glued.

    With glue of the films' own index between them, the surfaces of one film are left; where indices
    differ the lowest is taken for them, which reflects least.
    """
    if len(films) < 2:
        return 1.0
    each = math.prod(surface_loss(index_of(film)) for film in films)
    return surface_loss(min(index_of(film) for film in films)) / each
