"""Write a run's folder whole or not at all.

It is built beside its place under a hidden name and moved there when it is complete. Its
``run.toml`` then ends with the SHA-256 of every other file, so that a later run can tell its own
files, which it may replace, from the user's, which it must not.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from jobprep.errors import CannotDoError, InputError
from jobprep.files.placed import note
from jobprep.files.toml.lines import file_digest
from jobprep.files.unfinished import OLD, clear_away, held, held_part, hidden_beside
from jobprep.files.write import explained
from jobprep.runs.outputs import RECORD, list_outputs, listed_outputs

_LITTER = frozenset({".DS_Store", "Thumbs.db", "desktop.ini"})
"""Files that file browsers leave in any folder."""


def _any(folder: Path) -> None:
    """Allow any earlier run to be replaced."""


def usual_folder(job: Path) -> Path:
    """Return where a job's run goes when nobody names a folder: beside it."""
    return job.parent / ("run" if job.stem == "job" else f"{job.stem}-run")


def origin_of(folder: Path, out: Path) -> str:
    """Return the way from a run's folder to that of its job file."""
    try:
        return Path(os.path.relpath(folder, out)).as_posix()
    except ValueError:  # on another drive
        return folder.absolute().as_posix()


@contextmanager
def output_folder(path: Path, refuse: Callable[[Path], None] = _any) -> Iterator[Path]:
    """Give a folder to write a run into, and put it at ``path`` when all went well.

    An earlier run at ``path`` is replaced as a whole; whatever goes wrong, also an interruption,
    leaves ``path`` as it was and nothing beside it. ``refuse`` is given the folder of an earlier
    run and raises where that must stay: before anything is written, and once more while the folder
    is held, right before it steps aside.

    Raises
    ------
    InputError
        When something at ``path`` is not the untouched folder of an earlier run.
    CannotDoError
        When the folder cannot be written.
    """
    with explained(path):
        target = path.resolve()
        clear_away(target, _is_untouched_run)
        _refuse_foreign(path, target)
        refuse(target)
    made = [folder for folder in target.parents if not folder.exists()]  # the deepest first

    def begin(part: Path) -> None:
        with explained(path):
            part.mkdir(parents=True)

    try:
        with held_part(target, begin) as part:
            with _named(path, part):
                yield part
            with explained(path):
                list_outputs(part / RECORD, _files(part))
                _put_in_place(path, part, target, refuse)
    except BaseException:
        for folder in made:
            with suppress(OSError):
                folder.rmdir()
        raise


@contextmanager
def _named(path: Path, part: Path) -> Iterator[None]:
    """Name the place that was asked for in what is reported of the hidden one."""
    try:
        yield
    except CannotDoError as error:
        if str(part) not in str(error):
            raise
        raise CannotDoError(str(error).replace(str(part), str(path))) from None


def _refuse_foreign(path: Path, target: Path) -> None:
    """Raise unless a run may be put there: nothing is there, or an earlier run nobody touched."""
    if not target.exists():
        return
    if not target.is_dir():
        raise InputError.of(path, "is a file; name a folder for the run")
    if target == Path.cwd() or target in Path.cwd().parents:
        raise InputError.of(path, "is the folder you are in, or one above it; name a new folder")
    foreign = _foreign_file(target)
    if foreign:
        raise InputError.of(path, f"{foreign}; nothing was changed: name another folder")


def _is_untouched_run(folder: Path) -> bool:
    return folder.is_dir() and (folder / RECORD).is_file() and not _foreign_file(folder)


def _foreign_file(folder: Path) -> str:
    """Say what in a folder is not an earlier run's, or nothing."""
    names = [name for name in _files(folder) if Path(name).name not in _LITTER]
    if not names:
        return ""
    if RECORD not in names:
        return f"it holds {names[0]} but no {RECORD} of an earlier run"
    known = listed_outputs(folder / RECORD)
    if known is None:
        return f"its {RECORD} does not list what the run wrote"
    for name in names:
        if name not in known or (folder / name).is_symlink():
            return f"it holds {name}, which is not of the earlier run"
        if name != RECORD and file_digest(folder / name) != known[name]:
            return f"its {name} was changed after the earlier run"
    return ""


def _files(folder: Path) -> list[str]:
    """Return everything in a folder but folders, by its path in there."""
    found = (entry for entry in folder.rglob("*") if entry.is_symlink() or not entry.is_dir())
    return sorted(entry.relative_to(folder).as_posix() for entry in found)


def _put_in_place(path: Path, part: Path, target: Path, refuse: Callable[[Path], None]) -> None:
    """Move a finished folder to its place; an earlier run there goes, or comes back on failure."""
    with held(target):  # so that nobody books it while it goes
        _refuse_foreign(path, target)  # again: the work in between may have taken minutes
        refuse(target)
        note(path, part)
        if not target.exists():
            part.rename(target)
            return
        aside = hidden_beside(target, OLD)
        try:
            target.rename(aside)
            part.rename(target)
        except BaseException:
            if aside.exists() and not target.exists():
                aside.rename(target)
            raise
        finally:
            if target.exists():
                shutil.rmtree(aside, ignore_errors=True)
