"""Write files whole or not at all.

What a killed program has left beside the place is cleared away first, see ``unfinished``.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager
from pathlib import Path

from jobprep.errors import CannotDoError
from jobprep.files.names import refuse_second_name
from jobprep.files.placed import note
from jobprep.files.unfinished import clear_away, held_part


def write_text_atomic(path: Path, text: str) -> None:
    """Write a UTF-8 text file in one step; raises ``CannotDoError`` when it cannot be written."""
    write_bytes_atomic(path, text.encode())


def write_content_atomic(path: Path, content: str | bytes) -> None:
    """Write text or bytes, as ``write_text_atomic`` and ``write_bytes_atomic`` do."""
    write_bytes_atomic(path, content.encode() if isinstance(content, str) else content)


def write_files(folder: Path, files: Mapping[str, str | bytes]) -> None:
    """Write files into a folder, by name; raises ``CannotDoError`` when one cannot be written."""
    for name, content in files.items():
        write_content_atomic(folder / name, content)


def write_bytes_atomic(path: Path, data: bytes) -> None:
    """Write a file in one step; raises ``CannotDoError`` when it cannot be written.

    A symbolic link stays a link. A file with a second name (a hard link) is refused.
    """
    with written_part(path, data) as part, explained(path):
        target = path.resolve()
        if target.exists():
            shutil.copymode(target, part)
        note(path, part)
        part.replace(target)


def write_over(path: Path, before: bytes, data: bytes) -> bool:
    """Write a file in one step where it still holds what it held before.

    Return False, and write nothing, where somebody else has written it meanwhile. Raises
    ``CannotDoError`` when it cannot be written.
    """
    with written_part(path, data) as part, explained(path):
        target = path.resolve()
        shutil.copymode(target, part)
        if target.read_bytes() != before:
            return False
        part.replace(target)
        return True


def write_new(path: Path, data: bytes) -> bool:
    """Write a file in one step where there is none yet.

    Return False, and write nothing, where there is one. Raises ``CannotDoError`` when it cannot
    be written.
    """
    if path.exists() or path.is_symlink():
        return False
    with written_part(path, data) as part, explained(path):
        note(path, part)
        try:
            os.link(part, path)  # unlike a move it takes no place that is taken meanwhile
        except FileExistsError:
            return False
        except OSError:  # a disk without a second name for a file
            part.replace(path)
    return True


@contextmanager
def written_part(path: Path, data: bytes) -> Iterator[Path]:
    """Give a hidden file beside a place that holds what is to go there; it is removed at the end.

    Raises ``CannotDoError`` when it cannot be written, or the place has a second name.
    """
    refuse_second_name(path)
    with ExitStack() as stack:
        with explained(path):
            target = path.resolve()
            clear_away(target)
            part = stack.enter_context(held_part(target, _new_file))
            with part.open("wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
        yield part


@contextmanager
def explained(path: Path) -> Iterator[None]:
    """Raise ``CannotDoError``, with a sentence, for what the disk refuses inside the context."""
    try:
        yield
    except (OSError, RuntimeError) as error:  # RuntimeError: links that lead in a circle
        reason = getattr(error, "strerror", None) or str(error)
        raise CannotDoError(f"{path}: cannot be written: {reason}") from None


def _new_file(part: Path) -> None:
    part.touch(exist_ok=False)
