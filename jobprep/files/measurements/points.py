"""Points taken by hand: a TOML file, or a CSV file whose rows say the same.

CSV rows are ``kind,x,y[,label]``; ``#`` starts a comment line. Kinds with a place:

rim, bore     on the rim or the bore, three or more
separation    on an edge between two colours; the label names the edge
inner, outer  on the limits of the colour ring, where it does not reach bore or rim
hole          the label names the hole: one point is its middle, two are opposite ends, three or
              more lie round it
scale         two that follow each other, label = their distance in mm
reference     a point whose place on the disc's plane is known, label = ``x y`` in mm; four or more
              take the perspective away
zero          in the direction that the angles are counted from (else 12 o'clock of the picture)

Rows with a value instead: ``diameter,MM`` (of the rim), ``y,up`` (a ruler, graph paper) or
``y,down`` (the pixels of a picture), ``reading,U`` (standard uncertainty of one reading),
``name,TEXT``.

A file of an earlier version may not say which way y grows. It can be read, but no disc is measured
from it: the wrong direction would mirror the disc.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from jobprep.errors import Finding, Source
from jobprep.files.csv_rows import CsvRow, CsvTables, read_csv
from jobprep.files.toml.field_types import Format, Length, Remark
from jobprep.files.toml.form import form_of
from jobprep.files.toml.lines import field_path, read_toml
from jobprep.files.toml.problems import did_you_mean, listed, shown
from jobprep.files.toml.table import Table, rows
from jobprep.input_file import MEGABYTE
from jobprep.model.taken import PointSet, TakenPoint
from jobprep.units import in_mm

CURVES = ("rim", "bore", "inner", "outer", "zero")
LABELLED = ("separation", "hole")
VALUES = ("diameter", "y", "reading", "name")
KINDS = (*CURVES, *LABELLED, "scale", "reference")

MOST_POINTS = 300
"""Most points: far more than anybody takes by hand. The work grows with the square of their number.
"""

FARTHEST = 1e6
"""Greatest coordinate read, in whatever unit: pixels, mm."""

Coordinate = Annotated[
    float,
    Field(ge=-FARTHEST, le=FARTHEST, description="a coordinate, from -1000000 to 1000000"),
]
Place = Annotated[list[Coordinate], Field(min_length=2, max_length=2, description="a point [x, y]")]
Places = Annotated[list[Place], Field(max_length=300, description="a list of points [[x, y], ...]")]
Labelled = Annotated[
    dict[Annotated[str, Field(max_length=120)], Places] | Places,
    Field(description="a table, NAME = a list of points [[x, y], ...]"),
]
Uncertainty = Annotated[
    float,
    Field(
        ge=1e-6,
        le=1e6,
        description="a standard uncertainty from 0.000001 to 1000000, in the points' unit",
    ),
]


Y_WORDS = '"up" (a ruler, graph paper) or "down" (the pixels of a picture)'


class ScaleTable(Table[None]):
    """Two points and their distance in mm."""

    points: Annotated[
        list[Place], Field(min_length=2, max_length=2, description="two points [[x, y], [x, y]]")
    ]
    distance: Length


class ReferenceTable(Table[None]):
    """A point ``at`` a place of the picture whose place on the disc is known, in mm."""

    at: Place
    mm: Place


class PointsFile(Table[PointSet]):
    """Points taken by hand, in any one unit; ``y`` says which way it grows, and is needed."""

    format: Format = 1
    name: Remark = ""
    diameter: Length | None = None
    y: Annotated[Literal["up", "down"], Field(description=Y_WORDS)] | None = None
    reading: Uncertainty | None = None
    rim: Places
    bore: Places = []
    inner: Places = []
    outer: Places = []
    zero: Annotated[Places | Place, Field(description="a point [x, y], or a list of such")] = []
    separation: Labelled = {}
    hole: Labelled = {}
    scale: list[ScaleTable] = rows("scale", most=100)
    reference: list[ReferenceTable] = rows("reference", most=300)

    def value_of(self, file: str, source: Source) -> PointSet:
        """Return the points of a file, each with its line."""
        y_down = None if self.y is None else self.y == "down"
        return self.made(file=file, points=tuple(self._points(source)), y_down=y_down)

    def faults(self) -> Iterator[Finding]:
        """Yield too few points of a kind, or too many of all."""
        if len(self.rim) < 3:
            yield Finding.error("rim", f"{len(self.rim)} points; a circle needs three or more")
        for kind in ("bore", "inner", "outer"):
            if 0 < len(getattr(self, kind)) < 3:
                message = f"{len(getattr(self, kind))} points; a circle needs three or more"
                yield Finding.error(kind, message)
        if 0 < len(self.reference) < 4:
            message = f"{len(self.reference)} points; a perspective needs four or more"
            yield Finding.error("reference", message)
        count = sum(1 for _ in self._points(Source()))
        if count > MOST_POINTS:
            yield Finding.error("", f"holds {count} points; at most {MOST_POINTS} are read")

    def _points(self, source: Source) -> Iterator[TakenPoint]:
        for kind in CURVES:
            found = getattr(self, kind)
            if kind == "zero" and found and not isinstance(found[0], list):
                found = [found]
            yield from _taken(kind, "", found, field_path((kind,)), source)
        for kind in LABELLED:
            found = getattr(self, kind)
            for label, places in (found if isinstance(found, dict) else {"": found}).items():
                path = field_path((kind, label) if label else (kind,))
                yield from _taken(kind, label, places, path, source)
        for number, scale in enumerate(self.scale, 1):
            label = f"{scale.distance:.17g}"
            yield from _taken("scale", label, scale.points, f"scale[{number}].points", source)
        for number, each in enumerate(self.reference, 1):
            label = " ".join(f"{value:.17g}" for value in each.mm)
            x, y = each.at
            line = source.place(f"reference[{number}]").line
            yield TakenPoint("reference", x, y, label, line)


def read_points(path: Path) -> PointSet:
    """Read a points file and check it; raises ``InputError`` with every problem of the file."""
    is_toml = path.suffix.lower() == ".toml"
    file = read_toml(path, most=MEGABYTE) if is_toml else read_csv(path, _Rows(), MEGABYTE)
    form = form_of(PointsFile, file)
    return form.right().value_of(str(path), form.source)


def _taken(
    kind: str, label: str, places: list[list[float]], path: str, source: Source
) -> Iterator[TakenPoint]:
    for number, (x, y) in enumerate(places, 1):
        yield TakenPoint(kind, x, y, label, source.place(f"{path}[{number}]").line)


class _Rows(CsvTables):
    """The points of a file, filled row by row."""

    def __init__(self) -> None:
        super().__init__()
        self.values["rim"] = []
        self._half: tuple[CsvRow, list[float]] | None = None

    def take(self, row: CsvRow) -> Iterator[Finding]:
        """Add a row; yield what is wrong with it."""
        kind = row.cells[0].lower()
        if kind == "kind":
            return
        if kind in VALUES:
            text = row.cells[1] if len(row.cells) > 1 else ""
            self.values[kind] = text if kind in ("name", "y") else row.value(1)
            self.lines[kind] = row.place.line or 1
        elif kind not in KINDS:
            meant = did_you_mean(kind, (*KINDS, *VALUES)) or f" There are: {listed(KINDS)}"
            yield Finding(row.at("kind"), f"{shown(kind)} is not a kind of point.{meant}")
        elif not 3 <= len(row.cells) <= 4:
            message = f"needs kind,x,y and perhaps a label; found {len(row.cells)} columns"
            yield Finding(row.at(kind), message)
        else:
            yield from self._point(kind, row)

    def _point(self, kind: str, row: CsvRow) -> Iterator[Finding]:
        place = []
        for index, axis in ((1, "x"), (2, "y")):
            value = row.number(index)
            if value is None:
                message = f"{shown(row.cells[index])} is not a number"
                yield Finding(row.at(f"{kind}.{axis}"), message)
            else:
                place.append(value)
        if len(place) < 2:
            return
        label = row.cells[3] if len(row.cells) > 3 else ""
        if kind == "scale":
            yield from self._scale(row, place)
        elif kind == "reference":
            known = [_number(cell) for cell in label.replace(";", " ").replace(",", " ").split()]
            if len(known) != 2 or None in known:
                message = f"{shown(label)} must be the place, x y, in mm"
                yield Finding(row.at("reference.label"), message)
                return
            self.add(self.values, ("reference",), {"at": place, "mm": known}, row)
        elif kind in LABELLED:
            self.add(self.values.setdefault(kind, {}), (kind, label), place, row)
        else:
            self.add(self.values, (kind,), place, row)

    def _scale(self, row: CsvRow, place: list[float]) -> Iterator[Finding]:
        distance = row.number(3) or in_mm(str(row.value(3)))
        if distance is None or distance <= 0.0:
            label = row.cells[3] if len(row.cells) > 3 else ""
            yield Finding(row.at("scale.label"), f"{shown(label)} must be the distance in mm")
        if self._half is None:
            self._half = (row, place)
            return
        first, self._half = self._half, None
        if distance is not None:
            table = {"points": [first[1], place], "distance": distance}
            self.add(self.values, ("scale",), table, first[0])

    def end(self) -> Iterator[Finding]:
        """Yield a point of a scale without its partner."""
        if self._half is not None:
            message = "points come in pairs; this one has no partner"
            yield Finding(self._half[0].at("scale"), message)


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None
