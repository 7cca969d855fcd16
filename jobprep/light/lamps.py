"""The spectral power of lamps: filaments by Planck's law, standard illuminants, spectra.

Sources: Planck's law with c2 = hc/k = 0.01438776877 m K (CODATA 2018, exact since the SI of 2019);
ISO/CIE 11664-2 and CIE 15 (illuminants; A is a formula there, with a constant c2 of its own).
"""

from __future__ import annotations

import numpy as np

from jobprep.light.grid import WAVELENGTHS, Floats, data_columns, on_grid
from jobprep.model.spectrum import Lamp

C2 = 1.438776877e7
"""Second radiation constant, nm K."""
A_C2, A_KELVIN = 1.435e7, 2848.0
"""Of illuminant A: its c2 and temperature are those of 1931 (ISO/CIE 11664-2)."""
REFERENCE = 560.0
"""Wavelength at which the power of A and of filaments is 100, nm."""


def power(lamp: Lamp) -> Floats:
    """Return a lamp's relative power at ``WAVELENGTHS``, shape (401,).

    Raises ``ValueError`` for a lamp of which nothing says what its light is made of.
    """
    if lamp.spectrum is not None:
        return on_grid(lamp.spectrum)
    if lamp.filament is not None:
        return filament_power(lamp.filament)
    if lamp.illuminant is not None:
        return illuminant_power(lamp.illuminant)
    raise ValueError(f"the lamp {lamp.name} has no spectrum")


def filament_power(kelvin: float) -> Floats:
    """Return the relative power of a filament of a colour temperature, by Planck's law.

    Tungsten's visible light is nearly that of a black body; its colour temperature is that of the
    black body whose light has the same colour.
    """
    return _planck(kelvin, C2)


def illuminant_power(name: str) -> Floats:
    """Return the relative power of a standard illuminant at ``WAVELENGTHS``, shape (401,).

    Raises ``KeyError`` for an unknown one.
    """
    if name == "A":
        return _planck(A_KELVIN, A_C2)
    if name == "E":
        return np.ones_like(WAVELENGTHS)
    columns = data_columns("illuminants.csv")
    return np.interp(WAVELENGTHS, columns["nm"], columns[name])


def _planck(kelvin: float, c2: float) -> Floats:
    shape = (REFERENCE / WAVELENGTHS) ** 5
    factor = np.expm1(c2 / (kelvin * REFERENCE)) / np.expm1(c2 / (kelvin * WAVELENGTHS))
    return np.asarray(100.0 * shape * factor)
