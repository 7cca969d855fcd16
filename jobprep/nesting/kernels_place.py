"""Where numba keeps what it has compiled: beside the sources, or elsewhere."""

from __future__ import annotations

from pathlib import Path

from numba import njit


def kernels_place() -> Path | None:
    """Return the folder in which numba keeps the kernels, None where it can write nowhere.

    That is a folder of the user's where the package's own cannot be written, or the one that
    ``NUMBA_CACHE_DIR`` names.
    """
    try:
        path = njit(cache=True)(_nothing).stats.cache_path
    except RuntimeError:  # no place
        return None
    return None if path is None else Path(path)


def _nothing() -> None:
    """Stand for all kernels."""
