"""Loose parts of a job file, and their shapes: each table becomes the region to cut.

Shapes lie about the origin: a sector's middle points to 12 o'clock, a rectangle's lower left corner
lies on the origin.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from jobprep.errors import Finding
from jobprep.files.findings import not_below
from jobprep.files.toml.field_types import (
    AngleWidth,
    Copies,
    FilmName,
    Length,
    LengthOrZero,
    Polygon,
    RelativePath,
    Size,
    Text,
)
from jobprep.files.toml.problems import listed, shown
from jobprep.files.toml.table import Table
from jobprep.geometry.outline import Region, polygon
from jobprep.geometry.polygons import corners, polygon_fault
from jobprep.geometry.shapes import annular_sector, bar, ring, rounded_rectangle
from jobprep.model import LoosePart
from jobprep.units import from_degrees, number

DRAWINGS = (".svg", ".dxf")


class RingTable(Table[Region]):
    """A ring."""

    outer_diameter: Length
    inner_diameter: LengthOrZero = 0.0

    def value(self) -> Region:
        """Return the ring."""
        return ring(self.inner_diameter / 2.0, self.outer_diameter / 2.0)

    def faults(self) -> Iterator[Finding]:
        """Yield a hole that leaves no ring."""
        return _hole_fault(self.inner_diameter, self.outer_diameter)


class FullDiscTable(Table[Region]):
    """A full disc."""

    diameter: Length

    def value(self) -> Region:
        """Return the disc."""
        return ring(0.0, self.diameter / 2.0)


class SectorPartTable(Table[Region]):
    """An annular sector, or a slice of a full disc where ``inner_diameter`` is 0."""

    outer_diameter: Length
    inner_diameter: LengthOrZero = 0.0
    degrees: AngleWidth

    def value(self) -> Region:
        """Return the sector."""
        angle = from_degrees(self.degrees)
        start = from_degrees(90.0) - angle / 2.0
        return annular_sector(self.inner_diameter / 2.0, self.outer_diameter / 2.0, start, angle)

    def faults(self) -> Iterator[Finding]:
        """Yield a hole that leaves no ring."""
        return _hole_fault(self.inner_diameter, self.outer_diameter)


class RectangleTable(Table[Region]):
    """A rectangle, its corners rounded or not."""

    size: Size
    corner_radius: LengthOrZero = 0.0

    def value(self) -> Region:
        """Return the rectangle."""
        width, height = self.size
        return rounded_rectangle(width, height, self.corner_radius)

    def faults(self) -> Iterator[Finding]:
        """Yield corners rounder than the rectangle is wide."""
        limit = min(self.size) / 2.0
        if self.corner_radius > limit:
            half = f"half the shorter side, {number(limit)} mm"
            message = f"{number(self.corner_radius)} mm is more than {half}"
            yield Finding.error("corner_radius", message)


class BarTable(Table[Region]):
    """A bar with round ends; ``length`` counts them."""

    length: Length
    width: Length

    def value(self) -> Region:
        """Return the bar."""
        return bar(self.length, self.width)

    def faults(self) -> Iterator[Finding]:
        """Yield a bar too short for its round ends."""
        if self.length <= self.width:
            message = f"{number(self.length)} mm is not above the width, {number(self.width)} mm"
            yield Finding.error("length", message)


class PartTable(Table[LoosePart]):
    """A loose shape: exactly one of the keys after ``copies``."""

    name: Text
    film: FilmName
    copies: Copies = 1
    ring: RingTable | None = None
    disc: FullDiscTable | None = None
    sector: SectorPartTable | None = None
    rectangle: RectangleTable | None = None
    bar: BarTable | None = None
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


def _hole_fault(inner: float, outer: float) -> Iterator[Finding]:
    return not_below("inner_diameter", inner, outer, "the outer diameter")
