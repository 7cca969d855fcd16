"""Compile the kernels on two processors the first time they are used.

Compiling takes most of a first run. The compiled kernels are cached beside their sources, so this
happens once after installing; the two halves do not need each other.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from jobprep.nesting.kernel_cache import is_fresh

CACHE = Path(__file__).with_name("__pycache__")
"""Where the compiled kernels are kept."""

OTHER_HALF = "import jobprep.nesting.kernels_raster, jobprep.nesting.kernels_field"


def is_compiled() -> bool:
    """Whether the search need not be compiled any more."""
    return is_fresh(CACHE) and any(CACHE.glob("kernels.separate-*.nbi"))


def compile_side_by_side() -> None:
    """Fill an empty cache from two processes; do nothing where there is one, or nowhere to put it.

    What goes wrong in the other process is left to this one, which compiles what is still missing.
    """
    place = CACHE if CACHE.exists() else CACHE.parent
    if is_compiled() or not sys.executable or not os.access(place, os.W_OK):
        return
    quiet = subprocess.DEVNULL
    command = [sys.executable, "-P", "-c", OTHER_HALF]  # not what lies in the working folder
    with subprocess.Popen(command, stdin=quiet, stdout=quiet, stderr=quiet):
        import jobprep.nesting.kernels  # noqa: F401  # importing compiles it
