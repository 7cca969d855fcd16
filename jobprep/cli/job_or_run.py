"""A job to print, from its file or from the record of a run of it, and the cautions of a run."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import click

if TYPE_CHECKING:
    from jobprep.disc.part import Part
    from jobprep.model import Job
    from jobprep.planning.plan import OpenedSheet
    from jobprep.runs.recorded_run import RecordedRun


class Chosen(NamedTuple):
    """A job, its parts, the folder of its file, and the sheets of a run."""

    job: Job
    parts: tuple[Part, ...]
    folder: Path
    sheets: tuple[OpenedSheet, ...] = ()


def job_or_run(path: Path, stock: Path | None = None) -> Chosen:
    """Read a job's file, or a run's folder or ``run.toml`` as it was planned.

    Raises ``InputError`` with every problem found.
    """
    if not _is_run(path):
        from jobprep import pipeline

        checked = pipeline.check(path, stock, partial=True)  # what is printed takes no film
        return Chosen(checked.job, checked.parts, path.parent)
    from jobprep.runs.recorded_run import recorded_run

    run = recorded_run(path)
    tell_cautions(run)
    return Chosen(run.record.job, run.record.parts, run.job_folder, run.record.sheets)


def tell_cautions(run: RecordedRun) -> None:
    """Print the cautions of a run to standard error, before anything is made from it."""
    for caution in run.cautions:
        click.echo(f"Caution: {caution}", err=True)


def _is_run(path: Path) -> bool:
    """Whether a run is meant; a folder with neither counts as a run whose record is missing."""
    from jobprep.files.job.job import USUAL_NAME
    from jobprep.runs.outputs import RECORD

    if not path.is_dir():
        return path.name == RECORD
    return (path / RECORD).is_file() or not (path / USUAL_NAME).is_file()
