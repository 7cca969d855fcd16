"""Sheets and leftovers that a job file names."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from jobprep.errors import Finding
from jobprep.files.findings import piece_faults, piece_outline
from jobprep.files.toml.field_types import Copies, FilmName, Polygon, Price, Size, Text
from jobprep.files.toml.table import Table
from jobprep.geometry.polygons import corners
from jobprep.model import StockPiece


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
            outline=corners(piece_outline(self.size, self.outline)),
            label=self.label or "",
            defects=tuple(map(corners, self.defects)),
        )

    @classmethod
    def one_of(cls) -> tuple[str, ...]:
        """Return the keys of a rectangle and of any other outline."""
        return "size", "outline"

    def faults(self) -> Iterator[Finding]:
        """Yield what makes no piece of film."""
        if self.label is not None and self.count != 1:
            message = f"{self.count} pieces cannot share a label; a label names one piece"
            yield Finding.error("count", message)
        if (self.size is None) == (self.outline is None):
            yield Finding.error("", "give either size (a rectangle) or outline (its corners)")
            return
        beyond = "does not lie inside its sheet; give the part of it that does"
        yield from piece_faults(piece_outline(self.size, self.outline), self.defects, beyond)
