"""``jobprep new``: a commented starter job that runs as it is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

import click

from jobprep.cli.options import ANY_PATH, FILE_THERE, pasteable
from jobprep.cli.own_files import refuse_existing


@click.command()
@click.argument("folder", type=ANY_PATH)
@click.option(
    "--design",
    type=FILE_THERE,
    metavar="DESIGN",
    help="Write a job for this design instead, such as a measured one.",
)
@click.option("--cutter", metavar="NAME", help="The cutter of that job; bench-co2 by default.")
def new(folder: Path, design: Path | None, cutter: str | None) -> None:
    """Write a commented starter job into FOLDER.

    Existing files stay as they are.
    """
    from jobprep.files.starter import starter_files
    from jobprep.files.write import write_text_atomic

    if cutter is not None and design is None:
        raise click.UsageError("--cutter is for a job of a --design; give that too")
    files = starter_files() if design is None else _job_of(design, cutter, folder)
    refuse_existing((folder / name for name in files), "choose another folder")
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        write_text_atomic(folder / name, text)
        click.echo(f"Wrote {folder / name}")
    click.echo(f"Next: {pasteable('plan', folder / 'job.toml')}")


def _job_of(design: Path, cutter: str | None, folder: Path) -> Mapping[str, str]:
    """Return the job of a design and a cutter; raises for a cutter that is unknown there."""
    from jobprep.cli.choose import chosen_cutter
    from jobprep.files.starter import job_of_design
    from jobprep.runs.folder import origin_of

    name = cutter or "bench-co2"
    _refuse_cutter_elsewhere(name, folder, (design.parent, Path()))
    chosen_cutter(name, folder)
    return {"job.toml": job_of_design(origin_of(design, folder), name)}


def _refuse_cutter_elsewhere(name: str, folder: Path, others: Iterable[Path]) -> None:
    """Raise ``UsageError`` for a cutter that lies beside another folder than that of the job."""
    from jobprep.files.materials.library import cutter_library

    if name in cutter_library(folder):
        return
    for other in others:
        if name in cutter_library(other):
            raise click.UsageError(
                f"{cutter_library(other).path(name)} is not beside {folder}, and a job finds only "
                f"what lies beside it: write the job into {other}"
            )
