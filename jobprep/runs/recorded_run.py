"""A recorded run as a command names it, by its folder or a file in it: read, and proven."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from jobprep.errors import Finding, InputError, Source
from jobprep.files.materials.library import shipped_materials
from jobprep.files.toml.lines import file_digest
from jobprep.runs.outputs import RECORD, is_edited
from jobprep.runs.record import RunRecord
from jobprep.runs.text import read_run_file

MATERIALS = "materials/"
"""Of what a job found by name: its digest is kept under this folder, wherever it lay."""

EDITED = "this record has changed since it was written"


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedRun:
    """The record of a run, proven, and the file it was read from.

    ``cautions`` are what to know of it although it can be cut; a record that ``is_edited`` is not
    as it was written.
    """

    file: Path
    record: RunRecord
    cautions: tuple[Finding, ...] = ()
    is_edited: bool = False

    @property
    def job_folder(self) -> Path:
        """Where the job's file lies, as the record says."""
        return self.file.parent / self.record.origin


def record_path(path: Path) -> Path:
    """Return the path of a run's record: ``run.toml`` in a folder, or the file itself.

    What is not there is taken for a folder, unless its name ends in ``.toml``.
    """
    is_file = path.is_file() or (path.suffix == ".toml" and not path.is_dir())
    return path if is_file else path / RECORD


def recorded_run(path: Path) -> RecordedRun:
    """Read the record of a run, and prove of it what its plan has proved.

    Raises
    ------
    InputError
        With every problem found.
    """
    # Not needed by who only asks where a record lies.
    from jobprep.runs.proof import record_faults

    file = record_path(path)
    edited = is_edited(file)
    found = [Source(str(file)).caution("", EDITED)] if edited else []
    try:
        record, source = read_run_file(file)
    except InputError as error:
        raise InputError([*found, *error.problems]) from None
    found += map(source.located, record_faults(record))
    if any(each.is_error for each in found):
        raise InputError(found)
    return RecordedRun(file=file, record=record, cautions=tuple(found), is_edited=edited)


def changed_inputs(record: RunRecord, run_file: Path) -> Iterator[Finding]:
    """Yield the inputs of a run that have changed or are gone since it was planned."""
    source = Source(str(run_file))
    folder = run_file.parent / record.origin
    for name, digest in record.job.digests.items():
        path = _input_file(folder, name)
        if path is None:
            yield source.error("inputs", f"{name} of this run is no longer there")
        elif file_digest(path) != digest:
            yield source.error("inputs", f"{name} has changed since this run was planned")


def _input_file(folder: Path, name: str) -> Path | None:
    places = [folder / name]
    if name.startswith(MATERIALS):
        places.append(shipped_materials() / name.removeprefix(MATERIALS))
    return next((place for place in places if place.is_file()), None)
