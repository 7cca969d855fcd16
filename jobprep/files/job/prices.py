"""What things cost, as a job file says it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from jobprep.files.toml.field_types import (
    Minutes,
    Percent,
    Price,
    PricePerHour,
    PricePerM,
    PricePerM2,
    Remark,
)
from jobprep.files.toml.table import Table, key
from jobprep.model import Prices


class PricesTable(Table[Prices]):
    """What things cost."""

    currency: Annotated[
        Remark, Field(max_length=20, description="text of at most 20 characters, such as EUR")
    ] = ""
    cutter_rate: PricePerHour | None = key("cutter_per_hour", default=None)
    sheet: dict[str, Price] = {}
    per_area: dict[str, PricePerM2] = key("per_m2", default={})
    per_length: dict[str, PricePerM] = key("per_m", default={})
    labour_rate: PricePerHour | None = key("labour_per_hour", default=None)
    assembly_time: Minutes = key("assembly_minutes", default=0.0)
    gluing_time: Minutes = key("gluing_minutes", default=0.0)
    setup_time: Minutes = key("setup_minutes", default=0.0)
    spoilage: Percent = key("spoilage_percent", default=0.0)
