"""The colour of light, as XYZ of the CIE 1931 observer, CIELAB, and u', v'.

XYZ are shares of the Y of the lamp alone: the bare lamp has Y = 1, and Y of what comes through a
film is its luminous transmittance. CIELAB takes the bare lamp as white, as an eye used to it does;
u' and v' are those of the light itself.

Sources: CIE 15 and ISO/CIE 11664-1, -3 (tristimulus values), ISO/CIE 11664-4 (CIELAB), ISO/CIE
11664-5 (u', v').
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from jobprep.colour import LAB_KNEE
from jobprep.light.grid import Floats, data_columns
from jobprep.light.lamps import power
from jobprep.model.spectrum import Lamp


class Appearance(NamedTuple):
    """A light under one lamp: XYZ with Y = 1 for the bare lamp, CIELAB, u' and v'.

    ``chromaticity`` is None where no light comes through.
    """

    xyz: tuple[float, float, float]
    lab: tuple[float, float, float]
    chromaticity: tuple[float, float] | None


@lru_cache(maxsize=64)
def weights(lamp: Lamp) -> Floats:
    """Return what each wavelength of a transmission adds to X, Y and Z; shape (401, 3).

    Raises ``ValueError`` for a lamp without visible light.
    """
    columns = data_columns("observer.csv")
    observer = np.column_stack([columns[name] for name in ("x", "y", "z")])
    weighted = power(lamp)[:, np.newaxis] * observer
    whole = weighted[:, 1].sum()
    if not whole > 0.0:
        raise ValueError(f"the lamp {lamp.name} gives no visible light")
    found = np.asarray(weighted / whole)
    found.flags.writeable = False
    return found


def white(lamp: Lamp) -> Floats:
    """Return XYZ of the bare lamp, Y = 1."""
    return np.asarray(weights(lamp).sum(axis=0))


def tristimulus(transmission: ArrayLike, lamp: Lamp) -> Floats:
    """Return XYZ of light through transmissions, shape (..., 401) to (..., 3)."""
    return np.asarray(np.asarray(transmission, dtype=np.float64) @ weights(lamp))


def pair_tristimulus(transmissions: Floats, lamp: Lamp) -> Floats:
    """Return XYZ of light through each pair of n films on one another, shape (n, n, 3).

    ``transmissions`` is (n, 401). No array holds the product of two films: each of X, Y and Z is
    T diag(w) T'.
    """
    own = weights(lamp)
    sums = [(transmissions * own[:, axis]) @ transmissions.T for axis in range(3)]
    return np.stack(sums, axis=-1)


def lab_of(xyz: ArrayLike, lamp: Lamp) -> Floats:
    """Return CIELAB of XYZ, the bare lamp being white; shape (..., 3)."""
    ratio = np.asarray(xyz, dtype=np.float64) / white(lamp)
    root = np.where(
        ratio > LAB_KNEE**3,
        np.cbrt(np.maximum(ratio, 0.0)),
        ratio / (3.0 * LAB_KNEE**2) + 4.0 / 29.0,
    )
    x, y, z = np.moveaxis(root, -1, 0)
    return np.stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)], axis=-1)


def chromaticity_of(xyz: ArrayLike) -> tuple[float, float] | None:
    """Return u' and v' of one XYZ, None where it is dark."""
    x, y, z = (float(value) for value in np.asarray(xyz, dtype=np.float64))
    total = x + 15.0 * y + 3.0 * z
    return (4.0 * x / total, 9.0 * y / total) if total > 0.0 else None


def seen(transmission: ArrayLike, lamp: Lamp) -> Appearance:
    """Return how one transmission looks under a lamp."""
    return seen_as(tristimulus(transmission, lamp), lamp)


def seen_as(xyz: ArrayLike, lamp: Lamp) -> Appearance:
    """Return how light of known XYZ looks to an eye used to a lamp."""
    values = np.asarray(xyz, dtype=np.float64)
    x, y, z = (float(value) for value in values)
    lightness, a, b = (float(value) for value in lab_of(values, lamp))
    return Appearance((x, y, z), (lightness, a, b), chromaticity_of(values))
