"""The file of a cutter."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from jobprep.drawing.formats import FORMATS
from jobprep.errors import Finding, InputError
from jobprep.files.materials.cutter_kinds import KIND_CAUTIONS
from jobprep.files.materials.names import name_problems
from jobprep.files.toml.field_types import (
    Acceleration,
    Cautions,
    Colour,
    CutSpeed,
    FilmKey,
    Format,
    KerfWidth,
    Length,
    LengthOrZero,
    Remark,
    SecondsOrZero,
    Size,
    Text,
    Wavelength,
)
from jobprep.files.toml.form import form_of
from jobprep.files.toml.kinds import read_kind
from jobprep.files.toml.problems import shown
from jobprep.files.toml.table import Table, is_left_out, key
from jobprep.model import Cutter, Dwell, OperationName

ByOperation = Mapping[OperationName, Any]


class OperationsTable(Table[ByOperation]):
    """One value for each operation."""

    def value(self) -> ByOperation:
        """Return operation -> value."""
        return {
            info.alias or name: getattr(self, name)  # type: ignore[misc]  # the keys say them
            for name, info in type(self).model_fields.items()
        }

    @classmethod
    def fields_of(cls, value: ByOperation) -> dict[str, Any]:
        """Return key -> value; defaults are left out."""
        defaults = cls().value()
        return {
            str(name): each
            for name, each in value.items()
            if not is_left_out(each, defaults.get(name))
        }


class ColoursTable(OperationsTable):
    """Stroke colour of each operation, as the cutter's driver expects it."""

    mark: Colour = "#0072B2"
    cut_inner: Colour = key("cut-inner", default="#D55E00")
    cut_outer: Colour = key("cut-outer", default="#000000")

    def faults(self) -> Iterator[Finding]:
        """Yield operations that look alike."""
        if len({self.mark, self.cut_inner, self.cut_outer}) < 3:
            message = "mark, cut-inner and cut-outer need three different colours"
            yield Finding.error("", message)


Power = Annotated[float, Field(ge=0, le=100_000, description="a power from 0 to 100000")]


class PowerTable(OperationsTable):
    """Power of each operation in the controller's own unit of S; 0 keeps the beam off."""

    mark: Power = 0.0
    cut_inner: Power = key("cut-inner", default=0.0)
    cut_outer: Power = key("cut-outer", default=0.0)


class SettingsTable(OperationsTable):
    """What to set for each operation, in the words of the cutter's own panel."""

    mark: Remark = ""
    cut_inner: Remark = key("cut-inner", default="")
    cut_outer: Remark = key("cut-outer", default="")

    def value(self) -> ByOperation:
        """Return operation -> what to set, where anything is said."""
        return {name: text for name, text in super().value().items() if text}


DwellWord = Annotated[
    str,
    Field(
        pattern=r"^G0?4 ?[FPSUX]$",
        description='G4 or G04 and F, P, S, U or X, such as "G4 P"',
    ),
]


class DwellTable(Table[Dwell]):
    """How machine code waits at a pierce; take both from the controller's manual."""

    word: DwellWord
    unit: Annotated[Literal["s", "ms"], Field(description='"s" or "ms"')]


Passes = Annotated[int, Field(ge=1, le=100, description="a whole number from 1 to 100")]
CornerName = Annotated[
    Literal["lower-left", "lower-right", "upper-left", "upper-right"],
    Field(description='"lower-left", "lower-right", "upper-left" or "upper-right"'),
]
_FORMATS = ", ".join(f'"{name}"' for name in FORMATS)
FormatName = Annotated[
    Literal[FORMATS],  # type: ignore[valid-type]  # one table names them
    Field(description=f"one of {_FORMATS}"),
]
Formats = Annotated[list[FormatName], Field(min_length=1, description=f"a list of {_FORMATS}")]


AssumedName = Annotated[
    str,
    Field(
        pattern=r"^(mark_speed|travel_speed|acceleration|pierce_time"
        r"|(kerf|cut_speed)\.[a-z0-9 -]+)$",
        description="mark_speed, travel_speed, acceleration, pierce_time, kerf.FILM or"
        " cut_speed.FILM",
    ),
]
Assumed = Annotated[
    list[AssumedName],
    Field(
        max_length=200,
        description="a list of values that nobody has chosen yet: mark_speed, travel_speed,"
        " acceleration, pierce_time, kerf.FILM, cut_speed.FILM",
    ),
]


class CutterFile(Table[Cutter]):
    """One cutter with its settings; the file's name is the cutter's name."""

    format: Format
    title: Text
    kind: Annotated[
        Literal["co2", "diode", "knife"], Field(description='"co2", "diode" or "knife"')
    ]
    bed: Size
    wavelength: Wavelength | None = key("wavelength_nm", default=None)
    mark_speed: CutSpeed
    travel_speed: CutSpeed
    acceleration: Acceleration
    pierce_time: SecondsOrZero = 0.0
    kerf: dict[FilmKey, KerfWidth]
    cut_speed: dict[FilmKey, CutSpeed]
    colours: ColoursTable = Field(default_factory=ColoursTable)
    power: PowerTable = Field(default_factory=PowerTable)
    cut_power: dict[FilmKey, Power] = {}
    settings: SettingsTable = Field(default_factory=SettingsTable)
    passes: dict[FilmKey, Passes] = {}
    overcut: LengthOrZero = 0.0
    spot: Length | None = None
    origin: CornerName = "lower-left"
    formats: Formats = list(FORMATS)
    dwell: DwellTable | None = None
    assumed: Assumed = []
    cautions: Cautions = []

    def value_of(self, name: str) -> Cutter:
        """Return the cutter of a name, with the cautions of its kind."""
        return self.made(
            name=name,
            formats=tuple(dict.fromkeys(self.formats)),
            cautions=tuple(dict.fromkeys((*KIND_CAUTIONS[self.kind], *self.cautions))),
        )

    @classmethod
    def fields_of(cls, value: Cutter) -> dict[str, Any]:
        """Return key -> value; what follows from the kind is left out."""
        known = KIND_CAUTIONS[value.kind]
        return cls.written(value, cautions=[each for each in value.cautions if each not in known])

    def faults(self) -> Iterator[Finding]:
        """Yield a wavelength that is missing, or that a knife has."""
        if (self.wavelength is None) != (self.kind == "knife"):
            need = "has no" if self.kind == "knife" else "needs a"
            yield Finding.error("wavelength_nm", f"a {self.kind} cutter {need} wavelength_nm")
        tables = {"kerf": self.kerf, "cut_speed": self.cut_speed}
        for number, name in enumerate(self.assumed, 1):
            table, _, film = name.partition(".")
            if film and film not in tables[table]:
                message = f"{shown(name)} is no value of this file"
                yield Finding.error(f"assumed[{number}]", message)


def read_cutter(path: Path, asked_by: Finding | None = None) -> Cutter:
    """Read a cutter from its file; raises ``InputError`` with all problems.

    ``asked_by`` is raised instead when there is no such file.
    """
    file = read_kind(path, "a cutter", asked_by)
    form = form_of(CutterFile, file)
    problems = [*form.problems, *name_problems(file)]
    if form.root is None or problems:
        raise InputError(problems)
    return form.root.value_of(path.stem)
