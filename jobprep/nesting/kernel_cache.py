"""Keep compiled kernels on disk, and compile each once: all that touches private parts of numba.

Without this file, and the lines in ``kernels_inner`` that call it, kernels would do the same but be
compiled at every start, and take longer.

numba makes every function into optimised machine code, then takes the code of all functions that
it calls into the caller's, and optimises that again. Of kernels within kernels only the outermost
is ever run, so the others are handed on as they are.
"""

from __future__ import annotations

import gc
import hashlib
import os
import pickle
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from numba.core import sigutils
from numba.core.caching import NullCache
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompileResult
from numba.core.compiler_lock import global_compiler_lock
from numba.core.runtime.nrt import rtsys
from numba.core.serialize import dumps

from jobprep.nesting.kernel_place import kernel_place

ENDING = ".kernel"

OBJECTS = 100_000
"""New objects after which Python looks for unused ones while a kernel is compiled. Most of
them stay in use, so that looking after every 700 takes a quarter of the time; never looking takes
another 160 MB."""

_dumps: Any = dumps
_sigutils: Any = sigutils
_rebuild: Any = CompileResult._rebuild


class _KernelCache(NullCache):
    """One function's compiled kernels, a file for each signature and processor.

    They load without setting up the compiler, which takes longer than loading. numba's own cache
    sets it up before it looks for a kernel. A loaded kernel needs only the counting of references.
    """

    def __init__(self, name: str, folder: Path) -> None:
        self._name = name
        self._folder = folder

    @property
    def cache_path(self) -> str:
        return str(self._folder)

    def load_overload(self, sig: object, target_context: Any) -> Any:
        rtsys.initialize(target_context)
        # A file that is missing or damaged is compiled again.
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
    """Return a compiled function that loads its kernels from the disk, and keeps new ones there."""
    if _place.folder is not None:
        function = dispatcher.py_func
        name = f"{function.__module__.rpartition('.')[2]}.{function.__name__}"
        dispatcher._cache = _KernelCache(name, _place.folder)
    return dispatcher


class _PartLibrary(JITCodeLibrary):
    """Code that other kernels include as it is; becomes machine code only when asked for."""

    _is_whole = False

    def _optimize_final_module(self) -> None:
        pass

    def _finalize_final_module(self) -> None:
        whole: Any = super()
        whole._finalize_dynamic_globals()
        self._finalized = True

    def get_pointer_to_function(self, name: str) -> Any:
        whole: Any = super()
        if not self._is_whole:
            self._is_whole = True
            whole._get_module_for_linking()  # a copy, where others take it from as before
            whole._optimize_final_module()
            whole._finalize_final_module()
        return whole.get_pointer_to_function(name)


class _Part:
    """Stands for the machine code that a kernel within others does not have."""


_compiling: list[Any] = []
"""The kernels being compiled, each within the one before."""


def joined(dispatcher: Any) -> Any:
    """Return a function to be compiled that becomes part of each kernel that calls it.

    Called from Python it is compiled for itself.
    """
    compile_whole = dispatcher.compile

    def compile(sig: Any) -> Any:
        with global_compiler_lock:
            args = tuple(_sigutils.normalize_signature(sig)[0])
            done = dispatcher.overloads.get(args)
            if done is None and _compiling:
                done = dispatcher.overloads[args] = _compiled_part(dispatcher, args)
            elif done is not None and isinstance(done.entry_point, _Part) and not _compiling:
                del dispatcher.overloads[args]
                done = None
            if done is not None:
                return done.entry_point
            _compiling.append(dispatcher)
            try:
                with _rarely_collected():
                    return compile_whole(sig)
            finally:
                _compiling.pop()

    dispatcher.compile = compile
    return dispatcher


def _compiled_part(dispatcher: Any, args: tuple[Any, ...]) -> Any:
    with _as_part(dispatcher):
        result = dispatcher._compiler.compile(args, None)._replace(entry_point=_Part())
    target = dispatcher.targetctx
    target.insert_user_function(result.entry_point, result.fndesc, [result.library])
    return result


@contextmanager
def _rarely_collected() -> Iterator[None]:
    """Have Python look for unused objects seldom."""
    before = gc.get_threshold()
    gc.set_threshold(max(OBJECTS, before[0]) if before[0] else 0, *before[1:])
    try:
        yield
    finally:
        gc.set_threshold(*before)


@contextmanager
def _as_part(dispatcher: Any) -> Iterator[None]:
    """Compile a kernel without machine code, and without the wrapper for calls from Python."""

    def customized(flags: Any) -> Any:
        flags.no_compile = flags.no_cpython_wrapper = flags.no_cfunc_wrapper = True
        return flags

    codegen = dispatcher.targetctx.codegen()
    before = codegen._library_class
    codegen._library_class = _PartLibrary
    dispatcher._compiler._customize_flags = customized
    try:
        yield
    finally:
        codegen._library_class = before
        del dispatcher._compiler._customize_flags
