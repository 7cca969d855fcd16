"""What must fit together in a printed hub: its flanges, the bore and the slots for its tabs.

What depends on the films and on single layers is checked where those are known.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from jobprep.errors import Finding
from jobprep.files.design_schema import DesignFile, HubSlotTable, HubTable
from jobprep.files.findings import not_below
from jobprep.files.tables import Tables
from jobprep.model.design import LEAST_PRINTED
from jobprep.units import number


def hub_findings(tables: Tables[DesignFile], reach: float) -> Iterator[Finding]:
    """Yield what of a hub cannot be printed; ``reach`` is that of the bore, mm, 0 without one."""
    hub = tables.table("hub", HubTable)
    if hub is None:
        return
    if "bore" not in tables.file.values:
        yield Finding.error("hub", "its flanges go round the bore; give bore")
    if "hub_diameter" not in tables.file.values:
        yield Finding.error(
            "hub", "its flanges are as wide as the zone they cover; give hub_diameter"
        )
    yield from not_below(
        "hub.clearance", hub.clearance, hub.flange_thickness, "the flanges' thickness"
    )
    diameter = tables.number("hub_diameter")
    if diameter is None or not reach:
        return
    rim = diameter / 2.0
    yield from _within("hub_diameter", "the bore reaches", reach, rim)
    for path, slot in tables.rows("hub_slot", HubSlotTable):
        middle, half = slot.circle_diameter / 2.0, slot.width / 2.0
        yield from _within(f"{path}.circle_diameter", "the slots reach", middle + half, rim)
        walls = {"circle_diameter": (middle - half - reach, "the bore and the slots")}
        if slot.count > 1:
            between = math.pi * slot.circle_diameter / slot.count - slot.length
            walls["length"] = (between, "two slots")
        for field, (wall, between_what) in walls.items():
            # A wall below 0 is told of the film already: slot and bore meet there too.
            if 0.0 < wall < LEAST_PRINTED:
                message = (
                    f"leaves the hub a wall of {number(wall)} mm between {between_what}; at least"
                    f" {number(LEAST_PRINTED)} mm is needed"
                )
                yield Finding.error(f"{path}.{field}", message)
        yield from _tab(path, slot, hub.clearance)


def _within(path: str, what: str, reach: float, rim: float) -> Iterator[Finding]:
    """Yield a finding when the flanges have no wall beyond what lies in them."""
    if reach + LEAST_PRINTED > rim:
        message = (
            f"{what} {number(reach)} mm from the centre, the hub's flanges {number(rim)} mm; they"
            f" need a wall of at least {number(LEAST_PRINTED)} mm beyond"
        )
        yield Finding.error(path, message)


def _tab(path: str, slot: HubSlotTable, clearance: float) -> Iterator[Finding]:
    sizes = {"width": slot.width, "length": slot.length}
    field, size = min(sizes.items(), key=lambda item: item[1])
    left = size - 2.0 * clearance
    if left < LEAST_PRINTED:
        least = number(LEAST_PRINTED + 2.0 * clearance)
        room = f"with {number(clearance)} mm of clearance all round"
        message = f"{number(size)} mm is too narrow for a tab {room}; at least {least} mm is needed"
        yield Finding.error(f"{path}.{field}", message)
