"""The text of a record, ``run.toml``, and back."""

from __future__ import annotations

from pathlib import Path

from jobprep.errors import CannotDoError, InputError, Source
from jobprep.files.toml.form import form_of
from jobprep.files.toml.lines import read_toml
from jobprep.files.toml.table import in_full
from jobprep.input_file import MEGABYTE
from jobprep.runs.first_format import from_first
from jobprep.runs.outputs import LARGEST_RECORD
from jobprep.runs.record import RunRecord
from jobprep.runs.references import references
from jobprep.runs.size import too_large
from jobprep.runs.tables import RecordTable
from jobprep.toml_text import toml_text

HEADER = """\
# The record of one run, for `jobprep recut`. The job stands here as in its own files. Outlines and
# places of parts have every digit: lengths mm, angles radians anticlockwise from +x with y up. A
# segment is [x, y, x, y] from end to end for a line, and [centre x, centre y, radius, start angle,
# signed sweep] for an arc.
"""

ROOM_FOR_OUTPUTS = MEGABYTE
"""For the list of a run's files at the end of its record, in bytes."""


def write_run(record: RunRecord) -> str:
    """Return the text of a run record.

    Raises ``CannotDoError`` when it would be larger than any that is read again.
    """
    with in_full():
        text = HEADER + toml_text(RecordTable.fields_of(record))
    if len(text.encode()) > LARGEST_RECORD - ROOM_FOR_OUTPUTS:
        raise CannotDoError(too_large())
    return text


def read_run(path: Path) -> RunRecord:
    """Read a run record and check its values; raises ``InputError`` with all its problems."""
    record, _ = read_run_file(path)
    return record


def read_run_file(path: Path) -> tuple[RunRecord, Source]:
    """Read a run record as ``read_run`` does; return the places of its fields, too."""
    file = read_toml(path, most=LARGEST_RECORD)
    if "placements" not in file.values:
        message = "this file is not the record of a run; name the run.toml of a run"
        raise InputError([file.source.error("", message)])
    if file.values.get("format") == 1:
        file = from_first(file)
    form = form_of(RecordTable, file)
    record = form.right().value()
    found = [file.source.located(each) for each in references(record)]
    if found:
        raise InputError(found)
    return record, file.source
