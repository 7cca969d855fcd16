"""Keep compiled kernels on disk: all that touches private parts of numba.

Without this file, and the line in ``kernels_inner`` that calls it, kernels are compiled at every
start and do the same.
"""

from __future__ import annotations

import hashlib
import os
import pickle
from contextlib import suppress
from pathlib import Path
from typing import Any

from numba.core.caching import NullCache
from numba.core.compiler import CompileResult
from numba.core.runtime.nrt import rtsys
from numba.core.serialize import dumps

from jobprep.nesting.kernel_place import kernel_place

ENDING = ".kernel"

_dumps: Any = dumps
_rebuild: Any = CompileResult._rebuild


class _KernelCache(NullCache):
    """One function's compiled kernels, a file for each signature and processor.

    They load without setting up the compiler, which takes longer than they do. numba's own cache
    sets it up before it looks for a kernel. All that a loaded one needs is the counting of
    references.
    """

    def __init__(self, name: str, folder: Path) -> None:
        self._name = name
        self._folder = folder

    @property
    def cache_path(self) -> str:
        return str(self._folder)

    def load_overload(self, sig: object, target_context: Any) -> Any:
        rtsys.initialize(target_context)
        # What cannot be read, be it missing or damaged, is compiled again.
        with suppress(Exception):
            data = self._path(sig, target_context.codegen()).read_bytes()
            return _rebuild(target_context, *pickle.loads(data))
        return None

    def save_overload(self, sig: object, data: Any) -> None:
        if data.library.has_dynamic_globals:  # addresses that hold in this process only
            return
        path = self._path(sig, data.codegen)
        written = path.with_suffix(f".{os.getpid()}")
        with suppress(OSError):  # a full disk, say: it is compiled again next time
            try:
                written.write_bytes(_dumps(data._reduce()))
                written.replace(path)
            finally:
                written.unlink(missing_ok=True)

    def _path(self, sig: object, codegen: Any) -> Path:
        words = repr((str(sig), codegen.magic_tuple()))
        number = hashlib.sha256(words.encode()).hexdigest()[:16]
        return self._folder / f"{self._name}-{number}{ENDING}"


_place = kernel_place()


def kept(dispatcher: Any) -> Any:
    """Return a function to be compiled that takes what it can from the disk, and keeps the rest."""
    if _place.folder is not None:
        function = dispatcher.py_func
        name = f"{function.__module__.rpartition('.')[2]}.{function.__name__}"
        dispatcher._cache = _KernelCache(name, _place.folder)
    return dispatcher
