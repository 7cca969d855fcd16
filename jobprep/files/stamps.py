"""When files were last written, cheap enough to ask again and again."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

PAUSE = 0.4
"""How long to wait before looking again, s."""

Stamp = tuple[int, int] | None
"""When a file was written (ns) and how large it is; None where there is none."""


def stamps(files: Iterable[Path]) -> dict[Path, Stamp]:
    """Return the stamp of each file."""
    return {path: _stamp(path) for path in files}


def _stamp(path: Path) -> Stamp:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size
