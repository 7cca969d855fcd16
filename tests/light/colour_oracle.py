"""Colours of light by colour-science, an independent library, from our curves as arrays."""

from __future__ import annotations

import warnings

import numpy as np
from numpy.typing import NDArray

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # it names the packages for plots that are not there
    import colour

Floats = NDArray[np.float64]
OBSERVER = colour.MSDS_CMFS["CIE 1931 2 Degree Standard Observer"]
SHAPE = colour.SpectralShape(380, 780, 1)
SEEN = OBSERVER.copy().trim(SHAPE)


def distribution(wavelengths: Floats, values: Floats) -> colour.SpectralDistribution:
    """Return a curve at every nm, straight between its values."""
    every = np.interp(SHAPE.wavelengths, wavelengths, values)
    return colour.SpectralDistribution(every, SHAPE.wavelengths)


def illuminant(name: str) -> colour.SpectralDistribution:
    """Return the library's own table of an illuminant, straight between its values.

    For A, a formula in the standard and a table of 5 nm in the library, its formula.
    """
    if name == "A":
        return colour.sd_CIE_standard_illuminant_A(SHAPE)
    table = colour.SDS_ILLUMINANTS[name]
    return distribution(table.wavelengths, table.values)


def xyz(curve: colour.SpectralDistribution, light: colour.SpectralDistribution) -> Floats:
    """Return XYZ, Y = 1 for the bare light."""
    return colour.sd_to_XYZ(curve, SEEN, light, method="Integration", shape=SHAPE) / 100.0


def lab(values: Floats, bare: Floats) -> Floats:
    """Return CIELAB with the bare light as white."""
    return colour.XYZ_to_Lab(values, colour.XYZ_to_xy(bare))


def chromaticity(values: Floats) -> Floats:
    """Return u' and v'."""
    return colour.xy_to_Luv_uv(colour.XYZ_to_xy(values))


def filament(kelvin: float) -> Floats:
    """Return Planck's law at every nm, 100 at 560 nm; c2 as the SI fixes it."""
    law = colour.colorimetry.planck_law(SHAPE.wavelengths * 1e-9, kelvin, c2=0.01438776877)
    return 100.0 * law / law[560 - 380]


def difference(first: Floats, second: Floats) -> float:
    """Return the colour difference CIEDE2000."""
    return float(colour.difference.delta_E_CIE2000(first, second))
