"""What to know of a recorded run before anything is made from it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from jobprep.runs.recorded_run import RecordedRun


def tell_cautions(run: RecordedRun) -> None:
    """Print the cautions of a run's record, where errors go."""
    for caution in run.cautions:
        click.echo(f"Caution: {caution}", err=True)
