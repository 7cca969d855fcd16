"""Read what was measured on a kerf coupon, from TOML or CSV, and write the form to fill in.

A CSV file begins with a row that names its columns, in any order: ``kind`` and those it needs of
``along, drawn, reading, strips, ends, enters, refuses, sense``. Each row below is one reading, its
kind one of ``comb, piece, slot, fit, width``; rows ``film,NAME``, ``cutter,NAME`` and
``plus_minus,MM`` stand anywhere. ``#`` starts a comment line. Columns may be parted by semicolons,
numbers may then have a decimal comma. TOML holds the same as tables; see ``kerf_schema``.
"""

from __future__ import annotations

import csv
import hashlib
import os
from collections.abc import Iterator, Sequence
from pathlib import Path

from jobprep.errors import Finding, InputError, Place, Source
from jobprep.files.kerf_schema import KerfFile
from jobprep.files.problems import did_you_mean, listed, shown
from jobprep.files.tables import check_schema, read_kind
from jobprep.files.toml_lines import SIZE_LIMIT, TomlFile
from jobprep.input_file import decoded, input_bytes
from jobprep.model.kerf import (
    FIT_UNIT,
    LEAST_HALF_WIDTH,
    KerfMeasurements,
    KerfReading,
    fit_reading,
    kerfs_of_comb,
)

MOST_READINGS = 500
"""Far more than anybody takes by hand. The work grows with the square of their number."""

LEAST_STEP = LEAST_HALF_WIDTH / FIT_UNIT
"""Two notches of a ladder differ by this at least, in hundredths of a mm."""

KINDS = ("comb", "piece", "slot", "fit", "width")
SETTINGS = ("film", "cutter", "plus_minus")
COLUMNS = ("kind", "along", "drawn", "reading", "strips", "ends", "enters", "refuses", "sense")

_WORDS = ("along", "ends", "sense", "film", "cutter")
"""Cells that are never numbers."""

FORM = """\
# What you measure on the kerf coupon of {film}, cut on {cutter}.
# Fill in the readings in mm, in [] and parted by commas, then run: jobprep kerf {name}
# Cut on the lines exactly as drawn: no offset in the cutter's driver. Leave out what you cannot
# measure. A third and a fourth reading, each set up anew, show a slip and how far to trust it.
format = 1
film = "{film}"
cutter = "{cutter}"
plus_minus = 0.02           # the instrument's largest error either way, mm: 0.02 for a caliper
"""

FORM_OF_DIRECTION = """
# The {strips} strips marked {letter}: push them together in a row, without gaps, and measure across
# all of them along the row.
[[comb]]
along = "{along}"
strips = {strips}
drawn = {length:g}                  # all {strips} together, as drawn
ends = "cut"                # every strip is cut all round; "sheet" where the outermost edges of
                            # the row are the sheet's own: one cut less
readings = []               # such as [78.71, 78.74, 78.70, 78.72]

# The bar marked {letter} {length:g}: its length. With the strips it tells scale from kerf.
[[piece]]
along = "{along}"
drawn = {length:g}
readings = []

# The ladder marked {letter}: lay the tongue marked {letter} into its notches, from the smallest
# number up. Give the last number it enters and the first it does not; leave it out if it enters
# all or none.
# [[fit]]
# along = "{along}"
# enters = {enters}
# refuses = {refuses}
"""

FORM_END = """
# Anything else cut on its line may be added: pieces as above, openings, the cut itself.
# [[slot]]
# along = "x"
# drawn = 20
# readings = [20.16]
# [[width]]
# along = "x"
# sense = "full"            # the whole width of the cut; "edge": what each edge loses, half of it
# readings = [0.16]
"""


