"""Compile the kernels on two processors the first time they are used.

Compiling takes most of a first run. Compiled kernels are kept, so this happens once after
installing; the two halves do not need each other. Where nothing can be kept, every start compiles
everything again.
"""

from __future__ import annotations

import subprocess
import sys
import time

from jobprep.nesting.kernel_place import kernel_place

SEARCH = "jobprep.nesting.kernels"
OTHER_HALF = "import jobprep.nesting.kernels_raster, jobprep.nesting.kernels_field"


def is_compiled() -> bool:
    """Whether the search is compiled already."""
    if SEARCH in sys.modules:
        return True
    folder = kernel_place().folder
    return folder is not None and any(folder.glob("kernels.separate-*"))


def load_filling() -> None:
    """Load the kernels that fill sheets, and compile them if need be."""
    import jobprep.nesting.kernels_field
    import jobprep.nesting.kernels_raster  # noqa: F401


def seconds_to_load_search() -> float:
    """Load the search, compile it if need be, and return how long that took, s."""
    started = time.monotonic()
    import jobprep.nesting.kernels  # noqa: F401

    return time.monotonic() - started


def compile_side_by_side() -> None:
    """Fill an empty place for kernels from two processes; do nothing without one or when filled.

    This process compiles whatever is still missing when the other fails.
    """
    if is_compiled() or kernel_place().folder is None or not sys.executable:
        return
    quiet = subprocess.DEVNULL
    command = [sys.executable, "-P", "-c", OTHER_HALF]  # not what lies in the working folder
    with subprocess.Popen(command, stdin=quiet, stdout=quiet, stderr=quiet):
        import jobprep.nesting.kernels  # noqa: F401  # importing compiles it
