"""Invent the transmission curves of the shipped films: the smoothest that have their colours.

``python tests/invented_spectra.py`` writes them. No film of any maker has such a curve: it is the
one of least steps from one wavelength to the next, between nothing and what a surface lets through,
whose light in daylight (CIE D65) has the colour of the film's picture. What ties it to that colour
is tested in ``tests/light/test_shipped_spectra.py``.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from jobprep.colour import LAB_KNEE
from jobprep.files.materials.library import shipped_materials
from jobprep.light.grid import WAVELENGTHS
from jobprep.light.tristimulus import weights, white
from jobprep.measuring.colour import lab_from_hex
from jobprep.model.spectrum import DAYLIGHT

STEP = 10
MOST = 0.97
"""No curve reaches higher; of clear film even less comes through."""
COLOUR = re.compile(r'^colour = "(#[0-9A-Fa-f]{6})"', re.MULTILINE)

Floats = NDArray[np.float64]


def curve_of(colour: str) -> Floats:
    """Return the smoothest curve of a colour at every tenth nm, shape (41,)."""
    at = WAVELENGTHS[::STEP]
    # What each value adds to X, Y and Z, straight lines in between.
    hats = np.array([np.interp(WAVELENGTHS, at, unit) for unit in np.eye(len(at))])
    to_xyz = weights(DAYLIGHT).T @ hats.T
    wanted = _xyz(colour)

    def through(z: Floats) -> Floats:
        return MOST * (np.tanh(z) + 1.0) / 2.0

    found = minimize(
        lambda z: float((np.diff(z) ** 2).sum()),
        np.zeros(len(at)),
        jac=lambda z: 2.0 * (np.r_[0.0, np.diff(z)] - np.r_[np.diff(z), 0.0]),
        constraints={
            "type": "eq",
            "fun": lambda z: to_xyz @ through(z) - wanted,
            "jac": lambda z: to_xyz * (MOST / 2.0 / np.cosh(z) ** 2),
        },
        method="SLSQP",
        options={"maxiter": 1000, "ftol": 1e-12},
    )
    assert found.success, (colour, found.message)
    return through(found.x)


def _xyz(colour: str) -> Floats:
    lightness, a, b = lab_from_hex(colour)
    y = (lightness + 16.0) / 116.0
    root = np.array([y + a / 500.0, y, y - b / 200.0])
    ratio = np.where(root > LAB_KNEE, root**3, 3.0 * LAB_KNEE**2 * (root - 4.0 / 29.0))
    return ratio * white(DAYLIGHT)


def text_of(name: str, colour: str) -> str:
    """Return the file of a film's curve."""
    rows = zip(WAVELENGTHS[::STEP], curve_of(colour), strict=True)
    return (
        f"# Total transmission of {name}: INVENTED, the smoothest curve of {colour}; no\n"
        "# film of any maker has it. Put the curve of your own film in its place.\n"
        "nm,transmission\n" + "".join(f"{nm:g},{value:.4f}\n" for nm, value in rows)
    )


def written(folder: Path) -> dict[Path, str]:
    """Return the text of every curve that a shipped film names, by its file."""
    found = {}
    for path in sorted(folder.glob("*.toml")):
        film = path.read_text(encoding="utf-8")
        colour = COLOUR.search(film)
        if "transmission = " in film and colour:
            found[path.with_suffix(".csv")] = text_of(path.stem, colour[1])
    return found


if __name__ == "__main__":
    for path, text in written(shipped_materials() / "films").items():
        path.write_text(text, encoding="utf-8")
