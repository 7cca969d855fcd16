"""What the program has put in place so far, so that it can say so when it is interrupted.

A file or folder is built under a hidden name and then moved to its place, where it keeps its number
on the disk (device and inode). The number is noted before the move. At whatever moment an interrupt
comes, the number then shows whether the file was moved.
"""

from __future__ import annotations

import os
from pathlib import Path

_noted: dict[Path, tuple[int, int]] = {}


def forget() -> None:
    """Begin again, with a new command."""
    _noted.clear()


def note(path: Path, part: Path) -> None:
    """Note that ``part`` is about to be moved to ``path``."""
    _noted[path] = _number(part)


def placed() -> list[Path]:
    """Return what is in place of all that was noted, the earliest first."""
    found = []
    for path, number in _noted.items():
        try:
            if _number(path) == number:
                found.append(path)
        except OSError:
            continue  # it never got there, or was taken away again
    return found


def _number(path: Path) -> tuple[int, int]:
    status = os.stat(path)
    return status.st_dev, status.st_ino
