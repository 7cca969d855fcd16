"""What must hold in the record of a run before anything is made from it.

A record may come from anywhere: its names become names of files, its colours stand in drawings, and
its numbers are computed with as they are.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING

from jobprep.errors import Finding
from jobprep.files.record_job import job_faults
from jobprep.files.toml.lines import field_path
from jobprep.files.toml.problems import shown

if TYPE_CHECKING:
    from jobprep.files.run_record import (
        RecordedPart,
        RecordedPlacement,
        RecordedSheet,
        RunRecord,
        Segment,
        SegmentPath,
    )

FORMAT = 1

JOIN_TOLERANCE = 1e-6
"""How far apart the ends of neighbouring segments may lie, mm: above rounding, below any cut."""

LARGEST = 1e12
"""Of any number but a seed: above the limits of all fields of the files a run is made from."""

MOST_COPIES = 1_000_000
LONGEST_TEXT = 3000

FARTHEST = 100_000.0
"""Of any coordinate and radius, mm."""

MOST_ANGLE = 1000.0
"""Of any angle, radians: a hundred turns and more, few enough for places to stay exact."""

_COUNTS = ("quantity", "per_disc")
_ANGLES = ("angle", "direction", "start", "turns")
_PLACES = ("x", "y")
_NOT_TEXT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ufffe\uffff]")


def unusable(values: Mapping[str, object]) -> Iterator[Finding]:
    """Yield what makes a file no run record at all, and values that no field may have."""
    if "placements" not in values:
        message = "this file is not the record of a run; name the run.toml of a run"
        yield Finding.error("", message)
    elif values.get("format") != FORMAT:
        message = f"{shown(values.get('format'))} is not {FORMAT}, the format read here"
        yield Finding.error("format", message)
    yield from _bad_values(values, ())


def _bad_values(value: object, keys: tuple[str | int, ...]) -> Iterator[Finding]:
    if isinstance(value, dict):
        for key, each in value.items():
            if len(key) > LONGEST_TEXT or _NOT_TEXT.search(key):
                yield Finding.error(field_path(keys), f"{shown(key)} cannot name anything")
            yield from _bad_values(each, (*keys, key))
    elif isinstance(value, list):
        for number, each in enumerate(value):
            yield from _bad_values(each, (*keys, number))
    elif isinstance(value, str):
        if len(value) > LONGEST_TEXT or _NOT_TEXT.search(value):
            yield Finding.error(field_path(keys), f"{shown(value)} is no text of a run")
    elif isinstance(value, int | float) and not isinstance(value, bool):
        named = (key for key in reversed(keys) if isinstance(key, str))
        fault = _number_fault(value, next(named, ""))
        if fault:
            yield Finding.error(field_path(keys), f"{shown(value)} is not {fault}")


def _number_fault(value: float, name: str) -> str:
    if isinstance(value, float) and not math.isfinite(value):
        return "a finite number"
    if name == "seed":
        return "" if 0 <= value < 2**63 else "a whole number of at least 0 and below 2^63"
    if name in _COUNTS:
        fine = 1 <= value <= MOST_COPIES
        return "" if fine else f"a whole number of at least 1 and at most {MOST_COPIES}"
    most = MOST_ANGLE if name in _ANGLES else FARTHEST if name in _PLACES else LARGEST
    if not abs(value) <= most:
        return f"a number up to {most:g}"
    return ""


def unfitting(record: RunRecord) -> Iterator[Finding]:
    """Yield names that are no names of files, references that lead nowhere, open outlines."""
    yield from job_faults(record.job)
    for number, part in enumerate(record.parts):
        path = field_path(("parts", number))
        yield from _outlines(path, part, record)
        yield from _origin(path, part, record)
        for count, mark in enumerate(part.marks, 1):
            fault = _path_fault(mark, "a mark")
            if fault:
                yield Finding.error(f"{path}.marks[{count}]", fault)
    for number, sheet in enumerate(record.sheets):
        yield from _outlines(field_path(("sheets", number)), sheet, record)
    known = {part.number: part for part in record.parts}
    if len(known) < len(record.parts):
        yield Finding.error("parts", "two parts have one number")
    for number, placement in enumerate(record.placements):
        yield from _placement(field_path(("placements", number)), placement, record, known)


def _outlines(path: str, row: RecordedPart | RecordedSheet, record: RunRecord) -> Iterator[Finding]:
    if row.film not in record.job.films or row.film not in record.job.kerf:
        yield Finding.error(f"{path}.film", f"{shown(row.film)} is not a film of this record")
    if not row.contours:
        yield Finding.error(f"{path}.contours", "an outline needs at least one contour")
    for count, contour in enumerate(row.contours, 1):
        fault = _contour_fault(contour)
        if fault:
            yield Finding.error(f"{path}.contours[{count}]", fault)


def _origin(path: str, part: RecordedPart, record: RunRecord) -> Iterator[Finding]:
    """Yield a part's places in a disc that it does not have."""
    if len(part.turns) != part.per_disc or len(part.sectors) != part.per_disc:
        yield Finding.error(f"{path}.turns", f"not as many as it is on a disc, {part.per_disc}")
    if part.disc is None:
        return
    if not 0 <= part.disc < len(record.job.discs):
        yield Finding.error(f"{path}.disc", f"{part.disc} is not a disc, which count from 0")
        return
    layers = record.job.discs[part.disc].design.layers
    if not 0 <= part.layer <= len(layers):
        yield Finding.error(f"{path}.layer", f"{part.layer} is not a layer of its disc")
        return
    n_sectors = len(layers[part.layer - 1].sectors) if part.layer else 0
    if not all(0 <= sector <= n_sectors for sector in (part.sector, *part.sectors)):
        yield Finding.error(f"{path}.sector", "is not a sector of its layer")


