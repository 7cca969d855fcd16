"""The whole file of a stock ledger: its tables, checked, and its text."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Annotated

from pydantic import Field

from jobprep.errors import Finding
from jobprep.files.ledger.piece import Day, Origin, PieceTable
from jobprep.files.toml.field_types import Copies, Format
from jobprep.files.toml.form import form_of
from jobprep.files.toml.lines import TomlFile
from jobprep.files.toml.table import Table, rows
from jobprep.stock.ledger import BookedRun, Ledger, sorted_ledger
from jobprep.toml_text import toml_text

HEADING = """\
# The stock of this workshop, kept by jobprep. Values may be edited by hand; comments are not kept.
"""

Digest = Annotated[
    str, Field(pattern=r"^[0-9a-f]{64}$", description="a SHA-256 of 64 hexadecimal digits")
]


class BookedTable(Table[BookedRun]):
    """A run that was booked."""

    run: Digest
    title: Origin
    date: Day


class LedgerFile(Table[Ledger]):
    """What is on the shelf: kept by jobprep, its values may be edited by hand."""

    format: Format
    pieces: list[PieceTable] = rows("piece", most=100_000)
    booked: list[BookedTable] = rows("booked", most=100_000)
    next_number: dict[str, Copies] = {}

    def value(self) -> Ledger:
        """Return the ledger, in the one order it is written in."""
        pieces, booked = (
            (each.value() for each in self.pieces),
            (each.value() for each in self.booked),
        )
        return sorted_ledger(pieces, booked, self.next_number)

    def faults(self) -> Iterator[Finding]:
        """Yield ids that several pieces have."""
        first: dict[str, str] = {}
        for number, row in enumerate(self.pieces, 1):
            path = f"piece[{number}]"
            if row.id in first:
                message = f'"{row.id}" is also the id of {first[row.id]}; every piece needs its own'
                yield Finding.error(f"{path}.id", message)
            first.setdefault(row.id, path)

    def shape_faults(self) -> Iterator[Finding]:
        """Yield outlines that cannot be used: slow to find."""
        for number, row in enumerate(self.pieces, 1):
            yield from (each.inside(f"piece[{number}]") for each in row.shape_faults())


class LedgerPart(LedgerFile):
    """Some of a ledger, where something else says the format."""

    format: Format = 1


def ledger_text(ledger: Ledger) -> str:
    """Return the text of ``stock.toml``; equal ledgers give equal texts."""
    return HEADING + toml_text({"format": 1, **LedgerFile.fields_of(ledger)})


def ledger_from(file: TomlFile, *, check_shapes: bool) -> Ledger:
    """Return the ledger of a file.

    ``check_shapes`` looks whether every outline is simple, which is slow for large ledgers and
    not needed for a text that jobprep itself has written. Raises ``InputError`` with all problems.
    """
    form = form_of(LedgerFile, file, _shape_faults if check_shapes else None)
    return _with_free_numbers(form.right().value())


def _shape_faults(root: LedgerFile, values: Mapping[str, object]) -> Iterator[Finding]:
    return root.shape_faults()


def _with_free_numbers(ledger: Ledger) -> Ledger:
    """Count no number as free that a piece added by hand already has."""
    numbers = dict(ledger.next_number)
    for piece in ledger.pieces:
        film, _, tail = piece.id.rpartition("-")
        if film == piece.film and tail.isascii() and tail.isdigit():
            numbers[film] = max(numbers.get(film, 1), int(tail) + 1)
    return sorted_ledger(ledger.pieces, ledger.booked, numbers)
