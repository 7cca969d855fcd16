"""Curves over the wavelength, and the lamp a disc works in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

FIRST_NM, LAST_NM = 380.0, 780.0
"""What is seen: the wavelengths every curve must cover, nm (CIE 15)."""

TransmissionKind = Literal["total", "internal"]
TransmissionSource = Literal["measured", "data sheet", "invented"]


@dataclass(frozen=True, slots=True)
class Spectrum:
    """A value at each wavelength (nm, rising); between two of them it runs straight."""

    wavelengths: tuple[float, ...]
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Transmission:
    """How much light goes through a film at each wavelength, 0 to 1.

    An ``internal`` curve leaves out what both surfaces reflect, a ``total`` one has it in.
    ``source`` is where the curve comes from, None where nobody said.
    """

    curve: Spectrum
    kind: TransmissionKind = "total"
    source: TransmissionSource | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lamp:
    """The light a disc works in: one of three.

    The colour temperature of a ``filament`` in K, the name of a standard ``illuminant``, or the
    ``spectrum`` of its relative power per wavelength.
    """

    name: str
    title: str
    filament: float | None = None
    illuminant: str | None = None
    spectrum: Spectrum | None = None


DAYLIGHT = Lamp(name="daylight", title="daylight, CIE D65", illuminant="D65")
"""What colours are compared in where no lamp is named: sRGB and CIELAB colours are of D65."""
