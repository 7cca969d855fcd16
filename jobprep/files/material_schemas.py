"""What a film file and a cutter file may hold."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from jobprep.drawing.formats import FORMATS
from jobprep.files.field_types import (
    Acceleration,
    ArealMass,
    Band,
    Colour,
    CutSpeed,
    Density,
    FilmKey,
    Format,
    KerfWidth,
    Length,
    LengthOrZero,
    Paragraph,
    Price,
    Remark,
    RotationStep,
    SecondsOrZero,
    Size,
    Text,
    Tolerance,
    Wavelength,
)
from jobprep.files.toml.table import Table

Cautions = Annotated[list[Paragraph], Field(max_length=50, description="a list of sentences")]


class SheetTable(Table[None]):
    """A sheet as bought, or a roll: ``size`` is then its [length, width]."""

    size: Size
    roll: bool = False
    price: Price | None = None
    per_m2: Price | None = None
    per_m: Price | None = None


class FilmFile(Table[None]):
    """A sheet material; the file's name is the film's name."""

    format: Format
    title: Text
    base: Text
    thickness: Length
    thickness_tolerance: Tolerance = 0.0
    density_g_cm3: Density | None = None
    areal_mass_g_m2: ArealMass | None = None
    colour: Colour
    light: Annotated[
        Literal["passes", "scatters", "blocks"],
        Field(description='"passes", "scatters" or "blocks"'),
    ]
    passes_nm: Annotated[
        list[Band], Field(max_length=20, description="a list of bands [from, to] in nm")
    ] = []
    lab: (
        Annotated[
            list[Annotated[float, Field(ge=-200, le=200, description="a number")]],
            Field(min_length=3, max_length=3, description="[L, a, b], each from -200 to 200"),
        ]
        | None
    ) = None
    rotation_step: RotationStep | None = None
    least_web: Length = 1.0
    least_hole: Length = 0.5
    refused: Paragraph | None = None
    cautions: Cautions = []
    sheet: Annotated[
        list[SheetTable],
        Field(min_length=1, max_length=50, description="a list of at least one table, [[sheet]]"),
    ]


class ColoursTable(Table[None]):
    """Stroke colour of each operation, as the cutter's driver expects it."""

    mark: Colour = "#0072B2"
    cut_inner: Annotated[Colour, Field(alias="cut-inner")] = "#D55E00"
    cut_outer: Annotated[Colour, Field(alias="cut-outer")] = "#000000"


Power = Annotated[float, Field(ge=0, le=100_000, description="a power from 0 to 100000")]


class PowerTable(Table[None]):
    """Power of each operation in the controller's own unit of S; 0 keeps the beam off."""

    mark: Power = 0.0
    cut_inner: Annotated[Power, Field(alias="cut-inner")] = 0.0
    cut_outer: Annotated[Power, Field(alias="cut-outer")] = 0.0


class SettingsTable(Table[None]):
    """What to set for each operation, in the words of the cutter's own panel."""

    mark: Remark = ""
    cut_inner: Annotated[Remark, Field(alias="cut-inner")] = ""
    cut_outer: Annotated[Remark, Field(alias="cut-outer")] = ""


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


class CutterFile(Table[None]):
    """One cutter with its settings; the file's name is the cutter's name."""

    format: Format
    title: Text
    kind: Annotated[
        Literal["co2", "diode", "knife"], Field(description='"co2", "diode" or "knife"')
    ]
    bed: Size
    wavelength_nm: Wavelength | None = None
    mark_speed: CutSpeed
    travel_speed: CutSpeed
    acceleration: Acceleration
    pierce_time: SecondsOrZero = 0.0
    kerf: dict[FilmKey, KerfWidth]
    cut_speed: dict[FilmKey, CutSpeed]
    colours: ColoursTable = Field(default_factory=ColoursTable)
    power: PowerTable = Field(default_factory=PowerTable)
    settings: SettingsTable = Field(default_factory=SettingsTable)
    passes: dict[FilmKey, Passes] = {}
    overcut: LengthOrZero = 0.0
    spot: Length | None = None
    origin: CornerName = "lower-left"
    formats: Formats = list(FORMATS)
    cautions: Cautions = []
