"""The stock ledger as plain data: its schema, and to and from the values of ``stock.toml``."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import Field

from jobprep.errors import Finding, InputError
from jobprep.files.field_types import Copies, Corner, Format, Price, Size, Text
from jobprep.files.polygons import corners, lies_within, polygon_fault
from jobprep.files.tables import check_schema
from jobprep.files.toml.table import Table
from jobprep.files.toml_lines import TomlFile
from jobprep.files.toml_text import toml_text
from jobprep.model import Points, rectangle_points
from jobprep.stock.ledger import BookedRun, Ledger, Piece, rounded, sorted_ledger

HEADING = """\
# The stock of this workshop, kept by jobprep. Values may be edited by hand; comments are not kept.
"""

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
Digest = Annotated[
    str, Field(pattern=r"^[0-9a-f]{64}$", description="a SHA-256 of 64 hexadecimal digits")
]
Origin = Annotated[
    str, Field(max_length=300, pattern=r"^[^\x00-\x1f\x7f-\x9f]*$", description="one line of text")
]


class PieceTable(Table[None]):
    """Equal sheets, or one leftover, on the shelf: exactly one of size and outline."""

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


class BookedTable(Table[None]):
    """A run that was booked."""

    run: Digest
    title: Origin
    date: Day


class LedgerFile(Table[None]):
    """The whole ledger."""

    format: Format
    piece: Annotated[
        list[PieceTable], Field(max_length=100_000, description="a list of tables, [[piece]]")
    ] = []
    booked: Annotated[
        list[BookedTable], Field(max_length=100_000, description="a list of tables, [[booked]]")
    ] = []
    next_number: dict[str, Copies] = {}


def ledger_text(ledger: Ledger) -> str:
    """Return the text of ``stock.toml``; equal ledgers give equal texts."""
    return HEADING + toml_text({"format": 1, **to_values(ledger)})


def to_values(ledger: Ledger) -> dict[str, Any]:
    """Return a ledger as plain values; what is empty is left out."""
    values = {
        "piece": [_piece_values(piece) for piece in ledger.pieces],
        "booked": [{"run": run.run, "title": run.title, "date": run.date} for run in ledger.booked],
        "next_number": dict(ledger.next_number),
    }
    return {key: value for key, value in values.items() if value}


def from_file(file: TomlFile, *, check_shapes: bool) -> Ledger:
    """Return the ledger of a file.

    ``check_shapes`` looks whether every outline is simple, which is slow for large ledgers and
    not needed for a text that jobprep itself has written. Raises ``InputError`` with all problems.
    """
    tables, problems = check_schema(LedgerFile, file)
    problems += _piece_problems(file, dict(tables.rows("piece", PieceTable)), check_shapes)
    if tables.root is None or problems:
        raise InputError(problems)
    return _with_free_numbers(_ledger(tables.root))


def from_values(values: Mapping[str, Any]) -> Ledger:
    """Return the ledger of plain values that ``to_values`` made; raises ``ValueError``."""
    return _ledger(LedgerFile.model_validate({"format": 1, **values}))


def _ledger(table: LedgerFile) -> Ledger:
    return sorted_ledger(
        map(_piece, table.piece),
        (BookedRun(run=row.run, title=row.title, date=row.date) for row in table.booked),
        table.next_number,
    )


def _with_free_numbers(ledger: Ledger) -> Ledger:
    """Make sure that no number counts as free which a piece added by hand already bears."""
    numbers = dict(ledger.next_number)
    for piece in ledger.pieces:
        film, _, tail = piece.id.rpartition("-")
        if film == piece.film and tail.isascii() and tail.isdigit():
            numbers[film] = max(numbers.get(film, 1), int(tail) + 1)
    return sorted_ledger(ledger.pieces, ledger.booked, numbers)


def _piece_values(piece: Piece) -> dict[str, Any]:
    values: dict[str, Any] = {"id": piece.id, "film": piece.film, "kind": piece.kind}
    size = _rectangle_size(piece.outline)
    if size and not piece.defects:
        values["size"] = list(size)
    else:
        values["outline"] = [list(corner) for corner in piece.outline]
    if piece.defects:
        values["defects"] = [[list(corner) for corner in hole] for hole in piece.defects]
    values["count"] = piece.count
    values["added"] = piece.added
    texts = {"origin": piece.origin, "shelf": piece.shelf, "remark": piece.remark}
    values |= {key: text for key, text in texts.items() if text}
    if piece.price is not None:
        values["price"] = piece.price
    return values


def _piece(row: PieceTable) -> Piece:
    if row.size is not None:
        width, height = row.size
        outline = rectangle_points(width, height)
    else:
        outline = corners(row.outline or ())
    return Piece(
        id=row.id,
        film=row.film,
        kind=row.kind,
        outline=rounded(outline),
        defects=tuple(rounded(corners(defect)) for defect in row.defects),
        count=row.count,
        added=row.added,
        origin=row.origin,
        shelf=row.shelf,
        remark=row.remark,
        price=None if row.price is None else float(row.price),
    )


def _rectangle_size(outline: Points) -> tuple[float, float] | None:
    if len(outline) == 4 and outline[0] == (0.0, 0.0):
        width, height = outline[2]
        if outline == rectangle_points(width, height):
            return width, height
    return None


def _piece_problems(
    file: TomlFile, rows: Mapping[str, PieceTable], check_shapes: bool
) -> list[Finding]:
    problems = []
    seen: dict[str, str] = {}
    for path, row in rows.items():
        if row.id in seen:
            message = f'"{row.id}" is also the id of {seen[row.id]}; every piece needs its own'
            problems.append(file.source.error(f"{path}.id", message))
        seen.setdefault(row.id, path)
        if (row.size is None) == (row.outline is None):
            message = "give exactly one of size and outline"
            problems.append(file.source.error(path, message))
        if row.kind == "leftover" and row.count != 1:
            message = f"{row.count} is not 1; every leftover is a piece of its own"
            problems.append(file.source.error(f"{path}.count", message))
        if check_shapes:
            problems += _shape_problems(file, path, row)
    return problems


def _shape_problems(file: TomlFile, path: str, row: PieceTable) -> list[Finding]:
    problems = []
    outlines = {f"{path}.outline": row.outline} if row.outline is not None else {}
    outlines |= {f"{path}.defects[{n}]": hole for n, hole in enumerate(row.defects, start=1)}
    for where, outline in outlines.items():
        fault = polygon_fault(outline)
        if fault:
            problems.append(file.source.error(where, fault))
    if not problems and (row.size is not None) != (row.outline is not None):
        piece = _piece(row)
        for n, defect in enumerate(piece.defects, start=1):
            if not lies_within(defect, piece.outline):
                message = "reaches beyond the piece's outline"
                problems.append(file.source.error(f"{path}.defects[{n}]", message))
    return problems
