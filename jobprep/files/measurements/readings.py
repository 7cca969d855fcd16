"""What was read off a kerf coupon: TOML, or CSV whose rows say the same (``readings_rows``)."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Annotated, Any, Literal

from pydantic import Field

from jobprep.errors import Finding, InputError, Place, Source
from jobprep.files.csv_rows import read_csv
from jobprep.files.measurements.readings_rows import KINDS, ReadingRows, as_column
from jobprep.files.toml.field_types import Format, Length, Remark
from jobprep.files.toml.form import form_of
from jobprep.files.toml.kinds import read_kind
from jobprep.files.toml.length import WrittenLength
from jobprep.files.toml.lines import SIZE_LIMIT
from jobprep.files.toml.table import Table, rows
from jobprep.model.kerf import (
    FIT_UNIT,
    LEAST_HALF_WIDTH,
    MOST_HALF_WIDTH,
    KerfMeasurements,
    KerfReading,
    fit_reading,
    kerfs_of_comb,
)

MOST_READINGS = 500
"""Most readings, far more than anybody takes by hand: the work grows with the square of them."""

MOST_ROWS = 200
"""Most tables of one kind: far more than a coupon has pieces."""

LEAST_STEP = LEAST_HALF_WIDTH / FIT_UNIT
"""Two notches of a ladder differ by this at least, in hundredths of a mm."""

At = Callable[[str], Place]
"""From a field's path to its place in the file."""

Along = Annotated[
    Literal["x", "y"], Field(description='"x" or "y", the direction it was measured along')
]
Readings = Annotated[
    list[Length],
    Field(max_length=50, description="a list of readings in mm, each from 0.001 to 10000"),
]
Widths = Annotated[
    list[
        Annotated[float, WrittenLength(0.0, 10.0), Field(description="a width in mm, from 0 to 10")]
    ],
    Field(max_length=50, description="a list of widths in mm, each from 0 to 10"),
]
Strips = Annotated[
    int, Field(ge=2, le=200, description="the number of strips, a whole number from 2 to 200")
]
Notch = Annotated[
    float,
    Field(ge=0, le=300, description="a number engraved on the ladder, in hundredths of a mm"),
]
HalfWidth = Annotated[
    float,
    WrittenLength(LEAST_HALF_WIDTH, MOST_HALF_WIDTH),
    Field(description="a length in mm, from 0.0001 to 5"),
]


class ReadTable(Table[KerfReading]):
    """What was measured along one direction, once or several times."""

    along: Along

    def taken(self, half_width: float, at: At) -> Iterator[KerfReading]:
        """Yield the readings of an instrument whose largest error is ``half_width``, mm."""
        raise NotImplementedError

    def _each(self, readings: Iterable[float], at: At, **given: Any) -> Iterator[KerfReading]:
        for number, reading in enumerate(readings, 1):
            yield self.made(reading=reading, place=at(f"readings[{number}]"), **given)


class CombTable(ReadTable):
    """Strips pushed together and measured as one; ``drawn`` is the width of all as drawn."""

    strips: Strips
    drawn: Length
    ends: Annotated[
        Literal["cut", "sheet"],
        Field(
            description='"cut" (every strip was cut all round) or "sheet" (the outermost edges are'
            " the sheet's own)"
        ),
    ] = "cut"
    readings: Readings = []

    def taken(self, half_width: float, at: At) -> Iterator[KerfReading]:
        """Yield the readings."""
        kerfs = kerfs_of_comb(self.strips, cut_all_round=self.ends == "cut")
        return self._each(self.readings, at, kind="comb", kerfs=kerfs, half_width=half_width)


class CouponPieceTable(ReadTable):
    """One piece, cut all round."""

    drawn: Length
    readings: Readings = []

    def taken(self, half_width: float, at: At) -> Iterator[KerfReading]:
        """Yield the readings."""
        return self._each(self.readings, at, kind="piece", kerfs=1, half_width=half_width)


class SlotTable(ReadTable):
    """An opening or a notch."""

    drawn: Length
    readings: Readings = []

    def taken(self, half_width: float, at: At) -> Iterator[KerfReading]:
        """Yield the readings."""
        return self._each(self.readings, at, kind="slot", kerfs=-1, half_width=half_width)


