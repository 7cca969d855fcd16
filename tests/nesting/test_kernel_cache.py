"""Compiled kernels are renewed when any of their sources changes, and kept when none does."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

from jobprep.nesting import kernel_cache
from jobprep.nesting.first_use import is_compiled

NESTING = Path(kernel_cache.__file__).parent

INNER = '''"""An inner kernel."""

from jobprep.nesting.kernels_inner import inner


@inner("f8(f8)")
def grown(x):
    return x + {step}
'''

OUTER = '''"""A kernel that holds an inner one."""

from jobprep.nesting.kernels_grown import grown
from jobprep.nesting.kernels_inner import kernel


@kernel("f8(f8)")
def twice(x):
    return grown(grown(x))


print(twice(1.0), sum(twice.stats.cache_hits.values()))
'''


@pytest.fixture(params=["beside the sources", pytest.param("elsewhere", marks=pytest.mark.slow)])
def package(
    request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Path:
    """Make a package of our own way to compile and two small kernels, its cache here or there."""
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)
    if request.param == "elsewhere":
        monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "cache"))
    nesting = tmp_path / "jobprep" / "nesting"
    nesting.mkdir(parents=True)
    for folder in (nesting, nesting.parent):
        (folder / "__init__.py").touch()
    for name in ("kernel_cache.py", "kernels_inner.py", "kernels_place.py"):
        (nesting / name).write_bytes((NESTING / name).read_bytes())
    (nesting / "kernels_grown.py").write_text(INNER.format(step="1.0"))
    (nesting / "kernels_twice.py").write_text(OUTER)
    return tmp_path


def run(package: Path) -> tuple[float, int]:
    """Return what the outer kernel makes of 1 in a new process, and how often it was cached."""
    done = subprocess.run(
        [sys.executable, "-m", "jobprep.nesting.kernels_twice"],
        cwd=package,
        env={**os.environ, "PYTHONPATH": str(package)},
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    value, hits = done.stdout.split()
    return float(value), int(hits)


def test_an_edited_inner_kernel_is_noticed(package: Path) -> None:
    assert run(package) == (3.0, 0)
    assert run(package) == (3.0, 1)
    (package / "jobprep" / "nesting" / "kernels_grown.py").write_text(INNER.format(step="2.0"))
    assert run(package) == (5.0, 0)
    assert run(package) == (5.0, 1)


def test_compiled_kernels_load_without_the_compiler() -> None:
    import jobprep.nesting.kernels
    import jobprep.nesting.kernels_field
    import jobprep.nesting.kernels_raster  # noqa: F401

    if not is_compiled():
        pytest.skip("compiled kernels cannot be kept here")
    names = "kernels, kernels_field, kernels_raster"
    code = f"import sys; from jobprep.nesting import {names}; print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=120
    )
    loaded = done.stdout.split()
    assert "numba.core.caching" in loaded
    # one is imported to compile anything, the other by what a kernel may be made of
    assert not {"numba.np.linalg", "numba.np.arraymath"}.intersection(loaded)


def test_kernels_take_nothing_from_files_that_are_not_watched() -> None:
    watched = {path.stem for pattern in kernel_cache.SOURCES for path in NESTING.glob(pattern)}
    for path in NESTING.glob("kernels*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("jobprep"):
                assert (node.module or "").rpartition(".")[2] in watched | {"kernel_cache"}, path


def test_a_cache_that_cannot_be_written_is_left_alone(tmp_path: Path) -> None:
    kernel_cache.forget_stale(tmp_path / "missing")
    assert not kernel_cache.is_fresh(tmp_path / "missing")
