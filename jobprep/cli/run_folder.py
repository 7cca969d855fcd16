"""The folder that a command writes its run to: a booked run stays unless ``--replace`` is given."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from jobprep.cli.options import pasteable

if TYPE_CHECKING:
    from jobprep.runs.booked import Booking

CommandT = TypeVar("CommandT", bound=Callable[..., Any])


def replace_option(command: CommandT) -> CommandT:
    """Add ``--replace``."""
    return click.option(
        "--replace", is_flag=True, help="Replace the run at --out even if it is booked as cut."
    )(command)


@contextmanager
def run_folder(out: Path, job_folder: Path, stock: Path | None, *, replace: bool) -> Iterator[Path]:
    """Give the folder to write a run into, and put it at ``out`` when all went well.

    A run there that a ledger holds as cut stays, unless ``replace`` is set; then what the ledger
    keeps of it is printed. The ledgers searched are the one named and those nearest to the current
    folder, to that of the job, and to the run.

    Raises
    ------
    InputError
        When a run there is booked, is not as it was written, or is none.
    """
    from jobprep.errors import Finding, InputError, Place
    from jobprep.files.ledger.find import choose_ledger
    from jobprep.runs.booked import bookings, ledgers_near
    from jobprep.runs.folder import output_folder

    choose_ledger(stock, Path())  # one that is named must be there
    replaced: list[Booking] = []

    def refuse(folder: Path) -> None:
        replaced[:] = bookings(folder, ledgers_near(stock, (Path(), job_folder, folder)))
        if replaced and not replace:
            hint = "nothing was changed: name another folder, or add --replace"
            raise InputError(
                Finding(Place(str(out)), f"{each.told} in {each.ledger}; {hint}")
                for each in replaced
            )

    with output_folder(out, refuse) as folder:
        yield folder
    for each in replaced:
        click.echo(_told(out, each), err=True)


def say_written(out: Path) -> None:
    """Print where a run was written, and how to see it."""
    click.echo(f"Written to {out}")
    click.echo(f"Next: {pasteable('sheet', out, '--open')}")


def _told(out: Path, booking: Booking) -> str:
    return (
        f"{out}: replaced. {booking.ledger} still says: {booking.told}. The drawings and the record"
        " of that run are gone, so its parts can no longer be booked as spoiled or cut again."
    )
