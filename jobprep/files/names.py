"""Files with more than one name: what may be replaced as a whole under which of them.

A symbolic link names another name, so that the file it leads to is written and the link stays. A
hard link is a second name of the same content, equal to the first. Whoever puts a new file under
one name parts the two, and the other silently keeps what was there before.
"""

from __future__ import annotations

from pathlib import Path

from jobprep.errors import CannotDoError


def real_file(path: Path) -> Path:
    """Return the file that a symbolic link leads to, any other path as it is.

    Links that lead in a circle stay, too: opening one gives an error.
    """
    try:
        return path.resolve() if path.is_symlink() else path
    except (OSError, RuntimeError):
        return path


def refuse_second_name(path: Path) -> None:
    """Raise ``CannotDoError`` when a file to be replaced has another name, which would be parted.

    ``path`` may be a link; the file that it leads to counts.
    """
    try:
        status = path.stat()
    except (OSError, RuntimeError):
        return  # nothing there, or nothing that can be replaced: the writing says so
    if path.is_file() and status.st_nlink > 1:
        raise CannotDoError(
            f"{path}: has another name on this disk (a hard link), which would keep what is there"
            " now; copy the file and let the copy take its place, or make one name a symbolic link"
        )
