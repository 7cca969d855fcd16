"""Cutters: what one can reach, how wide and how fast it cuts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, TypeVar

from jobprep.model.film import Film

ValueT = TypeVar("ValueT")

CutterKind = Literal["co2", "diode", "knife"]
OperationName = Literal["mark", "cut-inner", "cut-outer"]
Corner = Literal["lower-left", "lower-right", "upper-left", "upper-right"]

ANY_FILM = "any"


@dataclass(frozen=True, slots=True, kw_only=True)
class Dwell:
    """What makes a controller wait: the word before the number, such as ``G4 P``; its unit."""

    word: str
    unit: Literal["s", "ms"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutter:
    """One cutter with its settings.

    ``bed`` is (width, height) in mm, ``kerf`` the full width of film removed in mm, ``cut_speed``
    in mm/s; both map a film's name, its base or ``"any"`` to a value, the nearest match counts.
    ``mark_speed`` and ``travel_speed``, with the beam off, are in mm/s too.
    ``acceleration`` in mm/s², ``pierce_time`` in s per pierce, ``wavelength`` in nm, None for a
    knife. ``colours`` maps each operation to the stroke colour its driver expects, ``power`` to the
    power written into machine code, in the controller's own unit; without one the beam stays off.
    ``settings`` are what to set for an operation, in the words of the cutter's own panel.
    ``passes`` maps films like ``kerf`` to how often a contour is run. ``overcut`` is how far a
    closed contour must run on over its start, ``spot`` the beam's diameter, mm. ``origin`` is the
    corner from which machine code counts, towards the bed's middle; ``formats`` are those that the
    cutter's driver reads. Without a ``dwell`` machine code does not wait at a pierce.
    """

    name: str
    title: str
    kind: CutterKind
    bed: tuple[float, float]
    wavelength: float | None = None
    kerf: Mapping[str, float]
    cut_speed: Mapping[str, float]
    mark_speed: float
    travel_speed: float
    acceleration: float
    pierce_time: float
    colours: Mapping[OperationName, str]
    cautions: tuple[str, ...]
    power: Mapping[OperationName, float] = field(default_factory=dict)
    settings: Mapping[OperationName, str] = field(default_factory=dict)
    passes: Mapping[str, int] = field(default_factory=dict)
    overcut: float = 0.0
    spot: float | None = None
    origin: Corner = "lower-left"
    formats: tuple[str, ...] = ("svg",)
    dwell: Dwell | None = None

    def kerf_for(self, film: Film) -> float | None:
        """Return the kerf for a film in mm, None when the profile names none."""
        return _nearest(self.kerf, film)

    def cut_speed_for(self, film: Film) -> float | None:
        """Return the cutting speed for a film in mm/s, None when the profile names none."""
        return _nearest(self.cut_speed, film)

    def passes_for(self, film: Film) -> int:
        """Return how often each contour of a film is run."""
        return _nearest(self.passes, film) or 1


def _nearest(values: Mapping[str, ValueT], film: Film) -> ValueT | None:
    for key in (film.name, film.base, ANY_FILM):
        if key in values:
            return values[key]
    return None
