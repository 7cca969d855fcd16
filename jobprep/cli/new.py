"""``jobprep new``: a commented starter job that runs as it is."""

from __future__ import annotations

from pathlib import Path

import click

from jobprep.cli.options import pasteable


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
def new(folder: Path) -> None:
    """Write a commented starter job into FOLDER.

    Nothing that is there is written over.
    """
    from jobprep.errors import CannotDoError
    from jobprep.files.starter import starter_files
    from jobprep.files.write import write_text_atomic

    files = starter_files()
    for name in files:
        if (folder / name).exists():
            raise CannotDoError(f"{folder / name} exists already; choose another folder")
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        write_text_atomic(folder / name, text)
        click.echo(f"Wrote {folder / name}")
    click.echo(f"Next: {pasteable('plan', folder / 'job.toml')}")
