"""A job to print, from its file or from the record of a run of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from jobprep.disc.part import Part
    from jobprep.model import Job

RECORD = "run.toml"


class Chosen(NamedTuple):
    """A job, its parts, and the folder of its file."""

    job: Job
    parts: tuple[Part, ...]
    folder: Path


def job_or_run(path: Path, stock: Path | None = None) -> Chosen:
    """Read a job's file, or a run's folder or ``run.toml`` as it was planned.

    Raises ``InputError`` with every problem found.
    """
    if path.name != RECORD and not (path / RECORD).is_file() and not _is_bare(path):
        from jobprep import pipeline

        checked = pipeline.check(path, stock)
        return Chosen(checked.job, checked.parts, path.parent)
    from jobprep.files.run_record import read_run
    from jobprep.planning.record import recorded_parts

    run_file = path / RECORD if path.is_dir() else path
    record = read_run(run_file)
    return Chosen(record.job, recorded_parts(record), run_file.parent / record.origin)


def _is_bare(path: Path) -> bool:
    """Whether a folder holds no job either; it is then taken for that of a run that is missing."""
    from jobprep.files.job.job import USUAL_NAME

    return path.is_dir() and not (path / USUAL_NAME).is_file()
