"""Rows of a CSV file that anybody may have made, and the tables that they make up.

Commas separate cells, or semicolons do; numbers may then have a decimal comma. ``#`` starts a
comment line.
"""

from __future__ import annotations

import csv
import hashlib
import os
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from jobprep.errors import Finding, InputError, Place, Source
from jobprep.files.toml.lines import TomlFile, field_path
from jobprep.input_file import decoded, input_bytes


class CsvRow(NamedTuple):
    """One row: its place, its cells, and whether its numbers may have a decimal comma."""

    place: Place
    cells: tuple[str, ...]
    has_decimal_comma: bool

    def number(self, index: int) -> float | None:
        """Return a cell as a number, None for anything else."""
        text = self.cells[index] if index < len(self.cells) else ""
        try:
            return float(text.replace(",", ".") if self.has_decimal_comma else text)
        except ValueError:
            return None

    def value(self, index: int) -> float | str:
        """Return a cell as a number, or as text with a decimal point for the table to judge."""
        number = self.number(index)
        if number is not None:
            return number
        text = self.cells[index] if index < len(self.cells) else ""
        return text.replace(",", ".") if self.has_decimal_comma else text

    def at(self, field: str) -> Place:
        """Return the place of a field of this row."""
        return self.place._replace(field=field)


class CsvTables:
    """What the rows of a CSV file make up: the values that TOML would hold, and their lines."""

    def __init__(self) -> None:
        self.values: dict[str, object] = {"format": 1}
        self.lines: dict[str, int] = {"": 1}

    def take(self, row: CsvRow) -> Iterator[Finding]:
        """Add a row; yield what is wrong with it."""
        raise NotImplementedError

    def end(self) -> Iterator[Finding]:
        """Yield what is wrong after the last row."""
        yield from ()

    def add(self, values: object, keys: tuple[str, ...], value: object, row: CsvRow) -> None:
        """Add a value to the list that stands under the last key in a table of values."""
        assert isinstance(values, dict)
        found = values.setdefault(keys[-1], [])
        found.append(value)
        self.lines[field_path((*keys, len(found) - 1))] = row.place.line or 1


def read_csv(path: Path, tables: CsvTables, most: int) -> TomlFile:
    """Read a CSV file of at most ``most`` bytes into tables, each field with its line.

    Raises ``InputError`` with all that is wrong with its rows.
    """
    data = input_bytes(path, most)
    text = decoded(path, data)
    if not text.strip():
        raise InputError.of(path, "the file is empty")
    problems: list[Finding] = []
    for row in _rows(path, text):
        problems += [row] if isinstance(row, Finding) else tables.take(row)
    problems += tables.end()
    if problems:
        raise InputError(problems)
    source = Source(os.fspath(path), tables.lines, values=tables.values)
    return TomlFile(path, tables.values, source, hashlib.sha256(data).hexdigest())


def _rows(path: Path, text: str) -> Iterator[CsvRow | Finding]:
    """Yield the rows that are neither empty nor comments, and what is no row."""
    for line, raw in enumerate(text.splitlines(), start=1):
        if not raw.strip() or raw.lstrip().startswith("#"):
            continue
        place = Place(os.fspath(path), line)
        delimiter = next((each for each in raw if each in ";,"), ",")
        try:
            cells = next(csv.reader([raw], delimiter=delimiter))
        except csv.Error as error:
            yield Finding(place, f"not a row of CSV: {error}")
            continue
        yield CsvRow(place, tuple(cell.strip() for cell in cells), delimiter == ";")
