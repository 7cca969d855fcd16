"""The record of a run: everything needed to cut the same nest again, on another cutter too.

Unlike the files that people write, ``run.toml`` keeps the values as the code has them, so that
nothing is lost on the way: mm, radians anticlockwise from +x, g/mm³, s, every number in full.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass, replace
from pathlib import Path
from typing import Any

from jobprep.errors import MOST_TOLD, Finding, InputError, Source
from jobprep.files.record_checks import FORMAT, unfitting, unusable
from jobprep.files.toml.lines import KEPT_LIMIT, TomlFile, field_path, read_toml
from jobprep.files.toml.problems import shown
from jobprep.files.toml.text import toml_text
from jobprep.model import Job
from jobprep.version import __version__

HEADER = """\
# The record of one run, for `jobprep recut`. Lengths mm, angles radians anticlockwise from +x with
# y up, densities g/mm³, times s. A segment is [x, y, x, y] from end to end for a line, and
# [centre x, centre y, radius, start angle, signed sweep] for an arc.
"""

Segment = tuple[float, ...]
"""A line as (x, y, x, y) from end to end, an arc as (centre x, centre y, radius, start, sweep)."""

SegmentPath = tuple[Segment, ...]
"""Segments that follow each other."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedPart:
    """One part as it was planned.

    ``contours`` holds the outer one first, then the holes. The rest means what it means in a part
    of the plan: ``disc`` is an index from 0 into the job's discs, absent for a loose part.
    ``unplaced`` copies found no room on the stock; None: version 0.1.0 did not say.
    """

    number: int
    name: str
    film: str
    quantity: int
    contours: tuple[SegmentPath, ...]
    marks: tuple[SegmentPath, ...] = ()
    disc: int | None = None
    layer: int = 0
    sector: int = 0
    per_disc: int = 1
    turns: tuple[float, ...] = (0.0,)
    sectors: tuple[int, ...] = (0,)
    unplaced: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedSheet:
    """One opened sheet: its outer contour first, then its defects; mm, as it lies on the cutter.

    ``piece`` is its id in the stock ledger, if it is from there.
    """

    film: str
    contours: tuple[SegmentPath, ...]
    label: str = ""
    price: float | None = None
    piece: str = ""
    is_bought: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedPlacement:
    """Where a copy lies: turned by ``angle`` about the part's origin, then moved to ``(x, y)``.

    ``part`` is a part's number, ``sheet`` an index from 0 into the record's sheets, ``copy`` counts
    the copies of the part from 0.
    """

    part: int
    copy: int
    sheet: int
    angle: float
    x: float
    y: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RunRecord:
    """A whole run.

    ``job`` comes without its loose parts, which are among ``parts``, without cautions and lines;
    its ``kerf`` holds the width that every film was cut with. ``origin`` is the folder of the job
    file as seen from the run's own folder, empty if nobody said. A run that is ``is_whole`` has all
    parts of its job, each as often as that asks; None: version 0.1.0 did not say.
    """

    version: str
    origin: str
    job: Job
    parts: tuple[RecordedPart, ...]
    sheets: tuple[RecordedSheet, ...]
    placements: tuple[RecordedPlacement, ...]
    is_whole: bool | None = None


def record_run(
    job: Job,
    parts: Sequence[RecordedPart],
    sheets: Sequence[RecordedSheet],
    placements: Sequence[RecordedPlacement],
    origin: str = "",
    is_whole: bool | None = None,
) -> RunRecord:
    """Return the record of a planned job."""
    widths = {film: job.kerf_for(film) for film in sorted({part.film for part in parts})}
    job = replace(
        job,
        parts=(),
        discs=tuple(
            replace(order, design=replace(order.design, source=Source())) for order in job.discs
        ),
        kerf={film: width for film, width in widths.items() if width is not None},
        source=Source(),
        cautions=(),
    )
    return RunRecord(
        version=__version__,
        origin=origin,
        job=job,
        parts=tuple(parts),
        sheets=tuple(sheets),
        placements=tuple(placements),
        is_whole=is_whole,
    )


def write_run(record: RunRecord) -> str:
    """Return the text of a run record."""
    values = _plain(record)
    # File names may hold any character, so they are values here, not keys.
    digests = values["job"].pop("digests")
    del values["job"]["parts"], values["job"]["cautions"]
    inputs = [{"file": file, "sha256": digest} for file, digest in digests.items()]
    return HEADER + toml_text({"format": FORMAT, **values, "inputs": inputs})


def read_run(path: Path) -> RunRecord:
    """Read a run record and check its values; raises ``InputError`` with all its problems."""
    record, _ = read_run_file(path)
    return record


def read_run_file(path: Path) -> tuple[RunRecord, Source]:
    """Read a run record as ``read_run`` does; return the places of its fields, too."""
    file = read_toml(path, most=KEPT_LIMIT)
    problems = [file.source.located(finding) for finding in unusable(file.values)]
    if problems:
        raise InputError(problems)
    record, problems = validated(file)
    if record is not None:
        problems += [file.source.located(finding) for finding in unfitting(record)]
    if record is None or problems:
        raise InputError(problems)
    return record, file.source


def _plain(value: Any) -> Any:
    """Return a value as tables, lists and scalars; what is None is left out."""
    if is_dataclass(value):
        pairs = ((each.name, getattr(value, each.name)) for each in fields(value))
        left_out = (type(None), Source)
        return {name: _plain(each) for name, each in pairs if not isinstance(each, left_out)}
    if isinstance(value, Mapping):
        return {key: _plain(each) for key, each in value.items()}
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    return value


def validated(file: TomlFile) -> tuple[RunRecord | None, list[Finding]]:
    """Return the record of a file as it stands, if its values are of the right kinds."""
    from pydantic import TypeAdapter, ValidationError

    values = {key: value for key, value in file.values.items() if key in _RECORD_FIELDS}
    job = values.get("job")
    if isinstance(job, dict):
        values["job"] = {**job, "parts": [], "digests": _digests(file.values.get("inputs"))}
    try:
        record = TypeAdapter(RunRecord).validate_python(values)
    except ValidationError as error:
        return None, [
            _problem(file, field_path(detail["loc"]), detail["msg"], detail["input"])
            for detail in error.errors(include_url=False, include_context=False)[: MOST_TOLD + 1]
        ]
    return record, []


def _problem(file: TomlFile, path: str, message: str, found: object) -> Finding:
    said = message[:1].lower() + message[1:]
    start = "" if isinstance(found, Mapping) else f"{shown(found)} does not belong here: "
    return file.source.error(path, f"{start}{said}")


def _digests(rows: object) -> dict[str, str]:
    tables = [row for row in (rows if isinstance(rows, list) else ()) if isinstance(row, dict)]
    return {str(row.get("file")): str(row.get("sha256")) for row in tables}


_RECORD_FIELDS = tuple(each.name for each in fields(RunRecord))
