"""A piece of film on the shelf, as the stock ledger holds it."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from typing import Annotated, Any, ClassVar, Literal

from pydantic import Field

from jobprep.errors import Finding
from jobprep.files.findings import piece_faults, piece_outline
from jobprep.files.toml.field_types import Copies, Corner, Price, Size, Text
from jobprep.files.toml.table import Table
from jobprep.geometry.polygons import corners
from jobprep.model import Points, rectangle_points
from jobprep.stock.ledger import Piece, rounded

Outline = Annotated[
    list[Corner],
    Field(min_length=3, max_length=20_000, description="a list of at least 3 points [x, y] in mm"),
]
Id = Annotated[
    str,
    Field(
        pattern=r"^[^\s\x00-\x1f\x7f-\x9f]{1,140}$",
        description="an id without spaces, such as amber-3",
    ),
]
Day = Annotated[datetime.date, Field(description="a date such as 2026-11-25")]
Origin = Annotated[
    str, Field(max_length=300, pattern=r"^[^\x00-\x1f\x7f-\x9f]*$", description="one line of text")
]


class PieceTable(Table[Piece]):
    """Equal sheets, or one leftover, on the shelf: exactly one of size and outline."""

    always_written: ClassVar[tuple[str, ...]] = ("count",)

    id: Id
    film: Text
    kind: Annotated[Literal["sheet", "leftover"], Field(description='"sheet" or "leftover"')]
    size: Size | None = None
    outline: Outline | None = None
    defects: Annotated[
        list[Outline], Field(max_length=1000, description="a list of outlines [[x, y], ...]")
    ] = []
    count: Copies = 1
    added: Day
    origin: Origin = ""
    shelf: Origin = ""
    remark: Origin = ""
    price: Price | None = None

    def value(self) -> Piece:
        """Return the piece."""
        return self.made(
            outline=_kept(piece_outline(self.size, self.outline)),
            defects=tuple(map(_kept, self.defects)),
        )

    @classmethod
    def fields_of(cls, value: Piece) -> dict[str, Any]:
        """Return key -> value; a rectangle without defects comes out as its size."""
        size = None if value.defects else _rectangle_size(value.outline)
        return cls.written(
            value,
            size=size,
            outline=None if size else _lists(value.outline),
            defects=[_lists(defect) for defect in value.defects],
        )

    def faults(self) -> Iterator[Finding]:
        """Yield what makes no piece."""
        if (self.size is None) == (self.outline is None):
            yield Finding.error("", "give exactly one of size and outline")
        if self.kind == "leftover" and self.count != 1:
            message = f"{self.count} is not 1; every leftover is a piece of its own"
            yield Finding.error("count", message)

    def shape_faults(self) -> Iterator[Finding]:
        """Yield outlines that are not simple, and defects beyond the piece: slow to find."""
        if (self.size is None) != (self.outline is None):
            beyond = "reaches beyond the piece's outline"
            yield from piece_faults(
                piece_outline(self.size, self.outline), self.defects, beyond, _kept
            )


def _kept(points: Sequence[Sequence[float]]) -> Points:
    return rounded(corners(points))


def _lists(points: Points) -> list[list[float]]:
    return [list(point) for point in points]


def _rectangle_size(outline: Points) -> list[float] | None:
    if len(outline) == 4 and outline[0] == (0.0, 0.0):
        width, height = outline[2]
        if outline == rectangle_points(width, height):
            return [width, height]
    return None
