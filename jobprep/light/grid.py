"""The wavelengths at which spectra are multiplied and added up: 380 to 780 nm in steps of 1 nm.

CIE 15 has the sums of tristimulus values over 1 nm, and allows 380 to 780 nm.
"""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np
from numpy.typing import NDArray

from jobprep.model.spectrum import FIRST_NM, LAST_NM, Spectrum

Floats = NDArray[Any]
"""An array of float64; its shape is said where it is used."""

WAVELENGTHS: Floats = np.arange(FIRST_NM, LAST_NM + 1.0)
"""nm, shape (401,)."""


def on_grid(spectrum: Spectrum) -> Floats:
    """Return a spectrum's values at ``WAVELENGTHS``, straight between those given."""
    return np.interp(WAVELENGTHS, spectrum.wavelengths, spectrum.values)


@cache
def data_columns(name: str) -> dict[str, Floats]:
    """Return the columns of a data file of this package by their names, ``nm`` among them."""
    text = files("jobprep.light").joinpath("data", name).read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    table = np.array([[float(cell) for cell in line.split(",")] for line in lines[1:]])
    table.flags.writeable = False
    return dict(zip(lines[0].split(","), table.T, strict=True))
