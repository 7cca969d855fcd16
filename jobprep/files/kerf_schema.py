"""What a file of coupon measurements may hold."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from jobprep.files.field_types import Format, Length, Remark
from jobprep.files.toml.table import Table
from jobprep.model.kerf import LEAST_HALF_WIDTH, MOST_HALF_WIDTH

Along = Annotated[
    Literal["x", "y"], Field(description='"x" or "y", the direction it was measured along')
]
Readings = Annotated[
    list[Length],
    Field(max_length=50, description="a list of readings in mm, each from 0.001 to 10000"),
]
Widths = Annotated[
    list[Annotated[float, Field(ge=0, le=10, description="a width in mm, from 0 to 10")]],
    Field(max_length=50, description="a list of widths in mm, each from 0 to 10"),
]
Strips = Annotated[
    int, Field(ge=2, le=200, description="the number of strips, a whole number from 2 to 200")
]
Notch = Annotated[
    float,
    Field(ge=0, le=300, description="a number engraved on the ladder, in hundredths of a mm"),
]
MOST_ROWS = 200
"""Tables of one kind: far more than any coupon has pieces."""

HalfWidth = Annotated[
    float,
    Field(ge=LEAST_HALF_WIDTH, le=MOST_HALF_WIDTH, description="a length in mm, from 0.0001 to 5"),
]


class CombTable(Table[None]):
    """Strips pushed together and measured as one; ``drawn`` is the width of all as drawn."""

    along: Along
    strips: Strips
    drawn: Length
    ends: Annotated[
        Literal["cut", "sheet"],
        Field(
            description='"cut" (every strip was cut all round) or "sheet" (the outermost edges are'
            " the sheet's own)"
        ),
    ] = "cut"
    readings: Readings = []


class PieceTable(Table[None]):
    """One piece, cut all round."""

    along: Along
    drawn: Length
    readings: Readings = []


class SlotTable(Table[None]):
    """An opening or a notch."""

    along: Along
    drawn: Length
    readings: Readings = []


class FitTable(Table[None]):
    """How far up the ladder the tongue goes."""

    along: Along
    enters: Notch
    refuses: Notch


class WidthTable(Table[None]):
    """The cut itself under a magnifier, or a figure from elsewhere."""

    along: Along
    sense: Annotated[
        Literal["full", "edge"],
        Field(
            description='"full" (the whole width of the cut) or "edge" (what each edge loses, half'
            " of it)"
        ),
    ]
    readings: Widths = []


def _tables(name: str) -> Any:
    words = f"a list of at most {MOST_ROWS} tables, [[{name}]]"
    return Field(max_length=MOST_ROWS, description=words)


class KerfFile(Table[None]):
    """Measurements of one coupon; ``plus_minus`` is the instrument's largest error, mm."""

    format: Format
    film: Remark = ""
    cutter: Remark = ""
    plus_minus: HalfWidth = 0.02
    comb: Annotated[list[CombTable], _tables("comb")] = []
    piece: Annotated[list[PieceTable], _tables("piece")] = []
    slot: Annotated[list[SlotTable], _tables("slot")] = []
    fit: Annotated[list[FitTable], _tables("fit")] = []
    width: Annotated[list[WidthTable], _tables("width")] = []
