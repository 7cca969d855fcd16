"""The job in a run's record: the tables of its own files, all in one place.

What follows from a folder or a library elsewhere stands here: the names of films and cutter, the
density of a film whose file gives an areal mass, more corners of a leftover than anybody types.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from jobprep.errors import Finding
from jobprep.files.design.design import DesignFile
from jobprep.files.design.machine import MachineTable
from jobprep.files.design.whole import design_faults
from jobprep.files.job.prices import PricesTable
from jobprep.files.job.rules import CuttingTable, LeftoversTable, NestingTable
from jobprep.files.job.stock import StockTable
from jobprep.files.ledger.piece import Outline
from jobprep.files.materials.bases import refusal
from jobprep.files.materials.curve import (
    MOST_POWER,
    CurveRows,
    curve_fault,
    curve_of,
    rows_of,
)
from jobprep.files.materials.cutter import CutterFile
from jobprep.files.materials.film import FilmFile
from jobprep.files.materials.lamp import Illuminant, Kelvin
from jobprep.files.materials.names import is_material_name
from jobprep.files.toml.field_types import KerfWidth, Text
from jobprep.files.toml.lines import field_path
from jobprep.files.toml.problems import shown
from jobprep.files.toml.table import Table, Unit, key, rows
from jobprep.model import Cutter, DiscOrder, Film, Job, Machine, StockPiece
from jobprep.model.spectrum import Lamp, Spectrum
from jobprep.units import from_g_cm3, to_g_cm3

TextLine = Annotated[
    str,
    Field(
        max_length=3000,
        pattern=r"^[^\x00-\x1f\x7f-\x9f\uFFFE\uFFFF]*$",
        description="one line of text",
    ),
]
# A film whose file gives an areal mass has a density far from that of any material.
AnyDensity = Annotated[
    float,
    Field(ge=1e-9, le=1e6, description="a density in g/cm³, from 10^-9 to 1000000"),
    Unit(from_g_cm3, to_g_cm3),
]
Discs = Annotated[
    int, Field(ge=0, le=10_000, description="a whole number of at least 0 and at most 10000")
]


class LampRow(Table[Lamp]):
    """A lamp as its file has it, with its curve."""

    name: TextLine
    title: TextLine
    filament: Kelvin | None = key("colour_temperature_k", default=None)
    illuminant: Illuminant | None = None
    curve: CurveRows = key("spectrum", default=[])

    def value(self) -> Lamp:
        """Return the lamp."""
        return self.made(spectrum=curve_of(self.curve) if self.curve else None)

    @classmethod
    def fields_of(cls, value: Lamp) -> dict[str, Any]:
        """Return key -> value."""
        curve = [] if value.spectrum is None else rows_of(value.spectrum)
        return {**cls.written(value), **({"spectrum": curve} if curve else {})}

    def faults(self) -> Iterator[Finding]:
        """Yield what its file must not hold."""
        given = (self.filament, self.illuminant, self.curve or None)
        if sum(each is not None for each in given) != 1:
            message = "give one of colour_temperature_k, illuminant or spectrum"
            yield Finding.error("", message)
        problem = curve_fault(self.curve, MOST_POWER) if self.curve else ""
        if problem:
            yield Finding.error("spectrum", problem)


class MachineRow(MachineTable):
    """A machine as its file has it, with its lamp in full."""

    lamp: LampRow | None = key("lamp_in_full", default=None)

    @classmethod
    def fields_of(cls, value: Machine) -> dict[str, Any]:
        """Return key -> value."""
        return cls.written(value)

    def faults(self) -> Iterator[Finding]:
        """Yield what its file must not hold, and a lamp of which no more than the name stands."""
        yield from super().faults()
        if self.lamp_name is not None:
            yield Finding.error("lamp", "a record has its lamp in full, as lamp_in_full")


class DesignRow(DesignFile):
    """A design as its file has it; whether its artwork is still there matters to who prints it."""

    format: Literal[1] = 1
    machine: MachineRow | None = None

    def faults(self) -> Iterator[Finding]:
        """Yield what of its tables does not go together."""
        values = self.model_dump(by_alias=True, exclude_unset=True, exclude_none=True)
        for each in design_faults(self, values, Path()):
            if not each.place.field.endswith(".file"):
                yield each


class DiscRow(Table[DiscOrder]):
    """The number of copies of a design; ``folder`` is that of its file as seen from the job's."""

    copies: Discs
    folder: TextLine = "."
    design: DesignRow


