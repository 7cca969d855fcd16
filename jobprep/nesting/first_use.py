"""Compile the kernels on two processors the first time they are used.

Compiling takes most of a first run. The compiled kernels are cached beside their sources, so this
happens once after installing; the two halves do not need each other. Where nothing can be written
there each user has a cache.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from jobprep.errors import CannotDoError
from jobprep.nesting.kernel_cache import is_fresh

CACHE = Path(__file__).with_name("__pycache__")
"""Where the compiled kernels are kept if it can be written."""

OTHER_HALF = "import jobprep.nesting.kernels_raster, jobprep.nesting.kernels_field"


def is_compiled() -> bool:
    """Whether the search need not be compiled any more."""
    cache = _cache()
    return cache is not None and is_fresh(cache) and any(cache.glob("kernels.separate-*.nbi"))


def compile_side_by_side() -> None:
    """Fill an empty cache from two processes; do nothing where there is one.

    What goes wrong in the other process is left to this one, which compiles what is still missing.

    Raises
    ------
    CannotDoError
        When there is no place for a cache, since numba then compiles nothing.
    """
    if _cache() is None:
        raise CannotDoError(
            f"the search for a nest is compiled once and kept, but neither {CACHE} nor your own "
            "folder for such things can be written; name one that can in NUMBA_CACHE_DIR"
        )
    if is_compiled() or not sys.executable:
        return
    quiet = subprocess.DEVNULL
    command = [sys.executable, "-P", "-c", OTHER_HALF]  # not what lies in the working folder
    with subprocess.Popen(command, stdin=quiet, stdout=quiet, stderr=quiet):
        import jobprep.nesting.kernels  # noqa: F401  # importing compiles it


def _cache() -> Path | None:
    """Return where the compiled kernels are kept, None where nothing can be written."""
    beside = CACHE if CACHE.exists() else CACHE.parent
    if "NUMBA_CACHE_DIR" not in os.environ and os.access(beside, os.W_OK):
        return CACHE
    from jobprep.nesting.kernels_place import kernels_place  # which loads numba, so not always

    return kernels_place()
