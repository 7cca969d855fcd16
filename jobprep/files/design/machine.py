"""What a design file says of the machine: the index that is read, and the light beam."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from jobprep.files.toml.field_types import Length, LengthOrZero, Text
from jobprep.files.toml.table import Table
from jobprep.model import Beam, IndexReading


class IndexTable(Table[IndexReading]):
    """Which edge of which hole starts the clock of a turn."""

    hole: Text = "index"
    edge: Annotated[
        Literal["leading", "trailing"], Field(description='"leading" or "trailing"')
    ] = "leading"
    sensor_width: LengthOrZero = 0.0


class BeamTable(Table[Beam]):
    """The light beam where it crosses the disc."""

    width: Length
    radius: Length
