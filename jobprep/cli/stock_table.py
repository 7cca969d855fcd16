"""The stock on the terminal, and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click

from jobprep.cli.long_table import long_table
from jobprep.cli.terminal import Column, console
from jobprep.files.ledger.journal import Entry
from jobprep.files.ledger.on_disk import Done
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
REMARK = Column("Remark", folds=True)
"""Only where a piece has one."""


def print_pieces(ledger: Ledger) -> None:
    """Print what is on the shelf, one piece a row."""
    out = console()
    if ledger.pieces:
        has_remarks = any(piece.remark for piece in ledger.pieces)
        columns = (*COLUMNS, REMARK) if has_remarks else COLUMNS
        rows = [(*_row(piece), piece.remark)[: len(columns)] for piece in ledger.pieces]
        out.print(long_table(out, columns, rows))
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


def print_changes(entries: Sequence[Entry]) -> None:
    """Print every change of the shelf, the oldest first."""
    out = console()
    if not entries:
        out.print("Nothing has changed yet.")
        return
    columns = (
        Column("No", is_right=True),
        Column("Day"),
        Column("What was done", folds=True),
        Column("Off the shelf", folds=True),
        Column("Onto the shelf", folds=True),
    )
    rows = [
        (
            str(number),
            entry.date.isoformat(),
            entry.note if entry.undoes is None else f"{entry.note} (takes back {entry.undoes})",
            _moved(entry.change.out),
            _moved(entry.change.into),
        )
        for number, entry in enumerate(entries, start=1)
    ]
    out.print(long_table(out, columns, rows))


def changes_json(entries: Sequence[Entry]) -> list[dict[str, Any]]:
    """Return every change for programs."""
    return [
        {
            "number": number,
            "date": entry.date.isoformat(),
            "action": entry.action,
            "note": entry.note,
            "undoes": entry.undoes,
            "off_the_shelf": {piece.id: piece.count for piece in entry.change.out.pieces},
            "onto_the_shelf": {piece.id: piece.count for piece in entry.change.into.pieces},
        }
        for number, entry in enumerate(entries, start=1)
    ]


def _moved(ledger: Ledger) -> str:
    return ", ".join(
        piece.id if piece.count == 1 else f"{piece.count} × {piece.id}" for piece in ledger.pieces
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


def print_change(path: Path, done: Done) -> None:
    """Print what a change took off the shelf and put there, and where it was written."""
    came = {piece.id for piece in done.change.into.pieces}
    went = {piece.id for piece in done.change.out.pieces}
    for piece in done.change.out.pieces:
        if piece.id not in came:
            click.echo(f"Gone: {piece_line(piece)}")
    for piece in done.change.into.pieces:
        click.echo(f"{'Now' if piece.id in went else 'New'}: {piece_line(piece)}")
    click.echo(f"Written to {path}")
