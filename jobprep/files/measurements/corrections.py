"""A small file with which a person overrides what was found in a photograph."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from pydantic import Field

from jobprep.files.measurements.points import Place
from jobprep.files.toml.field_types import Format, Length
from jobprep.files.toml.form import form_of
from jobprep.files.toml.lines import read_toml
from jobprep.files.toml.table import Table, Unit
from jobprep.geometry.outline import Point
from jobprep.model.taken import Corrections
from jobprep.units import from_degrees, to_degrees

Turn = Annotated[
    float,
    Field(ge=-1e6, le=1e6, description="an angle in degrees, clockwise from 12 o'clock"),
    Unit(from_degrees, to_degrees),
]
Turns = Annotated[list[Turn], Field(max_length=1000, description="a list of angles in degrees")]


class CorrectionFile(Table[Corrections]):
    """What a person knows better; pixels of the upright picture, angles clockwise."""

    format: Format = 1
    diameter: Length | None = None
    rim: (
        Annotated[
            list[Place],
            Field(min_length=5, max_length=1000, description="five or more pixels [[x, y], ...]"),
        ]
        | None
    ) = None
    zero: Turn = 0.0
    white: Annotated[Place, Field(description="a pixel [x, y]")] | None = None
    white_reflects: Annotated[
        float, Field(ge=0.01, le=1, description="a share from 0.01 to 1; 0.18 of a grey card")
    ] = 1.0
    add_edges: Turns = []
    remove_edges: Turns = []
    remove_holes: Annotated[bool, Field(description="true or false")] = False

    def value(self) -> Corrections:
        """Return the corrections."""
        rim = tuple(Point(x, y) for x, y in self.rim or ())
        return self.made(rim=rim, white=None if self.white is None else Point(*self.white))


def read_corrections(path: Path) -> Corrections:
    """Read a correction file; raises ``InputError`` with all problems."""
    return form_of(CorrectionFile, read_toml(path)).right().value()
