"""A recorded run as a command names it: by its folder, or by a file in it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from jobprep.files.run_record import RunRecord, read_run
from jobprep.files.write import RECORD


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedRun:
    """The record of a run, and the file it was read from."""

    file: Path
    record: RunRecord

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
    """Read the record of a run.

    Raises
    ------
    InputError
        With every problem found.
    """
    file = record_path(path)
    return RecordedRun(file=file, record=read_run(file))
