"""What a design file says about the whole copy: the original, glue lines, engraved marks."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from jobprep.files.toml.field_types import (
    Inertia,
    LetterHeight,
    Mass,
    Mm,
    MmOrZero,
    MmTolerance,
)
from jobprep.files.toml.table import Table, key
from jobprep.model import Marks, Original
from jobprep.model.design import GlueLine


class OriginalTable(Table[Original]):
    """What the copy must match."""

    mass: Mass | None = key("mass_g", default=None)
    thickness: Mm | None = key("thickness_mm", default=None)
    inertia: Inertia | None = key("inertia_g_mm2", default=None)


class GlueLineTable(Table[GlueLine]):
    """One glue line between two layers: nominal thickness, and tolerance either way."""

    thickness: MmOrZero = key("thickness_mm")
    tolerance: MmTolerance = key("tolerance_mm", default=0.0)


class MarksTable(Table[Marks]):
    """What is engraved on each piece."""

    number: Annotated[bool, Field(description="true or false")] = True
    tick: Annotated[bool, Field(description="true or false")] = True
    height: LetterHeight = 2.5
