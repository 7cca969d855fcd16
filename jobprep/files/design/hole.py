"""What is cut through the layers of a design file: holes, and slots for the tabs of a hub."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from jobprep.files.toml.field_types import DialAngle, Length, SlotCount, Text
from jobprep.files.toml.table import Table, key
from jobprep.model import Hole, HubSlots

LayerNames = Annotated[
    list[Text], Field(min_length=1, description="a list of at least one layer name")
]


class HoleTable(Table[Hole]):
    """A round hole away from the centre, through every layer unless ``layers`` names some."""

    name: Text
    diameter: Length
    radius: Length
    direction: DialAngle = key("angle", default=0.0)
    layers: LayerNames | None = None


class HubSlotTable(Table[HubSlots]):
    """Equal slots for hub tabs, evenly on a circle."""

    count: SlotCount
    circle_diameter: Length
    length: Length
    width: Length
    direction: DialAngle = key("angle", default=0.0)
    layers: LayerNames | None = None
