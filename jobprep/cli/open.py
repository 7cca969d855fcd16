"""``jobprep open``: a page on this computer alone, on which to see and shape a design."""

from __future__ import annotations

import threading
from contextlib import suppress
from pathlib import Path

import click

from jobprep.cli.options import ANY_PATH


@click.command("open")
@click.argument("path", type=ANY_PATH, default=".", metavar="[FILE | FOLDER]")
@click.option("--no-browser", is_flag=True, help="Print the address, and open no browser.")
def open_(path: Path, no_browser: bool) -> None:
    """Open a page on which to see and shape a design.

    FILE is a design, a job, a run or a picture; FOLDER is a folder with such files, or a run's.
    The page reads and changes files in that folder, or the folder of FILE, and nothing outside it;
    of a run, in the folder that its own lies in. Only this computer's own browser can show it, at
    the address that is printed. Ctrl-C ends it.
    """
    from jobprep.errors import InputError
    from jobprep.serving.guard import address_for_once, new_key
    from jobprep.serving.server import serving
    from jobprep.workbench.routes import routes
    from jobprep.workbench.workbench import Workbench

    if not path.exists():
        raise InputError.of(path, "there is no such file or folder")
    bench = Workbench(*_folder_and_file(path))
    with serving(routes(bench), key=new_key()) as server, bench.watched():
        click.echo(f"Page: {server.door.address}")
        click.echo("Ctrl-C ends it; every change is in its file by then.")
        if not no_browser:
            # Others on this computer can see the address that a browser was started with.
            _show(address_for_once(server.door))
        with suppress(KeyboardInterrupt):
            _wait()
    click.echo("Ended.")


def _folder_and_file(path: Path) -> tuple[Path, Path | None]:
    """Return the folder to open and the file to begin with; a run's own folder is too narrow."""
    from jobprep.runs.outputs import RECORD

    record = path / RECORD if path.is_dir() else path
    if record.name == RECORD and record.is_file():
        run = record.parent.resolve()
        return run.parent, run / RECORD
    if path.is_dir():
        return path, None
    return path.parent, path.parent.resolve() / path.name


def _wait() -> None:
    """Wait until somebody interrupts."""
    threading.Event().wait()


def _show(address: str) -> None:
    """Open the browser, in a thread of its own: some are programs of the terminal."""
    import webbrowser

    threading.Thread(target=webbrowser.open, args=(address,), daemon=True).start()
