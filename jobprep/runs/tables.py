"""The tables of a run's record: its parts and sheets with their outlines, and where the parts lie.

Outlines are written with every digit, so that nothing is lost on the way: mm, and radians
anticlockwise from +x with y up. A segment is [x, y, x, y] from end to end for a line, and
[centre x, centre y, radius, start angle, signed sweep] for an arc.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Annotated, Any, Literal

from pydantic import Field

from jobprep.disc.part import Part
from jobprep.errors import Finding
from jobprep.files.toml.field_types import FilmName, Price
from jobprep.files.toml.table import Table, key
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Arc, Contour, Line, Path, Point, Region
from jobprep.geometry.whole import path_fault
from jobprep.planning.bed import MOST_PIECES
from jobprep.planning.plan import CutFrom, OpenedSheet
from jobprep.runs.job_tables import JobTable, TextLine
from jobprep.runs.record import RecordedCutUp, RecordedPlacement, RunRecord

FARTHEST = 100_000.0
"""Of any coordinate and radius, mm."""

MOST_ANGLE = 1000.0
"""Of any angle, radians: a hundred turns and more, few enough for places to stay exact."""

MOST_COPIES = 1_000_000

SegmentRow = Annotated[
    list[Annotated[float, Field(ge=-FARTHEST, le=FARTHEST, description="a number up to 100000")]],
    Field(min_length=4, max_length=5, description="a segment of 4 numbers (line) or 5 (arc)"),
]
PathRow = Annotated[list[SegmentRow], Field(min_length=1, description="a list of segments")]
ContourRows = Annotated[
    list[PathRow],
    Field(min_length=1, description="an outline: a list of contours, each a list of segments"),
]
Coordinate = Annotated[
    float, Field(ge=-FARTHEST, le=FARTHEST, description="a coordinate in mm, up to 100000")
]
CutRow = Annotated[
    list[Coordinate],
    Field(min_length=4, max_length=4, description="a straight cut [x, y, x, y] in mm"),
]
CutRows = Annotated[
    list[CutRow],
    Field(min_length=1, max_length=MOST_PIECES, description="a list of straight cuts"),
]
Index = Annotated[int, Field(ge=0, le=MOST_COPIES, description="a whole number of at least 0")]
Count = Annotated[
    int, Field(ge=1, le=MOST_COPIES, description=f"a whole number from 1 to {MOST_COPIES}")
]
Angle = Annotated[
    float, Field(ge=-MOST_ANGLE, le=MOST_ANGLE, description="an angle in radians, up to 1000")
]


class PartRow(Table[Part]):
    """A part as it was planned; its copies that found no room on the stock are ``unplaced``."""

    number: Count
    name: TextLine
    film: FilmName
    quantity: Count
    contours: ContourRows
    marks: Annotated[list[PathRow], Field(description="a list of lists of segments")] = []
    disc: Index | None = None
    layer: Index = 0
    sector: Index = 0
    per_disc: Count = 1
    turns: Annotated[list[Angle], Field(description="a list of angles in radians")] = [0.0]
    sectors: Annotated[list[Index], Field(description="a list of whole numbers")] = [0]
    unplaced: Index | None = None

    def value(self) -> Part:
        """Return the part."""
        return self.made(region=_region(self.contours), marks=tuple(map(_path, self.marks)))

    @classmethod
    def fields_in(cls, part: Part, unplaced: int | None) -> dict[str, Any]:
        """Return key -> value of a part with this number of copies that found no room."""
        marks = [_rows(mark) for mark in part.marks]
        return cls.written(part, contours=_contours(part.region), marks=marks, unplaced=unplaced)

    def faults(self) -> Iterator[Finding]:
        """Yield outlines and marks that are not valid, and places in a disc that are too many."""
        yield from _contour_faults(self.contours)
        for number, mark in enumerate(self.marks, 1):
            if fault := path_fault(_path(mark)):
                yield Finding.error(f"marks[{number}]", fault)
        if not len(self.turns) == len(self.sectors) == self.per_disc:
            yield Finding.error("turns", f"not as many as it is on a disc, {self.per_disc}")


class CutFromRow(Table[CutFrom]):
    """Where on a larger sheet a piece lay that was cut off it by hand."""

    sheet: Index
    x: Coordinate
    y: Coordinate
    is_turned: bool = False


class SheetRow(Table[OpenedSheet]):
    """An opened sheet as it lay on the cutter: its outline first, then its defects."""

    film: FilmName
    contours: ContourRows
    label: TextLine = ""
    price: Price | None = None
    piece: TextLine = ""
    is_bought: bool = False
    cut_from: CutFromRow | None = None

    def value(self) -> OpenedSheet:
        """Return the sheet."""
        region = _region(self.contours)
        box = region_bounds(region)
        return self.made(region=region, width=box.x_max, height=box.y_max)

    @classmethod
    def fields_of(cls, value: OpenedSheet) -> dict[str, Any]:
        """Return key -> value."""
        return cls.written(value, contours=_contours(value.region))

    def faults(self) -> Iterator[Finding]:
        """Yield contours that are not valid."""
        return _contour_faults(self.contours)


class CutUpRow(Table[RecordedCutUp]):
    """A sheet larger than the bed as it lay on the shelf, and the cuts by hand across it."""

    film: FilmName
    contours: ContourRows
    label: TextLine = ""
    price: Price | None = None
    piece: TextLine = ""
    is_bought: bool = False
    cuts: CutRows

    def value(self) -> RecordedCutUp:
        """Return the sheet and its cuts."""
        region = _region(self.contours)
        box = region_bounds(region)
        sheet = self.made_as(OpenedSheet, region=region, width=box.x_max, height=box.y_max)
        return RecordedCutUp(
            sheet=sheet, cuts=tuple(Line(Point(*row[:2]), Point(*row[2:])) for row in self.cuts)
        )

    @classmethod
    def fields_of(cls, value: RecordedCutUp) -> dict[str, Any]:
        """Return key -> value."""
        return SheetRow.fields_of(value.sheet) | {"cuts": _rows(value.cuts)}

    def faults(self) -> Iterator[Finding]:
        """Yield contours that are not valid."""
        return _contour_faults(self.contours)


class PlacementRow(Table[RecordedPlacement]):
    """Where a copy of a part lies on which sheet."""

    part: Count
    number: Index = key("copy")
    sheet: Index
    angle: Angle
    x: Coordinate
    y: Coordinate

    def value(self) -> RecordedPlacement:
        """Return the placement."""
        return self.made(copy=self.number)

    @classmethod
    def fields_of(cls, value: RecordedPlacement) -> dict[str, Any]:
        """Return key -> value."""
        return cls.written(value, number=value.copy)


class DigestRow(Table[None]):
    """A file and its SHA-256."""

    file: TextLine
    sha256: TextLine


class RecordTable(Table[RunRecord]):
    """The record of a run."""

    format: Annotated[Literal[2], Field(description="1 or 2, the formats that are read here")]
    version: TextLine
    origin: TextLine = ""
    is_whole: bool | None = None
    parts: list[PartRow]
    sheets: list[SheetRow]
    cut_up: list[CutUpRow] = []
    placements: list[PlacementRow]
    inputs: list[DigestRow] = []
    outputs: list[DigestRow] = []
    job: JobTable

    def value(self) -> RunRecord:
        """Return the record."""
        job = self.job.value_in({row.file: row.sha256 for row in self.inputs})
        unplaced = {part.number: part.unplaced for part in self.parts if part.unplaced is not None}
        return self.made(job=job, unplaced=unplaced)

    @classmethod
    def fields_of(cls, value: RunRecord) -> dict[str, Any]:
        """Return key -> value."""
        parts = [PartRow.fields_in(each, value.unplaced.get(each.number)) for each in value.parts]
        # File names may hold any character, so they are values here, not keys.
        inputs = [{"file": file, "sha256": sha} for file, sha in value.job.digests.items()]
        return {"format": 2} | cls.written(value, parts=parts, inputs=inputs)


def _contours(region: Region) -> list[list[list[float]]]:
    return [_rows(contour.segments) for contour in region.contours]


def _contour_faults(contours: Sequence[Sequence[Sequence[float]]]) -> Iterator[Finding]:
    for number, contour in enumerate(contours, 1):
        if fault := path_fault(_path(contour), closed=True):
            yield Finding.error(f"contours[{number}]", fault)


def _region(contours: Sequence[Sequence[Sequence[float]]]) -> Region:
    outer, *holes = (Contour(_path(contour)) for contour in contours)
    return Region(outer, tuple(holes))


def _path(rows: Sequence[Sequence[float]]) -> Path:
    return tuple(
        Line(Point(*row[:2]), Point(*row[2:]))
        if len(row) == 4
        else Arc(Point(*row[:2]), row[2], row[3], row[4])
        for row in rows
    )


def _rows(path: Path) -> list[list[float]]:
    return [
        [*segment.start, *segment.end]
        if isinstance(segment, Line)
        else [*segment.centre, segment.radius, segment.start_angle, segment.sweep]
        for segment in path
    ]
