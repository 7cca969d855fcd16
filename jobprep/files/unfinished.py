"""What is still being written, and what a program that was killed has left behind.

Files and folders are built beside their place under a hidden name, ``.name.1a2b3c4d.part``. An
earlier run steps aside as ``.name.1a2b3c4d.old`` for the moment in which the new one takes its
place. Whoever writes holds a lock on it, which the system takes away when the program ends,
however it ends; so what nobody holds has no writer any more. Where the system has no such locks
nothing is ever cleared away.
"""

from __future__ import annotations

import os
import re
import secrets
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

try:
    import fcntl
except ImportError:  # no Unix
    fcntl = None  # type: ignore[assignment]

PART, OLD = "part", "old"


def hidden_beside(target: Path, kind: str = PART) -> Path:
    """Return a new hidden name beside a target."""
    return target.with_name(f".{_short(target)}.{secrets.token_hex(4)}.{kind}")


@contextmanager
def held_part(target: Path, begin: Callable[[Path], None]) -> Iterator[Path]:
    """Give a part beside a target, made by ``begin`` and held meanwhile.

    If it still has its hidden name at the end, it is removed.
    """
    while True:
        path = hidden_beside(target)
        try:
            begin(path)
            with held(path) as is_there:
                if is_there:
                    yield path
                    return
        finally:
            with suppress(OSError):
                _remove(path)


@contextmanager
def held(path: Path) -> Iterator[bool]:
    """Hold a file or folder; return whether it is there, or was cleared away before that."""
    try:
        descriptor = _opened(path)
    except FileNotFoundError:
        yield False
        return
    try:
        if fcntl is not None:
            with suppress(OSError):  # a file system without locks goes without
                fcntl.flock(descriptor, fcntl.LOCK_EX)
        yield path.exists()
    finally:
        os.close(descriptor)


def clear_away(target: Path, is_whole: Callable[[Path], bool] = lambda _: False) -> None:
    """Remove what killed programs have left beside a target.

    An earlier run that stepped aside and ``is_whole`` is put back where nothing has taken its
    place. What cannot be looked at or removed stays.
    """
    if fcntl is None:
        return
    left = re.compile(rf"\.{re.escape(_short(target))}\.[0-9a-f]{{8}}\.({PART}|{OLD})")
    with suppress(OSError):
        for path in list(target.parent.iterdir()):
            found = left.fullmatch(path.name)
            if found and not path.is_symlink():
                with suppress(OSError):
                    _clear(path, target, found[1] == OLD and is_whole(path))


def _clear(path: Path, target: Path, is_wanted: bool) -> None:
    """Remove one path, or put it back, unless somebody holds it."""
    descriptor = _opened(path)
    try:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        if is_wanted and not target.exists():
            path.rename(target)
        else:
            _remove(path)
    finally:
        os.close(descriptor)


def _remove(path: Path) -> None:
    if path.is_dir():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)


def _opened(path: Path) -> int:
    return os.open(os.devnull if fcntl is None else path, os.O_RDONLY)


def _short(target: Path) -> str:
    return target.name[:100]