def _placement(
    path: str,
    placement: RecordedPlacement,
    record: RunRecord,
    known: Mapping[int, RecordedPart],
) -> Iterator[Finding]:
    part = known.get(placement.part)
    if part is None:
        message = f"{placement.part} is not the number of a part of this record"
        yield Finding.error(f"{path}.part", message)
    elif not 0 <= placement.copy < part.quantity:
        copies = f"a copy of part {part.number}, which are 0 to {part.quantity - 1}"
        yield Finding.error(f"{path}.copy", f"{placement.copy} is not {copies}")
    if not 0 <= placement.sheet < len(record.sheets):
        message = f"{placement.sheet} is not a sheet, which count from 0"
        yield Finding.error(f"{path}.sheet", message)
    elif part is not None and record.sheets[placement.sheet].film != part.film:
        sheet = record.sheets[placement.sheet]
        message = f"part {part.number} is {part.film}, this sheet {sheet.film}"
        yield Finding.error(f"{path}.sheet", message)


def _contour_fault(contour: SegmentPath) -> str:
    return _path_fault(contour, "a contour") or _gap_fault((contour[-1], *contour))


def _path_fault(path: SegmentPath, what: str) -> str:
    if not path:
        return f"{what} needs at least one segment"
    if any(len(segment) not in (4, 5) for segment in path):
        return "a segment has 4 numbers (line) or 5 (arc)"
    if any(abs(number) > FARTHEST for segment in path for number in segment):
        return f"reaches farther than {FARTHEST / 1000:g} m"
    if any(len(segment) == 5 and segment[2] <= 0.0 for segment in path):
        return "the radius of an arc is above 0"
    return _gap_fault(path)


def _gap_fault(path: Sequence[Segment]) -> str:
    """Say where a segment does not begin at the end of the one before."""
    for before, segment in pairwise(path):
        gap = math.dist(_ends(before)[1], _ends(segment)[0])
        if gap > JOIN_TOLERANCE:
            return f"its segments do not meet, they are {gap:g} mm apart"
    return ""


def _ends(segment: Segment) -> tuple[tuple[float, float], tuple[float, float]]:
    if len(segment) == 4:
        return (segment[0], segment[1]), (segment[2], segment[3])
    x, y, radius, start, sweep = segment

    def at(angle: float) -> tuple[float, float]:
        return x + radius * math.cos(angle), y + radius * math.sin(angle)

    return at(start), at(start + sweep)
