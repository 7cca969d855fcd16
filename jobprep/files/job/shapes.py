"""Loose shapes of a job file: each table becomes the region to cut, round about the origin.

A sector's middle points to 12 o'clock, a rectangle's lower left corner lies on the origin.
"""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.errors import Finding
from jobprep.files.field_types import AngleWidth, Length, LengthOrZero, Size
from jobprep.files.findings import not_below
from jobprep.files.toml.table import Table
from jobprep.geometry.outline import Region
from jobprep.geometry.shapes import annular_sector, ring, rounded_rectangle
from jobprep.units import from_degrees, number


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


def _hole_fault(inner: float, outer: float) -> Iterator[Finding]:
    return not_below("inner_diameter", inner, outer, "the outer diameter")
