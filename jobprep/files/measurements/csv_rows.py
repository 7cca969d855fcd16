"""Rows of a CSV file that anybody may have made: each with its line, its cells cut to size."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from jobprep.errors import Finding, InputError, Place


class Row(NamedTuple):
    """One row: its place, its cells, and whether its numbers may have a decimal comma."""

    place: Place
    cells: tuple[str, ...]
    has_decimal_comma: bool

    def number(self, index: int) -> float | None:
        """Return a cell as a number, None where it is none."""
        text = self.cells[index] if index < len(self.cells) else ""
        try:
            return float(text.replace(",", ".") if self.has_decimal_comma else text)
        except ValueError:
            return None


def csv_rows(path: Path, text: str) -> Iterator[Row]:
    """Yield the rows of a text that are neither empty nor comments.

    Cells are parted by commas, or by semicolons where there are more of them. Raises
    ``InputError`` at the first row that is no CSV.
    """
    for line, raw in enumerate(text.splitlines(), start=1):
        if not raw.strip() or raw.lstrip().startswith("#"):
            continue
        place = Place(os.fspath(path), line)
        delimiter = ";" if raw.count(";") > raw.count(",") else ","
        try:
            cells = next(csv.reader([raw], delimiter=delimiter))
        except csv.Error as error:
            raise InputError([Finding(place, f"not a row of CSV: {error}")]) from None
        yield Row(place, tuple(cell.strip() for cell in cells), delimiter == ";")
