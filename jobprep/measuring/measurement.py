"""What was measured of an original disc, from points or from a photograph.

Lengths are mm (or the unit of the points, while ``scale`` is None), directions radians
anticlockwise from +x with y up; the disc's centre is the origin and its zero points to 12 o'clock.
Edges and zones run clockwise, like a dial: zone ``i`` lies between edge ``i`` and the next.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from jobprep.measuring.colour import FilmMatch, Lab
from jobprep.measuring.measured import Measured

ZoneKind = Literal["opaque", "clear", "colour", "unknown"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Separation:
    """A separation between two colours; ``doubt`` says why it may not be one, else empty."""

    name: str
    direction: Measured
    doubt: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ColourZone:
    """What lies between two edges; ``lab`` and ``proposals`` only from a photograph.

    ``lab_off`` is the standard uncertainty of ``lab``, as a CIEDE2000 difference.
    """

    name: str = ""
    kind: ZoneKind = "unknown"
    lab: Lab | None = None
    lab_off: float = 0.0
    proposals: tuple[FilmMatch, ...] = ()
    doubt: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ColourRing:
    """A ring of zones. A diameter that is None reaches the bore or the rim."""

    inner_diameter: Measured | None
    outer_diameter: Measured | None
    edges: tuple[Separation, ...]
    zones: tuple[ColourZone, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredHole:
    """A hole beside the centre; ``diameter`` is None where only its middle was taken."""

    name: str
    diameter: Measured | None
    radius: Measured
    direction: Measured
    doubt: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Concentricity:
    """How far the bore's centre lies from the rim's, and where."""

    offset: Measured
    direction: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """A disc as measured.

    ``scale`` is mm per unit of the points or the picture, None while no diameter or distance is
    known; ``pixel_ratio`` is how much longer a unit is along x than along y, where it was solved
    for. ``warnings`` are whole sentences.
    """

    name: str
    outer_diameter: Measured
    bore_diameter: Measured | None
    concentricity: Concentricity | None
    rings: tuple[ColourRing, ...]
    holes: tuple[MeasuredHole, ...]
    scale: Measured | None
    pixel_ratio: Measured | None = None
    warnings: tuple[str, ...] = ()
