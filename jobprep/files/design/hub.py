"""The printed hub of a design file."""

from __future__ import annotations

from jobprep.files.toml.field_types import Density, Length, LengthOrZero
from jobprep.files.toml.table import Table, key
from jobprep.model import Hub


class HubTable(Table[Hub]):
    """Printed flanges, ``hub_diameter`` wide; defaults are common practice, no source."""

    # The density is that of polylactide (PLA), from memory.
    flange_thickness: Length = 2.0
    clearance: LengthOrZero = 0.15
    density: Density = key("density_g_cm3", default=1.24)
