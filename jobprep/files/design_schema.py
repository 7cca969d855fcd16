"""What a design file may hold."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from jobprep.files.field_types import (
    AngleWidth,
    Density,
    DialAngle,
    FilmName,
    Format,
    Grade,
    Inertia,
    JointGap,
    Length,
    LengthOrZero,
    Mass,
    Milliseconds,
    RelativePath,
    Remark,
    Share,
    SlotCount,
    Speed,
    Table,
    Text,
)

LayerNames = Annotated[
    list[Text], Field(min_length=1, description="a list of at least one layer name")
]


class BoreTable(Table):
    """The central hole: ``diameter`` or ``square``; a D has a ``flat``, a keyed one a key."""

    diameter: Length | None = None
    square: Length | None = None
    flat: Length | None = None
    key_width: Length | None = None
    key_depth: Length | None = None
    angle: DialAngle = 0.0


class HoleTable(Table):
    """A round hole away from the centre, through every layer unless ``layers`` names some."""

    name: Text
    diameter: Length
    radius: Length
    angle: DialAngle = 0.0
    layers: LayerNames | None = None


class HubSlotTable(Table):
    """Equal slots for hub tabs, evenly on a circle."""

    count: SlotCount
    circle_diameter: Length
    length: Length
    width: Length
    angle: DialAngle = 0.0
    layers: LayerNames | None = None


class HubTable(Table):
    """Printed flanges, ``hub_diameter`` wide; defaults are common practice, no source."""

    # The density is that of polylactide (PLA), from memory.
    flange_thickness: Length = 2.0
    clearance: LengthOrZero = 0.15
    density_g_cm3: Density = 1.24


class SectorTable(Table):
    """One angular piece of a layer, as wide as ``degrees``, ``share`` or ``ms`` say."""

    film: FilmName
    degrees: AngleWidth | None = None
    share: Share | None = None
    ms: Milliseconds | None = None
    name: Remark = ""


class OpeningTable(Table):
    """Equal openings cut through a layer, evenly round the disc."""

    degrees: AngleWidth
    count: SlotCount = 1
    inner_diameter: Length
    outer_diameter: Length | None = None
    angle: DialAngle = 0.0
    corner_radius: LengthOrZero = 0.0


LetterHeight = Annotated[float, Field(ge=0.5, le=50, description="a height in mm, from 0.5 to 50")]


class ArtworkTable(Table):
    """An SVG or PNG on the layer's printed overlay: its middle on the centre, seen in a ring."""

    file: RelativePath
    width: Length | None = None
    inner_diameter: Length | None = None
    outer_diameter: Length | None = None
    angle: DialAngle = 0.0


class ArcTextTable(Table):
    """Words along a circle of the overlay; {disc}, {copy}, {copies} and {date} are filled in."""

    words: Text
    diameter: Length
    height: LetterHeight = 2.5
    angle: DialAngle = 0.0


class LayerTable(Table):
    """One film level, front to back: a full ring of ``film``, or sectors."""

    name: Text
    film: FilmName | None = None
    outer_diameter: Length | None = None
    inner_diameter: Length | None = None
    start_angle: DialAngle = 0.0
    joint_gap: JointGap = 0.0
    sector: Annotated[
        list[SectorTable],
        Field(max_length=360, description="a list of sectors, { film = ..., degrees = ... }"),
    ] = []
    opening: Annotated[
        list[OpeningTable],
        Field(max_length=100, description="a list of tables, [[layer.opening]]"),
    ] = []
    artwork: Annotated[
        list[ArtworkTable],
        Field(max_length=20, description="a list of tables, [[layer.artwork]]"),
    ] = []
    text: Annotated[
        list[ArcTextTable],
        Field(max_length=20, description="a list of tables, [[layer.text]]"),
    ] = []


class OriginalTable(Table):
    """What the copy must match."""

    mass_g: Mass | None = None
    thickness_mm: Length | None = None
    inertia_g_mm2: Inertia | None = None


class GlueLineTable(Table):
    """One glue line between two layers: nominal thickness, and tolerance either way."""

    thickness_mm: LengthOrZero
    tolerance_mm: LengthOrZero = 0.0


class MarksTable(Table):
    """What is engraved on each piece."""

    number: Annotated[bool, Field(description="true or false")] = True
    tick: Annotated[bool, Field(description="true or false")] = True
    height: LetterHeight = 2.5


class DotTable(Table):
    """A counterweight of round patches, one upon another."""

    name: Text
    film: FilmName
    diameter: Length
    radius: LengthOrZero
    angle: DialAngle = 0.0
    count: Annotated[
        int, Field(ge=1, le=100, description="a whole number of at least 1 and at most 100")
    ] = 1
    layer: Text | None = None


class IndexTable(Table):
    """Which edge of which hole starts the clock of a turn."""

    hole: Text = "index"
    edge: Annotated[
        Literal["leading", "trailing"], Field(description='"leading" or "trailing"')
    ] = "leading"
    sensor_width: LengthOrZero = 0.0


class BeamTable(Table):
    """The light beam where it crosses the disc."""

    width: Length
    radius: Length


class DesignFile(Table):
    """One disc described by its layers, the front one first."""

    format: Format
    name: Text
    outer_diameter: Length
    bore: BoreTable | None = None
    hub_diameter: Length | None = None
    hub: HubTable | None = None
    glue_line: GlueLineTable | None = None
    speed_rpm: Speed | None = None
    balance_grade: Grade | None = None
    original: OriginalTable | None = None
    marks: MarksTable | None = None
    index: IndexTable | None = None
    beam: BeamTable | None = None
    hole: Annotated[
        list[HoleTable], Field(max_length=200, description="a list of tables, [[hole]]")
    ] = []
    hub_slot: Annotated[
        list[HubSlotTable], Field(max_length=50, description="a list of tables, [[hub_slot]]")
    ] = []
    dot: Annotated[
        list[DotTable], Field(max_length=50, description="a list of tables, [[dot]]")
    ] = []
    layer: Annotated[
        list[LayerTable],
        Field(min_length=1, max_length=50, description="a list of at least one table, [[layer]]"),
    ]
