"""Keep compiled kernels only as long as the sources they were compiled from are the same.

numba renews what it keeps of a kernel when the kernel's own file changes, but an outer kernel holds
the code of inner ones and constants from other files too. So beside the compiled code lies a stamp
of all these files; where it is another one, everything is forgotten and compiled anew.
"""

from __future__ import annotations

import contextlib
import hashlib
from pathlib import Path

SOURCES = ("kernels*.py", "fields.py", "layout.py")
"""The files whose code and constants kernels hold."""

STAMP = "kernels.stamp"


def forget_stale(cache: Path, folder: Path = Path(__file__).parent) -> None:
    """Empty a cache of kernels compiled from other sources than those in a folder.

    Where this cannot be written numba writes nothing either, and there is nothing to forget.
    """
    if is_fresh(cache, folder):
        return
    with contextlib.suppress(OSError):
        for index in cache.glob("kernels*.nbi"):
            index.unlink(missing_ok=True)
        (cache / STAMP).write_text(_stamp(folder))


def is_fresh(cache: Path, folder: Path = Path(__file__).parent) -> bool:
    """Whether what a cache holds was compiled from the sources in a folder."""
    try:
        return (cache / STAMP).read_text() == _stamp(folder)
    except (OSError, UnicodeDecodeError):
        return False


def _stamp(folder: Path) -> str:
    """Return a stamp of names and contents."""
    digest = hashlib.sha256()
    for path in sorted(path for pattern in SOURCES for path in folder.glob(pattern)):
        digest.update(f"{path.name} {hashlib.sha256(path.read_bytes()).hexdigest()}\n".encode())
    return digest.hexdigest()