def kerf_form(
    film: str, cutter: str, name: str, *, strips: int, length: float, ladder: Sequence[int]
) -> str:
    """Return the form for the measurements of a coupon, as TOML.

    ``name`` is the file's own; ``ladder`` holds two or more numbers of notches, ascending.
    """
    middle = (len(ladder) - 1) // 2
    directions = (
        FORM_OF_DIRECTION.format(
            along=along,
            letter=along.upper(),
            strips=strips,
            length=length,
            enters=ladder[middle],
            refuses=ladder[middle + 1],
        )
        for along in ("x", "y")
    )
    return FORM.format(film=film, cutter=cutter, name=name) + "".join(directions) + FORM_END


def read_kerf_file(path: Path) -> KerfMeasurements:
    """Read the measurements of a coupon, CSV where the name ends so, else TOML.

    Raises
    ------
    InputError
        With every problem of the file.
    """
    is_csv = path.suffix.lower() == ".csv"
    file = _read_csv(path) if is_csv else read_kind(path, "a kerf measurement")
    tables, problems = check_schema(KerfFile, file)
    values = tables.root
    readings: tuple[KerfReading, ...] = ()
    if values is not None:
        problems += _fit_problems(file.source, values)
        if not problems:
            readings = tuple(_readings(file.source, values))
            if not readings:
                message = "no readings yet; fill in readings = [...] of what you have measured"
                problems.append(file.source.error("", message))
            elif len(readings) > MOST_READINGS:
                message = f"holds {len(readings)} readings; at most {MOST_READINGS} are read"
                problems.append(file.source.error("", message))
    if values is None or problems:
        raise InputError(map(_as_column, problems) if is_csv else problems)
    if is_csv:
        readings = tuple(map(_placed_as_column, readings))
    return KerfMeasurements(film=values.film, cutter=values.cutter, readings=readings)


def _fit_problems(source: Source, values: KerfFile) -> Iterator[Finding]:
    for number, fit in enumerate(values.fit, 1):
        if fit.refuses - fit.enters < LEAST_STEP:
            last = f"{fit.enters:g}, the last notch it enters"
            message = f"{fit.refuses:g} is not at least {LEAST_STEP:g} above {last}"
            yield source.error(f"fit[{number}].refuses", message)


def _readings(source: Source, values: KerfFile) -> Iterator[KerfReading]:
    for number, comb in enumerate(values.comb, 1):
        kerfs = kerfs_of_comb(comb.strips, cut_all_round=comb.ends == "cut")
        for index, reading in enumerate(comb.readings, 1):
            yield KerfReading(
                kind="comb",
                along=comb.along,
                drawn=comb.drawn,
                kerfs=kerfs,
                reading=reading,
                half_width=values.plus_minus,
                place=source.place(f"comb[{number}].readings[{index}]"),
            )
    for number, piece in enumerate(values.piece, 1):
        for index, reading in enumerate(piece.readings, 1):
            yield KerfReading(
                kind="piece",
                along=piece.along,
                drawn=piece.drawn,
                kerfs=1,
                reading=reading,
                half_width=values.plus_minus,
                place=source.place(f"piece[{number}].readings[{index}]"),
            )
    for number, slot in enumerate(values.slot, 1):
        for index, reading in enumerate(slot.readings, 1):
            yield KerfReading(
                kind="slot",
                along=slot.along,
                drawn=slot.drawn,
                kerfs=-1,
                reading=reading,
                half_width=values.plus_minus,
                place=source.place(f"slot[{number}].readings[{index}]"),
            )
    for number, fit in enumerate(values.fit, 1):
        yield fit_reading(fit.along, fit.enters, fit.refuses, source.place(f"fit[{number}]"))
    for number, width in enumerate(values.width, 1):
        per_reading = 1.0 if width.sense == "full" else 2.0
        for index, reading in enumerate(width.readings, 1):
            yield KerfReading(
                kind="width",
                along=width.along,
                drawn=0.0,
                kerfs=-1,
                reading=per_reading * reading,
                half_width=per_reading * values.plus_minus,
                place=source.place(f"width[{number}].readings[{index}]"),
            )


