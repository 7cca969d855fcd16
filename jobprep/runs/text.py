"""The text of a record, ``run.toml``, and back.

Unlike the files that people write, it keeps the values of a job as the code has them, so that
nothing is lost on the way: mm, radians anticlockwise from +x, g/mm³, s, every number in full.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import Any

from jobprep.errors import MOST_TOLD, Finding, InputError, Source
from jobprep.files.toml.form import form_of
from jobprep.files.toml.lines import KEPT_LIMIT, TomlFile, field_path, read_toml
from jobprep.files.toml.problems import shown
from jobprep.files.toml.text import toml_text
from jobprep.model import Job
from jobprep.runs.job_tables import job_faults
from jobprep.runs.record import RunRecord
from jobprep.runs.references import references, unusable
from jobprep.runs.tables import RecordTable

HEADER = """\
# The record of one run, for `jobprep recut`. Lengths mm, angles radians anticlockwise from +x with
# y up, densities g/mm³, times s. A segment is [x, y, x, y] from end to end for a line, and
# [centre x, centre y, radius, start angle, signed sweep] for an arc.
"""


def write_run(record: RunRecord) -> str:
    """Return the text of a run record."""
    job = _plain(record.job)
    # File names may hold any character, so they are values in the record, not keys.
    del job["digests"], job["parts"], job["cautions"]
    return HEADER + toml_text(RecordTable.fields_in(record, job))


def read_run(path: Path) -> RunRecord:
    """Read a run record and check its values; raises ``InputError`` with all its problems."""
    record, _ = read_run_file(path)
    return record


def read_run_file(path: Path) -> tuple[RunRecord, Source]:
    """Read a run record as ``read_run`` does; return the places of its fields, too."""
    file = read_toml(path, most=KEPT_LIMIT)
    if "placements" not in file.values:
        message = "this file is not the record of a run; name the run.toml of a run"
        raise InputError([file.source.error("", message)])
    form = form_of(RecordTable, file)
    problems = [*form.problems, *map(file.source.located, unusable(file.values.get("job")))]
    if form.root is None or problems:
        raise InputError(problems)
    job, problems = _job(file, form.root)
    if job is None or problems:
        raise InputError(problems)
    record = form.root.value_of(job)
    found = [*job_faults(job), *references(record)]
    if found:
        raise InputError(map(file.source.located, found))
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


def _job(file: TomlFile, table: RecordTable) -> tuple[Job | None, list[Finding]]:
    """Return the job of a record as it stands, if its values are of the right kinds."""
    from pydantic import TypeAdapter, ValidationError

    try:
        values = {**table.job, "parts": [], "digests": table.digests}
        return TypeAdapter(Job).validate_python(values), []
    except ValidationError as error:
        return None, [
            _problem(file, field_path(("job", *detail["loc"])), detail["msg"], detail["input"])
            for detail in error.errors(include_url=False, include_context=False)[: MOST_TOLD + 1]
        ]


def _problem(file: TomlFile, path: str, message: str, found: object) -> Finding:
    said = message[:1].lower() + message[1:]
    start = "" if isinstance(found, Mapping) else f"{shown(found)} does not belong here: "
    return file.source.error(path, f"{start}{said}")
