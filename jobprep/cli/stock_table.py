"""The stock on the terminal, and as JSON."""

from __future__ import annotations

from typing import Any

from jobprep.cli.long_table import Column, long_table
from jobprep.cli.tables import console
from jobprep.geometry.measure import area
from jobprep.report.stock_sheet import piece_region
from jobprep.report.words import extent, square_cm
from jobprep.stock.ledger import Ledger, Piece

COLUMNS = (
    Column("Id"),
    Column("Kind"),
    Column("Count", is_right=True),
    Column("Size mm", is_right=True),
    Column("cm²", is_right=True),
    Column("Shelf", folds=True),
    Column("Since"),
)


def print_pieces(ledger: Ledger) -> None:
    """Print what is on the shelf, one piece a row."""
    out = console()
    if ledger.pieces:
        out.print(long_table(out, COLUMNS, [_row(piece) for piece in ledger.pieces]))
    else:
        out.print("Nothing is on the shelf.")


def _row(piece: Piece) -> tuple[str, ...]:
    region = piece_region(piece)
    return (
        piece.id,
        piece.kind,
        str(piece.count),
        extent(region).removesuffix(" mm"),
        square_cm(area(region)),
        piece.shelf,
        piece.added.isoformat(),
    )


def piece_line(piece: Piece) -> str:
    """Return a piece in one line."""
    region = piece_region(piece)
    times = f"{piece.count} × " if piece.count > 1 else ""
    where = f", shelf {piece.shelf}" if piece.shelf else ""
    return (
        f"{piece.id}, {piece.kind}, {times}{extent(region)}, {square_cm(area(region))} cm²{where}"
    )


def pieces_json(ledger: Ledger) -> dict[str, Any]:
    """Return the ledger for programs; every key names its unit."""
    return {
        "pieces": [
            {
                "id": piece.id,
                "film": piece.film,
                "kind": piece.kind,
                "count": piece.count,
                "outline_mm": piece.outline,
                "defects_mm": piece.defects,
                "area_mm2": area(piece_region(piece)),
                "added": piece.added.isoformat(),
                "origin": piece.origin,
                "shelf": piece.shelf,
                "remark": piece.remark,
                "price": piece.price,
            }
            for piece in ledger.pieces
        ],
        "booked": [
            {"run": run.run, "title": run.title, "date": run.date.isoformat()}
            for run in ledger.booked
        ],
    }
