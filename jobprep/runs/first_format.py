"""Records of format 1: their job keeps its values as the code has them.

Lengths mm, angles radians anticlockwise from +x, densities g/mm³, times s; a disc's speed r/min,
prices of time per hour. Turned back into the tables of its files it is read as a record of today;
its values meet the bounds of those files.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from jobprep.errors import MOST_TOLD, Finding, InputError
from jobprep.files.toml.lines import TomlFile, field_path
from jobprep.files.toml.problems import shown
from jobprep.files.toml.table import in_full
from jobprep.model import Job
from jobprep.runs.job_tables import JobTable
from jobprep.units import from_per_hour, from_rpm

LARGEST = 1e12
"""Of any number but a seed: above the limits of all fields of the files a run is made from."""

MOST_ANGLE = 1000.0
"""Of any angle, radians: a hundred turns and more, few enough for places to stay exact."""

LONGEST_TEXT = 3000

_RENAMED = {
    "speed": ("angular_speed", from_rpm),
    "cutter_per_hour": ("cutter_rate", from_per_hour),
    "labour_per_hour": ("labour_rate", from_per_hour),
}
"""Name in format 1 -> name in the model of today, and how its number gets there."""
_NO_GLUE = [0, 0]
"""The glue line of a design that gave none."""
_FIRST_NAMES = {name: first for first, (name, _) in _RENAMED.items()}

_ANGLES = ("angle", "direction", "start")
_NOT_TEXT = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ufffe\uffff]")
_ROWS = re.compile(r"\b(disc|layer|sector|hole|hub_slot|dot|opening|artwork|text|sheet)\[")


def from_first(file: TomlFile) -> TomlFile:
    """Return a record of format 1 with the values that it would have today.

    Raises ``InputError`` with the values of its job that are none of a job.
    """
    job = file.values.get("job")
    problems = [file.source.located(each) for each in _bad_values(job, ("job",))]
    if problems or not isinstance(job, dict):
        raise InputError(problems or [file.source.error("job", f"{shown(job)} is not a job")])
    with in_full():
        fields = JobTable.fields_of(_job(file, job))
    source = replace(file.source, lines=_Lines(file.source.lines))
    return replace(file, values={**file.values, "format": 2, "job": fields}, source=source)


@dataclass(frozen=True, slots=True)
class _Lines(Mapping[str, int]):
    """The lines of a record of format 1 by the paths that its fields have today."""

    first: Mapping[str, int]

    def __getitem__(self, path: str) -> int:
        return self.first[_ROWS.sub(r"\1s[", path) if path.startswith("job.") else path]

    def __iter__(self) -> Iterator[str]:
        return iter(self.first)

    def __len__(self) -> int:
        return len(self.first)


def _job(file: TomlFile, values: Mapping[str, object]) -> Job:
    from pydantic import TypeAdapter, ValidationError

    try:
        job: Job = TypeAdapter(Job).validate_python(
            {**_as_today(values), "parts": [], "digests": {}}
        )
    except ValidationError as error:
        raise InputError(
            _problem(file, _first_path(detail["loc"]), detail["msg"], detail["input"])
            for detail in error.errors(include_url=False, include_context=False)[: MOST_TOLD + 1]
        ) from None
    return job


def _as_today(job: Mapping[str, Any]) -> dict[str, Any]:
    """Return a job with the names and units of today's model; what is no table stays as it is."""
    found = dict(job)
    if isinstance(job.get("prices"), Mapping):
        found["prices"] = _renamed(job["prices"])
    if isinstance(job.get("discs"), list):
        found["discs"] = [
            {**disc, "design": _renamed(disc["design"])}
            if isinstance(disc, Mapping) and isinstance(disc.get("design"), Mapping)
            else disc
            for disc in job["discs"]
        ]
    return found


def _renamed(values: Mapping[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for first, value in values.items():
        if first == "glue_line" and value == _NO_GLUE:
            continue
        name, inside = _RENAMED.get(first, (first, float))
        is_number = isinstance(value, int | float) and not isinstance(value, bool)
        found[name] = inside(value) if first in _RENAMED and is_number else value
    return found


def _first_path(keys: tuple[str | int, ...]) -> str:
    return field_path(("job", *(_FIRST_NAMES.get(str(key), key) for key in keys)))


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


def _problem(file: TomlFile, path: str, message: str, found: object) -> Finding:
    said = message[:1].lower() + message[1:]
    start = "" if isinstance(found, Mapping) else f"{shown(found)} does not belong here: "
    return file.source.error(path, f"{start}{said}")
