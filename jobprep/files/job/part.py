"""Loose parts of a job file, and their shapes: each table becomes the region to cut.

Shapes lie about the origin: a sector's middle points to 12 o'clock, a rectangle's lower left corner
lies on the origin.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

from pydantic import Field

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

PartNumber = Annotated[
    int,
    Field(
        ge=1,
        le=10_000,
        description="a whole number from 1 to 10000 that no other part has; the next free one if"
        " left out",
    ),
]
Engraving = Annotated[
    RelativePath,
    Field(
        description="the path of a second drawing, of lines to engrave, on the same page as"
        " `drawing`"
    ),
]


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


OF_EVERY_PART = ("name", "film", "copies", "number", "engraving")
"""Keys that are no shape."""


class PartTable(Table[LoosePart]):
    """A loose shape: exactly one of the keys from ``ring`` to ``drawing``."""

    name: Text
    film: FilmName
    copies: Copies = 1
    number: PartNumber | None = None
    ring: RingTable | None = None
    disc: FullDiscTable | None = None
    sector: SectorPartTable | None = None
    rectangle: RectangleTable | None = None
    bar: BarTable | None = None
    polygon: Polygon | None = None
    drawing: RelativePath | None = None
    engraving: Engraving | None = None

    def value_in(self, folder: Path) -> LoosePart:
        """Return the part; its drawing lies relative to ``folder`` and is not read yet."""
        if self.drawing is not None:
            engraving = None if self.engraving is None else folder / self.engraving
            return self.made(region=None, drawing=folder / self.drawing, engraving=engraving)
        if self.polygon is not None:
            region = Region(polygon(corners(self.polygon)))
        else:
            table = next(found for name in _shapes() if (found := getattr(self, name)) is not None)
            region = table.value()
        return self.made(region=region, drawing=None, engraving=None)

    def faults(self) -> Iterator[Finding]:
        """Yield a shape that is missing, given twice, or none that can be read."""
        given = [name for name in _shapes() if getattr(self, name) is not None]
        if len(given) != 1:
            what = f"has {listed(given)}" if given else "has no shape"
            yield Finding.error("", f"{what}; give exactly one of {listed(_shapes())}")
        fault = polygon_fault(self.polygon) if self.polygon is not None else ""
        if fault:
            yield Finding.error("polygon", fault)
        for key, name in self.drawings():
            if Path(name).suffix.lower() not in DRAWINGS:
                what = "is not a drawing that can be read; give an .svg or .dxf file"
                yield Finding.error(key, f"{shown(name)} {what}")
        if self.engraving is not None and self.drawing is None:
            message = "lies on the page of a drawing; give the part's outline as one too"
            yield Finding.error("engraving", message)

    @classmethod
    def one_of(cls) -> list[str]:
        """Return the keys of the shapes."""
        return _shapes()

    def drawings(self) -> Iterator[tuple[str, str]]:
        """Yield key and path of each drawing named."""
        for key, name in (("drawing", self.drawing), ("engraving", self.engraving)):
            if name is not None:
                yield key, name


def _shapes() -> list[str]:
    """Return the keys of which a part has one: all but those that every part has."""
    return [name for name in PartTable.model_fields if name not in OF_EVERY_PART]


def _hole_fault(inner: float, outer: float) -> Iterator[Finding]:
    return not_below("inner_diameter", inner, outer, "the outer diameter")
