"""Readings of a kerf coupon as rows of CSV.

The first row names its columns, in any order: ``kind`` and those it needs of the fields that the
tables of a TOML file have, with ``reading`` for a single one. Each row below is one reading of its
kind; rows ``film,NAME``, ``cutter,NAME`` and ``plus_minus,MM`` stand anywhere.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from jobprep.errors import Finding
from jobprep.files.csv_rows import CsvRow, CsvTables
from jobprep.files.toml.problems import did_you_mean, listed, shown

KINDS = ("comb", "piece", "slot", "fit", "width")
"""Kinds of reading: the tables of a file, in its order."""

SETTINGS = ("film", "cutter", "plus_minus")
COLUMNS = ("kind", "along", "drawn", "reading", "strips", "ends", "enters", "refuses", "sense")

_TEXTS = ("film", "cutter")
"""Settings that are never numbers."""

_WORDS = ("along", "ends", "sense")
"""Columns whose words may be written in capitals."""


class ReadingRows(CsvTables):
    """The tables of readings, filled row by row."""

    def __init__(self) -> None:
        super().__init__()
        self._header: tuple[str, ...] | None = None

    def take(self, row: CsvRow) -> Iterator[Finding]:
        """Add a row; yield what is wrong with it."""
        kind = row.cells[0].lower()
        if kind in SETTINGS:
            self.values[kind] = _cell(kind, row, 1) if len(row.cells) > 1 else ""
            self.lines[kind] = row.place.line or 1
        elif self._header is None:
            self._header = tuple(cell.lower() for cell in row.cells)
            yield from self._header_faults(row, self._header)
        elif len(row.cells) > len(self._header):
            message = f"{len(row.cells)} columns, but the first row names {len(self._header)}"
            yield Finding(row.place, message)
        else:
            yield from self._reading(row, self._header)

    def _header_faults(self, row: CsvRow, header: Sequence[str]) -> Iterator[Finding]:
        if header[0] != "kind" or len(header) > len(COLUMNS):
            others = listed(COLUMNS[1:])
            message = f"the first row must name the columns: kind and others of {others}"
            yield Finding(row.place, message)
            return
        for index, column in enumerate(header):
            if column not in COLUMNS:
                meant = did_you_mean(column, COLUMNS)
                meant = meant or f" There are: {listed(COLUMNS)}"
                yield Finding(row.place, f"{shown(column)} is not a column.{meant}")
            elif column in header[:index]:
                yield Finding(row.place, f"{shown(column)} names two columns")

    def _reading(self, row: CsvRow, header: Sequence[str]) -> Iterator[Finding]:
        """Add a row as one more table of its kind."""
        fields = {
            column: _cell(column, row, index)
            for index, column in enumerate(header[: len(row.cells)])
            if row.cells[index]
        }
        kind = str(fields.pop("kind", "")).lower()
        if kind not in KINDS:
            meant = did_you_mean(kind, (*KINDS, *SETTINGS))
            meant = meant or f" There are: {listed(KINDS)}"
            yield Finding(row.at("kind"), f"{shown(kind)} is not a kind.{meant}")
            return
        if kind != "fit":
            if "reading" not in fields:
                yield Finding(row.at(kind), "missing; give the reading in mm")
                return
            fields["readings"] = [fields.pop("reading")]
        self.add(self.values, (kind,), fields, row)


def as_column(path: str) -> str:
    """Return the path of a field as its column is called: a row holds a single reading."""
    return path.replace(".readings[1]", ".reading")


def _cell(column: str, row: CsvRow, index: int) -> object:
    """Return a cell as the number it is meant to be, or as text for the table to judge."""
    text = row.cells[index]
    if column in _TEXTS or column == "kind":
        return text
    if column in _WORDS:
        return text.lower()
    value = row.value(index)
    return int(value) if isinstance(value, float) and value.is_integer() else value