class FitTable(ReadTable):
    """How far up the ladder the tongue goes."""

    enters: Notch
    refuses: Notch

    def taken(self, half_width: float, at: At) -> Iterator[KerfReading]:
        """Yield what the two notches say, whatever the instrument."""
        yield fit_reading(self.along, self.enters, self.refuses, at(""))

    def faults(self) -> Iterator[Finding]:
        """Yield notches that are the same or the wrong way round."""
        if self.refuses - self.enters < LEAST_STEP:
            last = f"{self.enters:g}, the last notch it enters"
            message = f"{self.refuses:g} is not at least {LEAST_STEP:g} above {last}"
            yield Finding.error("refuses", message)


class WidthTable(ReadTable):
    """The cut itself under a magnifier, or a figure from elsewhere."""

    sense: Annotated[
        Literal["full", "edge"],
        Field(
            description='"full" (the whole width of the cut) or "edge" (what each edge loses, half'
            " of it)"
        ),
    ]
    readings: Widths = []

    def taken(self, half_width: float, at: At) -> Iterator[KerfReading]:
        """Yield the whole widths of the cut."""
        edges = 1.0 if self.sense == "full" else 2.0
        widths = (edges * reading for reading in self.readings)
        given = {"kind": "width", "drawn": 0.0, "kerfs": -1, "half_width": edges * half_width}
        return self._each(widths, at, **given)


class ReadingsFile(Table[KerfMeasurements]):
    """Measurements of one coupon; ``plus_minus`` is the instrument's largest error, mm."""

    format: Format
    film: Remark = ""
    cutter: Remark = ""
    plus_minus: HalfWidth = 0.02
    comb: list[CombTable] = rows("comb", most=MOST_ROWS)
    piece: list[CouponPieceTable] = rows("piece", most=MOST_ROWS)
    slot: list[SlotTable] = rows("slot", most=MOST_ROWS)
    fit: list[FitTable] = rows("fit", most=MOST_ROWS)
    width: list[WidthTable] = rows("width", most=MOST_ROWS)

    def value_of(self, at: At) -> KerfMeasurements:
        """Return the measurements, each reading with its place."""
        return self.made(readings=tuple(self._readings(at)))

    def faults(self) -> Iterator[Finding]:
        """Yield that there are too many readings."""
        count = self.count()
        if count > MOST_READINGS:
            message = f"holds {count} readings; at most {MOST_READINGS} are read"
            yield Finding.error("", message)

    def count(self) -> int:
        """Return the number of readings."""
        return sum(1 for _ in self._readings(Source().place))

    def _readings(self, at: At) -> Iterator[KerfReading]:
        tables: tuple[Sequence[ReadTable], ...] = (
            self.comb,
            self.piece,
            self.slot,
            self.fit,
            self.width,
        )
        for key, found in zip(KINDS, tables, strict=True):
            for number, row in enumerate(found, 1):
                yield from row.taken(self.plus_minus, partial(_place, at, f"{key}[{number}]"))


def read_readings(path: Path, *, may_be_empty: bool = False) -> KerfMeasurements:
    """Read the measurements of a coupon, CSV where the name ends so, else TOML.

    One without readings is a problem, unless it ``may_be_empty``: others join it. Raises
    ``InputError`` with every problem of the file.
    """
    is_csv = path.suffix.lower() == ".csv"
    if is_csv:
        file = read_csv(path, ReadingRows(), SIZE_LIMIT)
    else:
        file = read_kind(path, "a kerf measurement")
    form = form_of(ReadingsFile, file, None if may_be_empty else _no_readings)
    if form.root is None or form.problems:
        raise InputError(map(_of_column, form.problems) if is_csv else form.problems)
    at = form.source.place
    return form.root.value_of((lambda path: at(as_column(path))) if is_csv else at)


def _no_readings(file: ReadingsFile, _values: Mapping[str, object]) -> Iterator[Finding]:
    if not file.count():
        message = "no readings yet; fill in readings = [...] of what you have measured"
        yield Finding.error("", message)


def _place(at: At, table: str, field: str) -> Place:
    return at(f"{table}.{field}" if field else table)


def _of_column(problem: Finding) -> Finding:
    return problem._replace(place=problem.place._replace(field=as_column(problem.place.field)))
