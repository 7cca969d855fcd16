"""Counterweights of a design file."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from jobprep.files.toml.field_types import DialAngle, FilmName, Length, LengthOrZero, Text
from jobprep.files.toml.table import Table, key
from jobprep.model import Dot


class DotTable(Table[Dot]):
    """A counterweight of round patches, one upon another."""

    name: Text
    film: FilmName
    diameter: Length
    radius: LengthOrZero
    direction: DialAngle = key("angle", default=0.0)
    count: Annotated[
        int, Field(ge=1, le=100, description="a whole number of at least 1 and at most 100")
    ] = 1
    layer: Text | None = None
