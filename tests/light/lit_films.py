"""Films with spectra, and a lamp, for tests of what comes through a disc."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from disc.designs import FILMS
from facts.beacons import beacon

from jobprep.light.grid import WAVELENGTHS
from jobprep.model import Design, Film
from jobprep.model.spectrum import Lamp, Spectrum, Transmission

BULB = Lamp(name="bulb", title="a bulb", filament=2856.0)


def band(low: float, high: float, most: float = 0.9) -> np.ndarray:
    """Return a smooth band of transmission between two wavelengths, 1 % beside it."""
    rise = 1.0 / (1.0 + np.exp((low - WAVELENGTHS) / 8.0))
    fall = 1.0 / (1.0 + np.exp((WAVELENGTHS - high) / 8.0))
    return 0.01 + (most - 0.01) * rise * fall


def lit(film: Film, values: np.ndarray, index: float = 1.5) -> Film:
    """Return a film with a total transmission."""
    curve = Spectrum(tuple(map(float, WAVELENGTHS)), tuple(map(float, values)))
    transmission = Transmission(curve=curve, source="data sheet")
    return replace(film, transmission=transmission, refractive_index=index)


CURVES = {
    "clear": np.full(401, 0.9),
    "red": band(600.0, 900.0),
    "green": band(500.0, 570.0),
    "amber": band(550.0, 900.0),
}
LIT = {name: lit(film, CURVES[name]) if name in CURVES else film for name, film in FILMS.items()}
"""The films of ``disc.designs``, all with spectra; black needs none."""


def lit_beacon(lamp: Lamp | None = BULB, black: float = 240.0) -> Design:
    """Return the beacon, in a machine with a lamp."""
    wheel = beacon(black)
    assert wheel.machine is not None
    return replace(wheel, machine=replace(wheel.machine, lamp=lamp))
