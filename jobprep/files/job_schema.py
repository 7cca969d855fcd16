"""What a job file may hold."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from jobprep.files.field_types import (
    AngleWidth,
    Area,
    Copies,
    Evaluations,
    FilmName,
    Format,
    KerfWidth,
    Length,
    LengthOrZero,
    Minutes,
    Percent,
    Polygon,
    Price,
    RelativePath,
    Remark,
    Seconds,
    SecondsOrZero,
    Seed,
    Size,
    SlotCount,
    Table,
    Text,
)


class DiscTable(Table):
    """So many copies of a design."""

    design: RelativePath
    copies: Copies = 1


class RingTable(Table):
    """A ring."""

    outer_diameter: Length
    inner_diameter: LengthOrZero = 0.0


class FullDiscTable(Table):
    """A full disc."""

    diameter: Length


class SectorPartTable(Table):
    """An annular sector, or a slice of a full disc where ``inner_diameter`` is 0."""

    outer_diameter: Length
    inner_diameter: LengthOrZero = 0.0
    degrees: AngleWidth


class RectangleTable(Table):
    """A rectangle, its corners rounded or not."""

    size: Size
    corner_radius: LengthOrZero = 0.0


class PartTable(Table):
    """A loose shape: exactly one of ring, disc, sector, rectangle, polygon and drawing."""

    name: Text
    film: FilmName
    copies: Copies = 1
    ring: RingTable | None = None
    disc: FullDiscTable | None = None
    sector: SectorPartTable | None = None
    rectangle: RectangleTable | None = None
    polygon: Polygon | None = None
    drawing: RelativePath | None = None


class StockTable(Table):
    """A sheet or leftover on the shelf: exactly one of size and outline."""

    film: FilmName
    size: Size | None = None
    outline: Polygon | None = None
    count: Copies = 1
    label: Text | None = None
    defects: Annotated[
        list[Polygon], Field(max_length=100, description="a list of outlines [[x, y], ...]")
    ] = []
    price: Price | None = None


SHARED: Literal["shared"] = "shared"
"""Instead of a web: straight sides may lie one kerf apart and are then cut once."""

Web = Annotated[
    LengthOrZero | Literal["shared"],
    Field(description='a length in mm, from 0 to 10000, or "shared"'),
]


class NestingTable(Table):
    """Film left between two slots (`web`), at a sheet's edge (`margin`); how long to search."""

    web: Web = 1.0
    margin: LengthOrZero = 5.0
    seconds: Seconds | None = None
    evaluations: Evaluations | None = None
    seed: Seed = 1


class TabsTable(Table):
    """Short bridges left uncut, so many on each part, that hold it until they are broken."""

    count: SlotCount
    width: Length = 0.4


class CuttingTable(Table):
    """How contours are run and parts held; `heat_spread` 0 asks for the shortest travel."""

    tabs: TabsTable | None = None
    lead_in: LengthOrZero = 0.0
    lead_out: LengthOrZero = 0.0
    overcut: LengthOrZero | None = None
    heat_spread: SecondsOrZero = 0.5


class PricesTable(Table):
    """What things cost."""

    currency: Annotated[
        Remark, Field(max_length=20, description="text of at most 20 characters, such as EUR")
    ] = ""
    cutter_per_hour: Price | None = None
    sheet: dict[str, Price] = {}
    per_m2: dict[str, Price] = {}
    per_m: dict[str, Price] = {}
    labour_per_hour: Price | None = None
    assembly_minutes: Minutes = 0.0
    gluing_minutes: Minutes = 0.0
    setup_minutes: Minutes = 0.0
    spoilage_percent: Percent = 0.0


class LeftoversTable(Table):
    """What is worth keeping."""

    smallest_side: LengthOrZero = 50.0
    smallest_area: Area = 5000.0
    disc_diameter: Length | None = None
    shape: Annotated[Literal["outline", "trim"], Field(description='"outline" or "trim"')] = (
        "outline"
    )
    cut_trim: bool = False


class JobFile(Table):
    """Which discs and loose parts, how many, from what stock, on which cutter."""

    format: Format
    title: Text
    cutter: Annotated[
        RelativePath, Field(description="the name of a cutter, or the path of its .toml file")
    ]
    disc: Annotated[
        list[DiscTable], Field(max_length=200, description="a list of tables, [[disc]]")
    ] = []
    part: Annotated[
        list[PartTable], Field(max_length=500, description="a list of tables, [[part]]")
    ] = []
    kerf: dict[str, KerfWidth] = {}
    stock: Annotated[
        list[StockTable], Field(max_length=1000, description="a list of tables, [[stock]]")
    ] = []
    nesting: NestingTable = Field(default_factory=NestingTable)
    prices: PricesTable = Field(default_factory=PricesTable)
    cutting: CuttingTable = Field(default_factory=CuttingTable)
    leftovers: LeftoversTable = Field(default_factory=LeftoversTable)
