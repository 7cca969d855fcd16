"""Cutters: what one can reach, how wide and how fast it cuts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
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
    ``cut_power`` maps films like ``kerf`` to the power that cuts them, before ``power``.
    ``assumed`` names the values that nobody has chosen, such as ``mark_speed`` or ``kerf.any``.
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
    cut_power: Mapping[str, float] = field(default_factory=dict)
    assumed: tuple[str, ...] = ()

    def kerf_for(self, film: Film) -> float | None:
        """Return the kerf for a film in mm, None when the profile names none."""
        return _nearest(self.kerf, film)

    def cut_speed_for(self, film: Film) -> float | None:
        """Return the cutting speed for a film in mm/s, None when the profile names none."""
        return _nearest(self.cut_speed, film)

    def power_for(self, film: Film, operation: OperationName) -> float:
        """Return the power of an operation on a film, 0 where the profile names none."""
        cut = None if operation == "mark" else _nearest(self.cut_power, film)
        return self.power.get(operation, 0.0) if cut is None else cut

    def assumed_for(self, film: Film) -> tuple[str, ...]:
        """Return the names of the values for a film that nobody has chosen."""
        in_use = {f"{table}.{key}" for table, key in self._keys_for(film)}
        return tuple(name for name in self.assumed if "." not in name or name in in_use)

    def _keys_for(self, film: Film) -> Iterator[tuple[str, str]]:
        for table, values in (("kerf", self.kerf), ("cut_speed", self.cut_speed)):
            found = _nearest({key: key for key in values}, film)
            if found is not None:
                yield table, found

    def passes_for(self, film: Film) -> int:
        """Return how often each contour of a film is run."""
        return _nearest(self.passes, film) or 1


def _nearest(values: Mapping[str, ValueT], film: Film) -> ValueT | None:
    for key in (film.name, film.base, ANY_FILM):
        if key in values:
            return values[key]
    return None
