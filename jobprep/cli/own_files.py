"""Writing files of ours into a folder that may hold files of others."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from pathlib import Path


def write_own_files(
    out: Path, files: Mapping[str, bytes], is_own: Callable[[bytes], bool], names: Iterable[str]
) -> None:
    """Write files into a folder, and remove earlier ones of ours that are not among them.

    ``is_own`` knows our files by what they hold, ``names`` are all that may be written.

    Raises
    ------
    InputError
        When a file with one of these names is not ours; nothing is written then.
    """
    from jobprep.errors import Finding, InputError, Place
    from jobprep.files.write import write_bytes_atomic

    problems = [
        Finding(Place(str(out / name)), "is not a file of ours; name another folder")
        for name in files
        if (out / name).exists() and not is_own((out / name).read_bytes())
    ]
    if problems:
        raise InputError(problems)
    make_folder(out)
    for name, data in files.items():
        write_bytes_atomic(out / name, data)
    for path in (out / name for name in names if name not in files):
        if path.is_file() and is_own(path.read_bytes()):
            path.unlink()  # left from an earlier job; nobody should take it for a part of this one


def refuse_existing(paths: Iterable[Path], instead: str) -> None:
    """Raise ``CannotDoError`` for the first path that is there; ``instead`` says what to do."""
    from jobprep.errors import CannotDoError

    for path in paths:
        if path.exists():
            raise CannotDoError(f"{path} exists already; {instead}")


def make_folder(out: Path) -> None:
    """Make a folder unless it is there; raises ``CannotDoError`` when it cannot be made."""
    from jobprep.errors import CannotDoError

    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise CannotDoError(f"{out}: cannot be written: {error.strerror}") from None