def _read_csv(path: Path) -> TomlFile:
    """Read a CSV file into the tables that TOML would hold, each field with its line."""
    data = input_bytes(path, SIZE_LIMIT)
    text = decoded(path, data)
    if not text.strip():
        raise InputError([Finding(Place(os.fspath(path)), "the file is empty")])
    values: dict[str, object] = {"format": 1}
    lines = {"": 1}
    problems: list[Finding] = []
    header: list[str] | None = None
    for line, raw in enumerate(text.splitlines(), 1):
        if not raw.strip() or raw.lstrip().startswith("#"):
            continue
        place = Place(os.fspath(path), line)
        delimiter = ";" if ";" in raw else ","
        try:
            cells = [cell.strip() for cell in next(csv.reader([raw], delimiter=delimiter))]
        except csv.Error as error:
            problems.append(Finding(place, f"not a row of CSV: {error}"))
            continue
        kind = cells[0].lower()
        if kind in SETTINGS:
            value = cells[1] if len(cells) > 1 else ""
            values[kind] = _cell(kind, value, delimiter)
            lines[kind] = line
        elif header is None:
            header = [cell.lower() for cell in cells]
            problems += _header_problems(place, header)
        elif len(cells) > len(header):
            message = f"{len(cells)} columns, but the first row names {len(header)}"
            problems.append(Finding(place, message))
        else:
            row = {
                column: _cell(column, cell, delimiter)
                for column, cell in zip(header, cells, strict=False)
                if cell
            }
            problems += _take_row(place, row, values, lines)
    if problems:
        raise InputError(problems)
    return TomlFile(path, values, Source(os.fspath(path), lines), hashlib.sha256(data).hexdigest())


def _header_problems(place: Place, header: list[str]) -> Iterator[Finding]:
    if header[0] != "kind" or len(header) > len(COLUMNS):
        message = f"the first row must name the columns: kind and others of {listed(COLUMNS[1:])}"
        yield Finding(place, message)
        return
    for index, column in enumerate(header):
        if column not in COLUMNS:
            meant = did_you_mean(column, COLUMNS) or f" There are: {listed(COLUMNS)}"
            yield Finding(place, f"{shown(column)} is not a column.{meant}")
        elif column in header[:index]:
            yield Finding(place, f"{shown(column)} names two columns")


def _take_row(
    place: Place, row: dict[str, object], values: dict[str, object], lines: dict[str, int]
) -> Iterator[Finding]:
    """Add a row as one more table of its kind."""
    kind = str(row.pop("kind", "")).lower()
    if kind not in KINDS:
        meant = did_you_mean(kind, (*KINDS, *SETTINGS)) or f" There are: {listed(KINDS)}"
        yield Finding(place._replace(field="kind"), f"{shown(kind)} is not a kind.{meant}")
        return
    if kind != "fit":
        if "reading" not in row:
            yield Finding(place._replace(field=kind), "missing; give the reading in mm")
            return
        row["readings"] = [row.pop("reading")]
    tables = values.setdefault(kind, [])
    assert isinstance(tables, list)
    tables.append(row)
    lines[f"{kind}[{len(tables)}]"] = place.line or 0


def _cell(column: str, text: str, delimiter: str) -> object:
    """Return a cell as the number it is meant to be, or as text for the schema to judge."""
    if column in _WORDS or column == "kind":
        return text if column in ("film", "cutter") else text.lower()
    try:
        if column == "strips":
            return int(text)
        return float(text.replace(",", ".") if delimiter == ";" else text)
    except ValueError:
        return text


def _as_column(problem: Finding) -> Finding:
    """Name a field by its column: a row of CSV holds a single reading."""
    field = problem.place.field.replace(".readings[1]", ".reading")
    return problem._replace(place=problem.place._replace(field=field))


def _placed_as_column(reading: KerfReading) -> KerfReading:
    from dataclasses import replace

    return replace(reading, place=_as_column(Finding(reading.place, "")).place)
