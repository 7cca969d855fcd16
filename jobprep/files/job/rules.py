"""How a job file asks to nest, to cut, and to keep what is left."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, Literal

from pydantic import Field

from jobprep.errors import Finding
from jobprep.files.toml.field_types import (
    Area,
    Evaluations,
    Length,
    LengthOrZero,
    Seconds,
    SecondsOrZero,
    Seed,
    SlotCount,
)
from jobprep.files.toml.table import Table
from jobprep.model import Cutting, Leftovers, Nesting

SECONDS = 5.0
"""Time to search for a nest when the job gives no budget, s."""

SHARED: Literal["shared"] = "shared"
"""Instead of a web: straight sides may lie one kerf apart and are then cut once."""

Web = Annotated[
    LengthOrZero | Literal["shared"],
    Field(description='a length in mm, from 0 to 10000, or "shared"'),
]


class NestingTable(Table[Nesting]):
    """Film left between two slots (`web`), at a sheet's edge (`margin`); how long to search."""

    web: Web = 1.0
    margin: LengthOrZero = 5.0
    seconds: Seconds | None = None
    evaluations: Evaluations | None = None
    seed: Seed = 1

    def value(self) -> Nesting:
        """Return the rule; shared sides leave no web."""
        web = 0.0 if self.web == SHARED else self.web
        return self.made(web=web, seconds=SECONDS if self.seconds is None else self.seconds)

    @classmethod
    def fields_in(cls, nesting: Nesting, cutting: Cutting) -> dict[str, Any]:
        """Return key -> value of a nest whose sides may be shared as ``cutting`` says."""
        seconds = nesting.seconds if nesting.evaluations is None else None
        web = SHARED if cutting.share_cuts else nesting.web
        return cls.written(nesting, web=web, seconds=seconds)

    def faults(self) -> Iterator[Finding]:
        """Yield two budgets."""
        if self.seconds is not None and self.evaluations is not None:
            message = "replaces the time budget; give seconds or evaluations, not both"
            yield Finding.error("evaluations", message)


class TabsTable(Table[None]):
    """Short bridges left uncut, the same number on each part, that hold it until they break."""

    count: SlotCount
    width: Length = 0.4


class CuttingTable(Table[Cutting]):
    """How contours are run and parts held; `heat_spread` 0 asks for the shortest travel."""

    tabs: TabsTable | None = None
    lead_in: LengthOrZero = 0.0
    lead_out: LengthOrZero = 0.0
    overcut: LengthOrZero | None = None
    heat_spread: SecondsOrZero = 0.5
    sheet_outline: bool = False

    def value_in(self, nesting: NestingTable) -> Cutting:
        """Return the rule of a job that nests so."""
        shared = nesting.web == SHARED
        if self.tabs is None:
            return self.made(tabs=0, share_cuts=shared)
        return self.made(tabs=self.tabs.count, tab_width=self.tabs.width, share_cuts=shared)

    @classmethod
    def fields_of(cls, value: Cutting) -> dict[str, Any]:
        """Return key -> value; that sides are shared stands under the nest."""
        tabs = {"count": value.tabs, "width": value.tab_width} if value.tabs else None
        return cls.written(value, tabs=tabs)


class LeftoversTable(Table[Leftovers]):
    """What is worth keeping of what straight cuts leave, or with the parts' bites (`outline`)."""

    smallest_side: LengthOrZero = 50.0
    smallest_area: Area = 5000.0
    disc_diameter: Length | None = None
    shape: Annotated[
        Literal["straight", "outline", "trim"],
        Field(description='"straight", "outline" or "trim"'),
    ] = "straight"
    cut_trim: bool = False

    def faults(self) -> Iterator[Finding]:
        """Yield a trim cut where nothing is trimmed."""
        if self.cut_trim and self.shape == "outline":
            message = 'there is no straight cut to make; give shape = "straight"'
            yield Finding.error("cut_trim", message)
