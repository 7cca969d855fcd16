"""Sheets and leftovers that a job file names."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from jobprep.errors import Finding
from jobprep.files.polygons import corners, lies_within, polygon_fault
from jobprep.files.toml.field_types import Copies, FilmName, Polygon, Price, Size, Text
from jobprep.files.toml.table import Table
from jobprep.model import Points, StockPiece, rectangle_points


class StockTable(Table[StockPiece]):
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

    def value(self) -> StockPiece:
        """Return the piece."""
        return self.made(
            outline=self._corners(),
            label=self.label or "",
            defects=tuple(map(corners, self.defects)),
        )

    def faults(self) -> Iterator[Finding]:
        """Yield what makes no piece of film."""
        if self.label is not None and self.count != 1:
            message = f"{self.count} pieces cannot share a label; a label names one piece"
            yield Finding.error("count", message)
        if (self.size is None) == (self.outline is None):
            yield Finding.error("", "give either size (a rectangle) or outline (its corners)")
            return
        fault = polygon_fault(self.outline) if self.outline is not None else ""
        if fault:
            yield Finding.error("outline", fault)
            return
        outline = self._corners()
        for count, defect in enumerate(self.defects, 1):
            at = f"defects[{count}]"
            fault = polygon_fault(defect)
            if fault:
                yield Finding.error(at, fault)
            elif not lies_within(corners(defect), outline):
                yield Finding.error(
                    at, "does not lie inside its sheet; give the part of it that does"
                )

    def _corners(self) -> Points:
        if self.outline is not None:
            return corners(self.outline)
        width, height = self.size or (0.0, 0.0)
        return rectangle_points(width, height)
