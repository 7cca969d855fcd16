"""``jobprep sheet``: where the job sheet of a run is, or in the browser."""

from __future__ import annotations

from pathlib import Path

import click

from jobprep.cli.options import ANY_PATH


@click.command()
@click.argument("run", type=ANY_PATH)
@click.option("--open", "is_opened", is_flag=True, help="Open it in the browser.")
def sheet(run: Path, is_opened: bool) -> None:
    """Show where the job sheet of a RUN is, or open it in the browser.

    RUN is the folder of a run, or a file in it.
    """
    from jobprep.errors import CannotDoError, Finding, InputError, Place
    from jobprep.outputs import JOB_SHEET
    from jobprep.runs.outputs import changed_output
    from jobprep.runs.recorded_run import record_path

    path = record_path(run).parent / JOB_SHEET
    if not path.is_file():
        message = f"there is no {JOB_SHEET} here; give the folder that jobprep plan has written"
        raise InputError.of(run, message)
    if changed_output(path.parent, JOB_SHEET):
        message = "this page has changed since the run was written"
        click.echo(f"Caution: {Finding(Place(str(path)), message)}", err=True)
    if is_opened:
        import webbrowser

        if not webbrowser.open(path.resolve().as_uri()):
            raise CannotDoError(f"no browser can be started from here; open {path} in one")
    click.echo(path)
