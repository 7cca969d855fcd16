"""Films as plain data."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from jobprep.units import to_g_m2

if TYPE_CHECKING:
    from jobprep.model import Film
    from jobprep.model.spectrum import Transmission


def film_json(film: Film) -> dict[str, Any]:
    """Return all that is known of a film; every key names its unit."""
    curve = film.transmission
    return {
        "name": film.name,
        "title": film.title,
        "base": film.base,
        "thickness_mm": film.thickness,
        "thickness_tolerance_mm": film.thickness_tolerance,
        "areal_mass_g_m2": to_g_m2(film.areal_mass),
        "colour": film.colour,
        "lab": None if film.lab is None else list(film.lab),
        "light": film.light,
        "transmission": None if curve is None else _curve_json(curve),
        "refractive_index": film.refractive_index,
        "passes_nm": [list(band) for band in film.passes],
        "least_web_mm": film.least_web,
        "least_hole_mm": film.least_hole,
        "sheets_mm": [[sheet.width, sheet.height] for sheet in film.sheets],
        "refused": film.refused,
        "cautions": list(film.cautions),
    }


def _curve_json(transmission: Transmission) -> dict[str, Any]:
    return {
        "kind": transmission.kind,
        "source": transmission.source,
        "wavelengths_nm": list(transmission.curve.wavelengths),
        "share": list(transmission.curve.values),
    }
