"""A small file with which a person overrides what was found in a photograph."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from jobprep.errors import Finding
from jobprep.files.measurements.points import Coordinate, Place
from jobprep.files.toml.field_types import Format, Length
from jobprep.files.toml.form import form_of
from jobprep.files.toml.lines import read_toml
from jobprep.files.toml.table import Table, Unit
from jobprep.geometry.outline import Point
from jobprep.model.paper import paper_of
from jobprep.model.taken import Corrections, GivenHole
from jobprep.units import from_degrees, to_degrees

Turn = Annotated[
    float,
    Field(ge=-1e6, le=1e6, description="an angle in degrees, clockwise from 12 o'clock"),
    Unit(from_degrees, to_degrees),
]
Turns = Annotated[list[Turn], Field(max_length=1000, description="a list of angles in degrees")]
Pixels = Annotated[
    list[Place], Field(max_length=1000, description="a list of pixels [[x, y], ...]")
]
RoundPlace = Annotated[
    list[Coordinate],
    Field(min_length=3, max_length=3, description="a hole [x, y, width] in pixels"),
]
Holes = Annotated[
    list[RoundPlace],
    Field(max_length=100, description="a list of holes [[x, y, width], ...] in pixels"),
]


class CorrectionFile(Table[Corrections]):
    """What a person knows better; pixels of the upright picture, angles clockwise."""

    format: Format = 1
    diameter: Length | None = None
    paper: Annotated[
        str, Field(max_length=40, description='"A4", "Letter", ... or "WxH" in mm')
    ] | (None) = None
    scan: Annotated[
        float, Field(ge=25, le=10_000, description="dots per inch of a flatbed scan")
    ] | (None) = None
    light: (
        Annotated[Literal["behind", "paper"], Field(description='"behind" the disc, or on "paper"')]
        | None
    ) = None
    rim: (
        Annotated[
            list[Place],
            Field(min_length=5, max_length=1000, description="five or more pixels [[x, y], ...]"),
        ]
        | None
    ) = None
    bore: (
        Annotated[
            list[Place],
            Field(min_length=3, max_length=1000, description="three or more pixels [[x, y], ...]"),
        ]
        | None
    ) = None
    zero: Turn = 0.0
    white: Annotated[Place, Field(description="a pixel [x, y]")] | None = None
    white_reflects: Annotated[
        float, Field(ge=0.01, le=1, description="a share from 0.01 to 1; 0.18 of a grey card")
    ] = 1.0
    add_edges: Turns = []
    hold_edges: Turns = []
    sure_edges: Turns = []
    remove_edges: Turns = []
    remove_holes: Annotated[bool, Field(description="true or false")] = False
    no_holes: Pixels = []
    add_holes: Holes = []

    def faults(self) -> Iterator[Finding]:
        """Yield a scale that is given twice, and a hole without a width."""
        if self.paper is not None and self.scan is not None:
            yield Finding.error("scan", "give paper or scan: each gives the scale")
        if self.paper is not None:
            try:
                paper_of(self.paper)
            except ValueError as error:
                yield Finding.error("paper", str(error))
        for number, hole in enumerate(self.add_holes, 1):
            if hole[2] <= 0.0:
                yield Finding.error(f"add_holes[{number}]", "its width must be greater than 0")

    def value(self) -> Corrections:
        """Return the corrections."""
        return self.made(
            rim=_points(self.rim),
            bore=_points(self.bore),
            white=None if self.white is None else Point(*self.white),
            no_holes=_points(self.no_holes),
            add_holes=tuple(GivenHole(*each) for each in self.add_holes),
        )


def _points(places: list[list[float]] | None) -> tuple[Point, ...]:
    return tuple(Point(x, y) for x, y in places or ())


def read_corrections(path: Path) -> Corrections:
    """Read a correction file; raises ``InputError`` with all problems."""
    return form_of(CorrectionFile, read_toml(path)).right().value()
