"""One film level of a design file, with the openings cut through it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from jobprep.errors import Finding
from jobprep.files.design.printed import ArcTextTable, ArtworkTable
from jobprep.files.design.sector import SectorTable, sectors_of
from jobprep.files.toml.field_types import (
    AngleWidth,
    DialAngle,
    JointGap,
    LabColour,
    LayerFilm,
    Length,
    LengthOrZero,
    SlotCount,
    Text,
)
from jobprep.files.toml.table import Table, key, rows
from jobprep.model import Layer, Opening


class OpeningTable(Table[Opening]):
    """Equal openings cut through a layer, evenly round the disc."""

    angle: AngleWidth = key("degrees")
    count: SlotCount = 1
    inner_diameter: Length
    outer_diameter: Length | None = None
    direction: DialAngle = key("angle", default=0.0)
    corner_radius: LengthOrZero = 0.0


class LayerTable(Table[Layer]):
    """One film level, front to back: a full ring of ``film``, or sectors."""

    rows_in_line = ("sector",)

    name: Text
    film: LayerFilm | None = None
    lab: LabColour | None = None
    outer_diameter: Length | None = None
    inner_diameter: Length | None = None
    start: DialAngle = key("start_angle", default=0.0)
    joint_gap: JointGap = 0.0
    sectors: list[SectorTable] = key(
        "sector",
        default=[],
        max_length=360,
        description="a list of sectors, { film = ..., degrees = ... }",
    )
    openings: list[OpeningTable] = rows("opening", of="layer", most=100)
    artworks: list[ArtworkTable] = rows("artwork", of="layer", most=20)
    texts: list[ArcTextTable] = rows("text", of="layer", most=20)

    def faults(self) -> Iterator[Finding]:
        """Yield what does not go with sectors, or with none."""
        if self.film is not None and self.sectors:
            yield Finding.error("film", "a layer has either film or sector, not both")
        elif self.film is None and "sectors" not in self.model_fields_set:
            message = "a layer needs film (a full ring) or sector (a list of sectors)"
            yield Finding.error("", message)
        if self.film is None and self.lab is not None:
            yield Finding.error("lab", "only a layer with film has this; each sector has its own")
        if not self.sectors:
            for name in sorted({"joint_gap", "start"} & self.model_fields_set):
                yield Finding.error(self.key_of(name), "only a layer with sectors has this")

    def value_in(self, outer_diameter: float, speed: float | None) -> Layer:
        """Return the layer of a disc of a diameter in mm and, where it turns, a speed in r/min."""
        return self.made(
            film=self.film or "",
            outer_diameter=self.outer_diameter or outer_diameter,
            sectors=sectors_of(self.sectors, speed),
        )

    @classmethod
    def fields_in(cls, layer: Layer, outer_diameter: float) -> dict[str, Any]:
        """Return key -> value of a layer of a disc of a diameter in mm."""
        narrower = layer.outer_diameter != outer_diameter
        outer = layer.outer_diameter if narrower else None
        if layer.sectors:
            return cls.written(layer, film=None, lab=None, outer_diameter=outer)
        return cls.written(layer, film=layer.film, outer_diameter=outer, start=None, joint_gap=None)