class FilmRow(FilmFile):
    """A film as its file has it."""

    format: Literal[1] = 1
    density: AnyDensity | None = key("density_g_cm3", default=None)
    curve: CurveRows = key("transmission_curve", default=[])

    @classmethod
    def fields_of(cls, value: Film) -> dict[str, Any]:
        """Return key -> value."""
        found = super().fields_of(value)
        if value.transmission is not None:
            found["transmission_curve"] = rows_of(value.transmission.curve)
        return found

    @property
    def has_curve(self) -> bool:
        """Whether a curve of its transmission stands here."""
        return bool(self.curve)

    def value_of(self, name: str, curve: Spectrum | None = None) -> Film:
        """Return the film of a name, with the curve that stands here."""
        return super().value_of(name, curve_of(self.curve) if self.curve else curve)

    def faults(self) -> Iterator[Finding]:
        """Yield what its file must not hold, and a curve that is not valid."""
        yield from super().faults()
        problem = curve_fault(self.curve, 1.0) if self.curve else ""
        if problem:
            yield Finding.error("transmission_curve", problem)


class CutterRow(CutterFile):
    """A cutter as its file has it."""

    format: Literal[1] = 1
    name: TextLine

    def value(self) -> Cutter:
        """Return the cutter."""
        return self.value_of(self.name)

    def faults(self) -> Iterator[Finding]:
        """Yield what its file must not hold, and a name that no file has."""
        yield from super().faults()
        if not is_material_name(self.name):
            yield Finding.error("name", f"{shown(self.name)} cannot name a cutter")


class PieceRow(StockTable):
    """A sheet or leftover of the job or, with the id of its ``piece``, of the stock ledger."""

    outline: Outline | None = None
    defects: Annotated[list[Outline], Field(max_length=1000, description="a list of outlines")] = []
    piece: TextLine = ""

    @classmethod
    def fields_of(cls, value: StockPiece) -> dict[str, Any]:
        """Return key -> value."""
        return cls.written(value, label=value.label or None)


class JobTable(Table[Job]):
    """All of a job but its loose parts; its kerf is the width that every film was cut with."""

    title: Text
    discs: list[DiscRow] = rows("disc", most=200)
    stock: list[PieceRow] = []
    cutter: CutterRow
    films: dict[str, FilmRow]
    kerf: dict[str, KerfWidth]
    nesting: NestingTable
    prices: PricesTable
    cutting: CuttingTable
    leftovers: LeftoversTable

    def value_in(self, digests: Mapping[str, str]) -> Job:
        """Return the job whose files had these digests."""
        return self.made(
            films={name: film.value_of(name) for name, film in self.films.items()},
            cutting=self.cutting.value_in(self.nesting),
            parts=(),
            digests=digests,
        )

    @classmethod
    def fields_of(cls, value: Job) -> dict[str, Any]:
        """Return key -> value."""
        return cls.written(
            value,
            films={name: FilmRow.fields_of(film) for name, film in value.films.items()},
            nesting=NestingTable.fields_in(value.nesting, value.cutting),
        )

    def faults(self) -> Iterator[Finding]:
        """Yield films whose names no file has, and those that are cut although they must not be."""
        for name, film in self.films.items():
            path = field_path(("films", name))
            if not is_material_name(name):
                yield Finding.error(path, f"{shown(name)} cannot name a film")
            reason = refusal(film.base) or film.refused
            if reason is not None and name in self.kerf:
                yield Finding.error(path, f"{name} must not be cut: {reason}")
