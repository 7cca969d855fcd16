"""The stock on the terminal, and as JSON."""

from __future__ import annotations

from typing import Any

from rich.box import SIMPLE_HEAD
from rich.table import Table

from jobprep.cli.tables import console
from jobprep.geometry.measure import area
from jobprep.report.stock_sheet import piece_region
from jobprep.report.words import extent, square_cm
from jobprep.stock.ledger import Ledger, Piece


def print_pieces(ledger: Ledger) -> None:
    """Print what is on the shelf, one piece a row."""
    out = console()
    table = Table(box=SIMPLE_HEAD, pad_edge=False)
    table.add_column("Id")
    table.add_column("Kind")
    table.add_column("Count", justify="right")
    table.add_column("Size mm", justify="right")
    table.add_column("cm²", justify="right")
    table.add_column("Shelf", overflow="fold")
    table.add_column("Since")
    for piece in ledger.pieces:
        region = piece_region(piece)
        table.add_row(
            piece.id,
            piece.kind,
            str(piece.count),
            extent(region).removesuffix(" mm"),
            square_cm(area(region)),
            piece.shelf,
            piece.added.isoformat(),
        )
    if ledger.pieces:
        out.print(table)
    else:
        out.print("Nothing is on the shelf.")


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
                "outline_mm": [list(corner) for corner in piece.outline],
                "defects_mm": [[list(corner) for corner in hole] for hole in piece.defects],
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
