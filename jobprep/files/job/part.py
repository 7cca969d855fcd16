"""Loose parts of a job file."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from jobprep.errors import Finding
from jobprep.files.field_types import Copies, FilmName, Polygon, RelativePath, Text
from jobprep.files.job.shapes import FullDiscTable, RectangleTable, RingTable, SectorPartTable
from jobprep.files.polygons import corners, polygon_fault
from jobprep.files.problems import listed, shown
from jobprep.files.toml.table import Table
from jobprep.geometry.outline import Region, polygon
from jobprep.model import LoosePart

DRAWINGS = (".svg", ".dxf")


class PartTable(Table[LoosePart]):
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

    def value_in(self, folder: Path) -> LoosePart:
        """Return the part; its drawing lies relative to ``folder`` and is not read yet."""
        if self.drawing is not None:
            return self.made(region=None, drawing=folder / self.drawing)
        if self.polygon is not None:
            return self.made(region=Region(polygon(corners(self.polygon))), drawing=None)
        table = next(found for name in _shapes() if (found := getattr(self, name)) is not None)
        return self.made(region=table.value(), drawing=None)

    def faults(self) -> Iterator[Finding]:
        """Yield a shape that is missing, given twice, or none that can be read."""
        given = [name for name in _shapes() if getattr(self, name) is not None]
        if len(given) != 1:
            what = f"has {listed(given)}" if given else "has no shape"
            yield Finding.error("", f"{what}; give exactly one of {listed(_shapes())}")
        fault = polygon_fault(self.polygon) if self.polygon is not None else ""
        if fault:
            yield Finding.error("polygon", fault)
        if self.drawing is not None and Path(self.drawing).suffix.lower() not in DRAWINGS:
            what = "is not a drawing that can be read; give an .svg or .dxf file"
            yield Finding.error("drawing", f"{shown(self.drawing)} {what}")


def _shapes() -> list[str]:
    """Return the keys of which a part has one: all but those that every part has."""
    return [name for name in PartTable.model_fields if name not in ("name", "film", "copies")]
