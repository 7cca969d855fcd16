"""How far a copy may be off its design file."""

from __future__ import annotations

from jobprep.files.toml.field_types import AngleWidth, Mm
from jobprep.files.toml.table import Table, key
from jobprep.model import Tolerances


class ToleranceTable(Table[Tolerances]):
    """How far a copy may be off, either way; defaults are common practice, no source."""

    angle: AngleWidth = key("angle_deg", default=0.5)
    length: Mm = key("length_mm", default=0.3)
