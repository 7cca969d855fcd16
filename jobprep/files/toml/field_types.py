"""The kinds of value that fields hold: each with its limits and the words that say them.

The description of a type completes the sentence "... is not <description>" in messages and is the
help text of the JSON Schema. The limits are sanity limits, far beyond any disc, sheet or cutter: a
number outside of them is a slip of the unit, or would leave nothing to compute with.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from jobprep.files.toml.length import WrittenLength
from jobprep.files.toml.table import Unit
from jobprep.units import (
    from_degrees,
    from_dial,
    from_g_cm3,
    from_minutes,
    from_per_hour,
    from_per_m,
    from_per_m2,
    from_percent,
    from_rpm,
    to_degrees,
    to_dial,
    to_g_cm3,
    to_minutes,
    to_per_hour,
    to_per_m,
    to_per_m2,
    to_percent,
    to_rpm,
)

SHORTEST, LONGEST = 0.001, 10_000.0
"""Lengths read, mm: the shortest is less than any film is thick and any cutter can place."""

NARROWEST = 0.001
"""Narrowest sector or opening read, degrees."""

Format = Annotated[Literal[1], Field(description="1, the format that this version reads")]

_PRINTED = r"[^\x00-\x1f\x7f-\x9f\uFFFE\uFFFF]"
"""A character that may stand in one line of text, in XML too."""

Text = Annotated[
    str,
    Field(
        min_length=1,
        max_length=120,
        pattern=rf"^{_PRINTED}*[^\x00-\x20\x7f-\x9f\uFFFE\uFFFF]{_PRINTED}*$",
        description="one line of text of 1 to 120 characters",
    ),
]
Remark = Annotated[
    str,
    Field(
        max_length=120,
        pattern=rf"^{_PRINTED}*$",
        description="one line of text of at most 120 characters",
    ),
]
Paragraph = Annotated[
    str,
    Field(
        min_length=1,
        max_length=2000,
        pattern=rf"^({_PRINTED}|[\t\r\n])*$",
        description="text of 1 to 2000 characters",
    ),
]
Cautions = Annotated[list[Paragraph], Field(max_length=50, description="a list of sentences")]
FilmKey = Annotated[
    str,
    Field(
        max_length=60,
        pattern=r"^[a-z0-9][a-z0-9 -]*$",
        description="a name of lower-case letters, digits, spaces and hyphens",
    ),
]
FilmName = Annotated[str, Field(min_length=1, max_length=60, description="the name of a film")]
LayerFilm = Annotated[
    str,
    Field(
        min_length=1,
        max_length=60,
        description='the name of a film, or "?" for one to be chosen',
    ),
]
SectorFilm = Annotated[
    str,
    Field(
        min_length=1,
        max_length=60,
        description='the name of a film, "none" for an open sector, or "?" for a film to be chosen',
    ),
]
LabColour = Annotated[
    list[Annotated[float, Field(ge=-200, le=200, description="a number")]],
    Field(min_length=3, max_length=3, description="[L, a, b], each from -200 to 200"),
]
RelativePath = Annotated[
    str,
    Field(
        min_length=1,
        max_length=1000,
        pattern=r"^[^\x00-\x1f]+$",
        description="the path of a file, relative to this one",
    ),
]
Colour = Annotated[
    str, Field(pattern=r"^#[0-9a-fA-F]{6}$", description='a colour written "#rrggbb"')
]

Length = Annotated[
    float,
    WrittenLength(SHORTEST, LONGEST),
    Field(description="a length in mm, from 0.001 to 10000"),
]
LengthOrZero = Annotated[
    float, WrittenLength(0.0, LONGEST), Field(description="a length in mm, from 0 to 10000")
]
Tolerance = Annotated[
    float, WrittenLength(0.0, 10.0), Field(description="a tolerance in mm either way, from 0 to 10")
]
Coordinate = Annotated[
    float,
    WrittenLength(-LONGEST, LONGEST),
    Field(description="a coordinate in mm, from -10000 to 10000"),
]
KerfWidth = Annotated[
    float,
    WrittenLength(0.0, 3.0),
    Field(description="a kerf in mm (full width of the cut), from 0 to 3"),
]
JointGap = Annotated[
    float,
    WrittenLength(-10.0, 10.0),
    Field(description="a gap in mm, from -10 to 10 (negative overlaps)"),
]
LetterHeight = Annotated[
    float, WrittenLength(0.5, 50.0), Field(description="a height in mm, from 0.5 to 50")
]

Mm = Annotated[
    float, Field(ge=SHORTEST, le=LONGEST, description="a number of mm, from 0.001 to 10000")
]
MmOrZero = Annotated[float, Field(ge=0, le=LONGEST, description="a number of mm, from 0 to 10000")]
MmTolerance = Annotated[
    float, Field(ge=0, le=10, description="a number of mm either way, from 0 to 10")
]
"""Of keys that name their unit, such as ``thickness_mm``."""

DialAngle = Annotated[
    float,
    Field(
        ge=-360,
        le=360,
        description="an angle in degrees clockwise from 12 o'clock, from -360 to 360",
    ),
    Unit(from_dial, to_dial),
]
AngleWidth = Annotated[
    float,
    Field(ge=NARROWEST, lt=360, description="an angle in degrees, from 0.001 to below 360"),
    Unit(from_degrees, to_degrees),
]
RotationStep = Annotated[
    float,
    Field(ge=0.1, le=360, description="an angle in degrees, from 0.1 to 360"),
    Unit(from_degrees, to_degrees),
]

Copies = Annotated[
    int, Field(ge=1, le=10_000, description="a whole number of at least 1 and at most 10000")
]
SlotCount = Annotated[
    int, Field(ge=1, le=360, description="a whole number of at least 1 and at most 360")
]
Seed = Annotated[
    int, Field(ge=0, lt=2**63, description="a whole number of at least 0 and below 2^63")
]
Evaluations = Annotated[
    int, Field(ge=1, le=10**12, description="a whole number of at least 1 and at most 10^12")
]

Share = Annotated[float, Field(ge=0.0001, le=1e6, description="a number from 0.0001 to 1000000")]
Milliseconds = Annotated[
    float, Field(ge=0.0001, le=1e6, description="a time in ms, from 0.0001 to 1000000")
]
Seconds = Annotated[
    float, Field(ge=0.001, le=86_400, description="a time in s, from 0.001 to 86400")
]
SecondsOrZero = Annotated[float, Field(ge=0, le=3600, description="a time in s, from 0 to 3600")]
Speed = Annotated[
    float,
    Field(ge=0.001, le=100_000, description="a speed in r/min, from 0.001 to 100000"),
    Unit(from_rpm, to_rpm),
]
CutSpeed = Annotated[
    float, Field(ge=0.001, le=10_000, description="a speed in mm/s, from 0.001 to 10000")
]
Acceleration = Annotated[
    float,
    Field(ge=0.001, le=1e6, description="an acceleration in mm/s², from 0.001 to 1000000"),
]
Grade = Annotated[
    float, Field(ge=0.001, le=4000, description="a balance grade in mm/s, from 0.001 to 4000")
]
Mass = Annotated[float, Field(ge=0.0001, le=1e6, description="a mass in g, from 0.0001 to 1000000")]
Inertia = Annotated[
    float, Field(ge=0.0001, le=1e12, description="a moment of inertia in g·mm², 0.0001 to 10^12")
]
Density = Annotated[
    float,
    Field(ge=0.001, le=25, description="a density in g/cm³, from 0.001 to 25"),
    Unit(from_g_cm3, to_g_cm3),
]
Strength = Annotated[
    float, Field(ge=0.001, le=1e5, description="a strength in MPa (N/mm²), from 0.001 to 100000")
]
ArealMass = Annotated[
    float, Field(ge=0.001, le=1e6, description="an areal mass in g/m², from 0.001 to 1000000")
]
Area = Annotated[float, Field(ge=0, le=1e8, description="an area in mm², from 0 to 100000000")]
Minutes = Annotated[
    float,
    Field(ge=0, le=10_000, description="a time in minutes, from 0 to 10000"),
    Unit(from_minutes, to_minutes),
]
Percent = Annotated[
    float,
    Field(ge=0, le=100, description="a share in per cent, from 0 to 100"),
    Unit(from_percent, to_percent),
]
Price = Annotated[float, Field(ge=0, le=1e9, description="a price of at least 0")]
PricePerM2 = Annotated[Price, Unit(from_per_m2, to_per_m2)]
PricePerM = Annotated[Price, Unit(from_per_m, to_per_m)]
PricePerHour = Annotated[Price, Unit(from_per_hour, to_per_hour)]
RefractiveIndex = Annotated[float, Field(ge=1, le=4, description="a refractive index, from 1 to 4")]
Frequency = Annotated[
    float, Field(ge=0.1, le=100_000, description="a frequency in Hz, from 0.1 to 100000")
]
Wavelength = Annotated[
    float, Field(ge=100, le=20_000, description="a wavelength in nm, from 100 to 20000")
]

Size = Annotated[
    list[Length],
    Field(min_length=2, max_length=2, description="[width, height] in mm, each 0.001 to 10000"),
]
Corner = Annotated[
    list[Coordinate],
    Field(min_length=2, max_length=2, description="a point [x, y] in mm, each -10000 to 10000"),
]
Polygon = Annotated[
    list[Corner],
    Field(
        min_length=3,
        max_length=1000,
        description="a list of 3 to 1000 points [x, y] in mm",
    ),
]
Band = Annotated[
    list[Wavelength],
    Field(min_length=2, max_length=2, description="a band of wavelengths [from, to] in nm"),
]
