"""References of a record that lead nowhere, and values of its job that no field may have."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping

from jobprep.disc.part import Part
from jobprep.errors import Finding
from jobprep.files.toml.lines import field_path
from jobprep.files.toml.problems import shown
from jobprep.runs.record import RecordedPlacement, RunRecord

LARGEST = 1e12
"""Of any number but a seed: above the limits of all fields of the files a run is made from."""

MOST_ANGLE = 1000.0
"""Of any angle, radians: a hundred turns and more, few enough for places to stay exact."""

LONGEST_TEXT = 3000

_ANGLES = ("angle", "direction", "start")
_NOT_TEXT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ufffe\uffff]")


def unusable(job: object) -> Iterator[Finding]:
    """Yield values that no field of a recorded job may have."""
    yield from _bad_values(job, ("job",))


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
    most = MOST_ANGLE if name in _ANGLES else LARGEST
    if not abs(value) <= most:
        return f"a number up to {most:g}"
    return ""


def references(record: RunRecord) -> Iterator[Finding]:
    """Yield what names a film, a disc, a part or a sheet that a record does not have, by field."""
    for number, part in enumerate(record.parts):
        path = field_path(("parts", number))
        yield from _film(path, part.film, record)
        yield from _origin(path, part, record)
    for number, sheet in enumerate(record.sheets):
        yield from _film(field_path(("sheets", number)), sheet.film, record)
    known = {part.number: part for part in record.parts}
    if len(known) < len(record.parts):
        yield Finding.error("parts", "two parts have one number")
    for number, placement in enumerate(record.placements):
        yield from _placement(field_path(("placements", number)), placement, record, known)


def _film(path: str, film: str, record: RunRecord) -> Iterator[Finding]:
    if film not in record.job.films or film not in record.job.kerf:
        yield Finding.error(f"{path}.film", f"{shown(film)} is not a film of this record")


def _origin(path: str, part: Part, record: RunRecord) -> Iterator[Finding]:
    """Yield a part's places in a disc that it does not have."""
    if part.disc is None:
        return
    if not part.disc < len(record.job.discs):
        yield Finding.error(f"{path}.disc", f"{part.disc} is not a disc, which count from 0")
        return
    layers = record.job.discs[part.disc].design.layers
    if not part.layer <= len(layers):
        yield Finding.error(f"{path}.layer", f"{part.layer} is not a layer of its disc")
        return
    n_sectors = len(layers[part.layer - 1].sectors) if part.layer else 0
    if any(sector > n_sectors for sector in (part.sector, *part.sectors)):
        yield Finding.error(f"{path}.sector", "is not a sector of its layer")


def _placement(
    path: str, placement: RecordedPlacement, record: RunRecord, known: Mapping[int, Part]
) -> Iterator[Finding]:
    part = known.get(placement.part)
    if part is None:
        message = f"{placement.part} is not the number of a part of this record"
        yield Finding.error(f"{path}.part", message)
    elif not placement.copy < part.quantity:
        copies = f"a copy of part {part.number}, which are 0 to {part.quantity - 1}"
        yield Finding.error(f"{path}.copy", f"{placement.copy} is not {copies}")
    if not placement.sheet < len(record.sheets):
        message = f"{placement.sheet} is not a sheet, which count from 0"
        yield Finding.error(f"{path}.sheet", message)
    elif part is not None and record.sheets[placement.sheet].film != part.film:
        sheet = record.sheets[placement.sheet]
        message = f"part {part.number} is {part.film}, this sheet {sheet.film}"
        yield Finding.error(f"{path}.sheet", message)
