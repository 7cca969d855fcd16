"""Where compiled kernels are kept: a folder of this user's that nobody else can write, or nowhere.

To load a kernel is to run it, so whoever can write there decides what runs. The folder's name tells
what its kernels were compiled from: other sources, another numba or Python have one of their own.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import stat
import sys
from contextlib import suppress
from importlib.metadata import version
from pathlib import Path
from typing import NamedTuple

NAMED = "NUMBA_CACHE_DIR"
"""Environment variable that names another folder for kernels than the user's cache."""

SOURCES = ("kernels*.py", "kernel_cache.py", "columns.py", "fields.py", "layout.py")
"""The files whose code and constants kernels hold."""

SETTINGS = ("BOUNDSCHECK", "DEBUGINFO", "LOOP_VECTORIZE", "OPT", "SLP_VECTORIZE")
"""Environment variables ``NUMBA_...`` that change compiled code."""

KEPT = 4
"""Most folders kept, the newest ones: some 7 MB each."""


class KernelPlace(NamedTuple):
    """A folder for compiled kernels; ``None`` where there is none, and why."""

    folder: Path | None
    why: str = ""


def kernel_place(package: Path = Path(__file__).parent) -> KernelPlace:
    """Return where the kernels of a package are kept, and make that folder."""
    root = _cache_root()
    if root is None:
        return KernelPlace(None, "you have no home folder")
    base = root / "jobprep" / "kernels"
    folder = base / _stamp(package)
    try:
        root.mkdir(mode=0o700, parents=True, exist_ok=True)
        is_new = not folder.exists()
        for each in (base.parent, base, folder):
            each.mkdir(mode=0o700, exist_ok=True)
            why = _why_not(each.resolve())
            if why:
                return KernelPlace(None, why)
    except OSError:
        return KernelPlace(None, f"{base} cannot be written")
    if is_new:
        _forget_oldest(base)
    # A copy of a filled folder serves on a disk that cannot be written, too.
    if not os.access(folder, os.W_OK) and not any(folder.iterdir()):
        return KernelPlace(None, f"{folder} cannot be written")
    return KernelPlace(folder)


def _cache_root() -> Path | None:
    """Return the cache folder of this user's programs, None where there is none."""
    named = os.environ.get(NAMED)
    if named:
        return Path(named).absolute()
    try:
        home = Path.home()
    except RuntimeError:
        home = Path()
    if sys.platform == "win32":
        root = Path(os.environ.get("LOCALAPPDATA", home / "AppData" / "Local"))
    elif sys.platform == "darwin":
        root = home / "Library" / "Caches"
    else:  # XDG Base Directory Specification 0.8: a relative path is to be ignored
        root = Path(os.environ.get("XDG_CACHE_HOME", ""))
        root = root if root.is_absolute() else home / ".cache"
    return root if root.is_absolute() else None


def _why_not(folder: Path) -> str:
    """Return why no code may be loaded from a folder; empty where it may."""
    if sys.platform == "win32":  # modes mean nothing there, and a user's folders are the user's
        return ""
    state = folder.stat()
    if state.st_uid != os.geteuid():
        return f"{folder} belongs to another user"
    if state.st_mode & (stat.S_IWGRP | stat.S_IWOTH):
        return f"{folder} can be written by other users"
    for above in folder.parents:
        mode = above.stat().st_mode
        if mode & stat.S_IWOTH and not mode & stat.S_ISVTX:
            return f"{folder} can be replaced by other users, who can write {above}"
    return ""


def _stamp(package: Path) -> str:
    """Return a stamp of all that compiled kernels depend on, except the processor."""
    words = [version("numba"), sys.implementation.cache_tag or ""]
    words += [f"{name}={os.environ.get(f'NUMBA_{name}', '')}" for name in SETTINGS]
    for path in sorted(path for pattern in SOURCES for path in package.glob(pattern)):
        words.append(f"{path.name}={hashlib.sha256(path.read_bytes()).hexdigest()}")
    return hashlib.sha256("\n".join(words).encode()).hexdigest()[:16]


def _forget_oldest(base: Path) -> None:
    """Remove all but the newest folders."""
    with suppress(OSError):  # another process may forget them, too
        folders = sorted(base.iterdir(), key=lambda folder: folder.stat().st_mtime)
        for folder in folders[:-KEPT]:
            shutil.rmtree(folder, ignore_errors=True)
