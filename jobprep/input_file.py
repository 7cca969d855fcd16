"""The bytes of a file somebody names: a regular file, no larger than its kind can be."""

from __future__ import annotations

from pathlib import Path

from jobprep.errors import InputError

MEGABYTE = 1_000_000


def input_bytes(path: Path, most: int) -> bytes:
    """Return the bytes of a file of at most ``most`` bytes, and read no more than that.

    Devices and pipes have no end, so that nothing but regular files is opened.

    Raises
    ------
    InputError
        With one sentence when it is no such file or cannot be read.
    """
    try:
        if path.is_dir():
            raise InputError.of(path, "is a folder, not a file")
        if path.exists() and not path.is_file():
            raise InputError.of(path, "is not a regular file")
        with path.open("rb") as stream:
            raw = stream.read(most + 1)
    except FileNotFoundError:
        raise InputError.of(path, "there is no such file") from None
    except (OSError, ValueError) as error:  # ValueError: a null character in the name
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError.of(path, f"cannot be read: {reason}") from None
    if len(raw) > most:
        raise InputError.of(path, f"larger than {most / MEGABYTE:g} MB, too large for such a file")
    return raw


def decoded(path: Path, raw: bytes) -> str:
    """Return the bytes of a file as text; raises ``InputError`` naming the line that is none."""
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise InputError.of(path, "not UTF-8 text; save it in that encoding", line) from None
