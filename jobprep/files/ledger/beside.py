"""Files that come with a booking, and go again when it is taken back.

They are written under hidden names first. The journal's entry names them and their hidden parts;
once it stands they are moved to their places, by whoever comes next if the program was killed. So
they are there when the booking counts, and only then.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path

from jobprep.files.placed import note
from jobprep.files.write import explained, written_part


@dataclass(frozen=True, slots=True, kw_only=True)
class BesideFile:
    """A file by its path from the ledger's folder, the hidden name it had at first, its SHA-256."""

    file: str
    part: str
    sha256: str

    def path(self, ledger: Path) -> Path:
        """Return where it lies, named from the current folder."""
        place = os.path.normpath(ledger.parent.resolve() / self.file)
        try:
            return Path(os.path.relpath(place))
        except ValueError:  # on another drive
            return Path(place)


@contextmanager
def written_beside(ledger: Path, files: Mapping[Path, str]) -> Iterator[tuple[BesideFile, ...]]:
    """Write files under hidden names; what has not got to its place at the end is removed."""
    with ExitStack() as stack:
        written = []
        for path, text in files.items():
            data = text.encode()
            part = stack.enter_context(written_part(path, data))
            target = part.with_name(path.resolve().name)
            written.append(
                BesideFile(
                    file=_way(ledger.parent, target),
                    part=part.name,
                    sha256=hashlib.sha256(data).hexdigest(),
                )
            )
        yield tuple(written)


def put_in_place(ledger: Path, files: Sequence[BesideFile]) -> None:
    """Move files to their places, but for those that are there already.

    Raises ``CannotDoError`` when one cannot be moved.
    """
    for each in files:
        target = each.path(ledger)
        part = target.with_name(each.part)
        with explained(target):
            if part.exists() and not target.exists():
                note(target, part)
                part.rename(target)


def take_away(ledger: Path, files: Sequence[BesideFile]) -> tuple[tuple[Path, ...], bool]:
    """Remove files as they were written; return those that were there, and whether they stay.

    All stay as soon as one of them has been changed: it is somebody's work, and goes with the rest.
    Raises ``CannotDoError`` when one cannot be removed.
    """
    there = tuple(each.path(ledger) for each in files if each.path(ledger).is_file())
    if any(_is_changed(each, ledger) for each in files):
        return there, True
    for path in there:
        with explained(path):
            path.unlink()
    return there, False


def _is_changed(each: BesideFile, ledger: Path) -> bool:
    path = each.path(ledger)
    return path.is_file() and hashlib.sha256(path.read_bytes()).hexdigest() != each.sha256


def _way(folder: Path, target: Path) -> str:
    try:
        return Path(os.path.relpath(target, folder.resolve())).as_posix()
    except ValueError:  # on another drive
        return target.as_posix()
