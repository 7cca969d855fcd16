"""A curve over the wavelength: a CSV file with the nm and a value in each row.

The steps may be even or not; between two wavelengths the curve runs straight. One row of column
names may come first. The curve must cover visible light, 380 to 780 nm.
"""

from __future__ import annotations

import math
import os
from collections.abc import Iterator, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Annotated

from pydantic import Field

from jobprep.errors import Finding, InputError, Source
from jobprep.files.csv_rows import CsvRow, CsvTables, read_csv
from jobprep.files.toml.problems import shown
from jobprep.input_file import MEGABYTE
from jobprep.model.spectrum import FIRST_NM, LAST_NM, Spectrum

MOST_ROWS = 5000
"""Most rows of a curve: finer than any workshop's spectrometer."""
LEAST_NM, MOST_NM = 100.0, 20_000.0
MOST_POWER = 1e12
"""Largest power of a lamp at a wavelength, in any unit."""

Value = Annotated[float, Field(ge=0.0, le=MOST_POWER, description="a number of at least 0")]
CurveRow = Annotated[
    list[Value],
    Field(min_length=2, max_length=2, description="a pair [nm, value]"),
]
CurveRows = Annotated[
    list[CurveRow], Field(max_length=MOST_ROWS, description="a list of pairs [nm, value]")
]
"""A curve where it stands in a run's record."""


def rows_of(curve: Spectrum) -> list[list[float]]:
    """Return a curve as its rows."""
    return [list(pair) for pair in zip(curve.wavelengths, curve.values, strict=True)]


def curve_of(rows: Sequence[Sequence[float]]) -> Spectrum:
    """Return the curve of its rows."""
    return Spectrum(tuple(row[0] for row in rows), tuple(row[1] for row in rows))


def curve_fault(rows: Sequence[Sequence[float]], most: float) -> str:
    """Return what is wrong with the rows of a curve together, or nothing."""
    at = [row[0] for row in rows]
    if len(at) < 2:
        return "a curve needs two rows or more"
    if any(after <= before for before, after in pairwise(at)):
        return "its wavelengths must rise from row to row"
    if at[0] > FIRST_NM or at[-1] < LAST_NM:
        return (
            f"it runs from {at[0]:g} to {at[-1]:g} nm, and must cover {FIRST_NM:g} to"
            f" {LAST_NM:g} nm; where the sheet ends, go on with its last value (CIE 15)"
        )
    if max(row[1] for row in rows) > most:
        return f"a value is above {most:g}"
    if max(row[1] for row in rows) <= 0.0 and most > 1.0:
        return "all its values are 0: such a lamp gives no light"
    return ""


def read_transmission(path: Path, asked_by: Finding) -> Spectrum:
    """Read how much light a film lets through, 0 to 1.

    Raises ``InputError`` with all that is wrong; ``asked_by`` where there is no such file.
    """
    return _read(path, asked_by, _Transmission())


def read_power(path: Path, asked_by: Finding) -> Spectrum:
    """Read the relative power of a lamp, as ``read_transmission`` reads a film's curve."""
    return _read(path, asked_by, _Power())


def missing(source: Source, key: str, name: str) -> Finding:
    """Return the problem of a curve's file that is not there."""
    return source.error(key, f"{shown(name)} is not there; give a file's path relative to this one")


def _read(path: Path, asked_by: Finding, table: _Curve) -> Spectrum:
    if not os.path.exists(path):  # unlike Path.exists, takes a name that is too long
        raise InputError([asked_by])
    read_csv(path, table, MEGABYTE)
    problem = curve_fault(table.rows, table.most)
    if problem:
        raise InputError.of(path, problem)
    return curve_of(table.rows)


class _Curve(CsvTables):
    """The rows of a curve; ``most`` is the largest value that one may have."""

    most = MOST_POWER
    what = "the relative power there, a number of at least 0"

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[float]] = []
        self._is_first = True

    def take(self, row: CsvRow) -> Iterator[Finding]:
        """Add a row; yield what is wrong with it."""
        is_first, self._is_first = self._is_first, False
        numbers = [row.number(index) for index in range(len(row.cells))]
        if is_first and len(numbers) == 2 and numbers == [None, None]:
            return  # the names of the columns
        problem = self._fault(row, numbers)
        if problem:
            yield Finding(row.place, problem)

    def _fault(self, row: CsvRow, numbers: Sequence[float | None]) -> str:
        """Take a row that is right; return what is wrong with another."""
        if len(numbers) != 2:
            count = "1 cell" if len(numbers) == 1 else f"{len(numbers)} cells"
            return f"the row has {count}; give two, the wavelength in nm and {self.what}"
        nm, value = numbers
        if nm is None or not LEAST_NM <= nm <= MOST_NM:
            return f"{shown(row.cells[0])} is not a wavelength in nm, from 100 to 20000"
        if value is None or not math.isfinite(value) or not 0.0 <= value <= self.most:
            return f"{shown(row.cells[1])} is not {self.what}{self._remedy(value)}"
        if self.rows and nm <= self.rows[-1][0]:
            return f"{nm:g} nm does not rise above the {self.rows[-1][0]:g} nm of the row before"
        if len(self.rows) == MOST_ROWS:
            return f"more than {MOST_ROWS} rows; leave out every other one"
        self.rows.append([nm, value])
        return ""

    def _remedy(self, value: float | None) -> str:
        return ""


class _Power(_Curve):
    """The relative power of a lamp."""


class _Transmission(_Curve):
    """The part of the light that passes a film."""

    most = 1.0
    what = "the part of the light that passes, from 0 to 1"

    def _remedy(self, value: float | None) -> str:
        is_percent = value is not None and 1.0 < value <= 100.0
        return (
            f"; is that per cent? {value:g} % is {value / 100.0:g}" if is_percent and value else ""
        )
