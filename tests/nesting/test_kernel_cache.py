"""Compiled kernels are renewed when any of their sources changes, and kept when none does."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

from jobprep.nesting import kernel_place
from jobprep.nesting.kernel_place import NAMED

NESTING = Path(kernel_place.__file__).parent

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


@pytest.fixture
def package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Make a package of our own way to compile and two small kernels, and a place for them."""
    monkeypatch.setenv(NAMED, str(tmp_path / "cache"))
    nesting = tmp_path / "jobprep" / "nesting"
    nesting.mkdir(parents=True)
    for folder in (nesting, nesting.parent):
        (folder / "__init__.py").touch()
    for name in ("columns.py", "kernel_cache.py", "kernel_place.py", "kernels_inner.py"):
        (nesting / name).write_bytes((NESTING / name).read_bytes())
    (nesting / "kernels_grown.py").write_text(INNER.format(step="1.0"))
    (nesting / "kernels_twice.py").write_text(OUTER)
    return tmp_path


def run(package: Path) -> tuple[float, int]:
    """Return what the outer kernel makes of 1 in a new process, and how often it was cached."""
    kept = "PYTHONPYCACHEPREFIX"  # bytecode knows an edit by whole seconds
    without_bytecode = {name: value for name, value in os.environ.items() if name != kept}
    done = subprocess.run(
        [sys.executable, "-B", "-m", "jobprep.nesting.kernels_twice"],
        cwd=package,
        env={**without_bytecode, "PYTHONPATH": str(package)},
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    value, hits = done.stdout.split()
    return float(value), int(hits)


@pytest.mark.slow
def test_an_edited_inner_kernel_is_noticed(package: Path) -> None:
    assert run(package) == (3.0, 0)
    assert run(package) == (3.0, 1)
    (package / "jobprep" / "nesting" / "kernels_grown.py").write_text(INNER.format(step="2.0"))
    assert run(package) == (5.0, 0)
    assert run(package) == (5.0, 1)


@pytest.mark.slow
def test_a_damaged_kernel_is_compiled_again(package: Path) -> None:
    run(package)
    for number, path in enumerate(sorted(package.rglob("*.kernel"))):
        path.write_bytes(path.read_bytes()[: 100 * number])
    assert run(package) == (3.0, 0)
    assert run(package) == (3.0, 1)


@pytest.mark.slow
def test_where_nothing_may_be_kept_kernels_are_compiled_in_memory(package: Path) -> None:
    run(package)
    (package / "cache" / "jobprep").chmod(0o777)
    before = sorted(package.rglob("*.kernel"))
    assert run(package) == (3.0, 0)
    assert sorted(package.rglob("*.kernel")) == before


@pytest.mark.slow
def test_nothing_is_left_of_a_kernel_that_cannot_be_written(package: Path) -> None:
    """A folder in its place stops it, as a full disk would."""
    run(package)
    paths = sorted(package.rglob("*.kernel"))
    for path in paths:
        path.unlink()
        path.mkdir()
    assert run(package) == (3.0, 0)
    assert sorted(paths[0].parent.iterdir()) == paths


@pytest.mark.slow
def test_without_the_cache_the_kernels_do_the_same(package: Path) -> None:
    (package / "jobprep/nesting/kernel_cache.py").write_text(
        "def kept(function): return function\njoined = kept\n"
    )
    assert run(package) == (3.0, 0)
    assert run(package) == (3.0, 0)
    assert not any(package.rglob("*.kernel"))


WITHIN = '''"""A kernel that takes in two others, one within the other."""

from jobprep.nesting.kernels_inner import inner, kernel


@inner()
def grown(x):
    return max(x, 0.0) + 1.0


@inner()
def doubled(x):
    return 2.0 * grown(x)


@kernel("f8(f8)")
def outer(x):
    return doubled(x) + grown(x)


def codes(dispatcher):
    """Return whether each compiled form has machine code of its own."""
    return [callable(each.entry_point) for each in dispatcher.overloads.values()]


print(outer(1.0), codes(outer), codes(doubled), codes(grown))
print(doubled(1.0), grown(2.0), doubled(1), codes(doubled), outer(1.0))
'''


@pytest.mark.slow
def test_inner_kernels_become_part_of_the_outer_one_and_can_still_be_called(package: Path) -> None:
    """Machine code of their own took most of the time of compiling; nothing ever ran it."""
    (package / "jobprep/nesting/kernels_within.py").write_text(WITHIN)
    command = [sys.executable, "-m", "jobprep.nesting.kernels_within"]
    environment = {**os.environ, "PYTHONPATH": str(package)}
    said = [
        subprocess.run(
            command, cwd=package, env=environment, capture_output=True, text=True, check=True
        ).stdout.splitlines()
        for _ in range(2)
    ]
    assert said[0] == ["6.0 [True] [False] [False]", "4.0 3.0 4.0 [True, True] 6.0"]
    assert said[1] == ["6.0 [True] [] []", "4.0 3.0 4.0 [True, True] 6.0"]


OFFERED = ("numba.core", "numba.core.typing.templates")
"""Modules whose parts the page on adding a type uses: its sections on models and on lowering."""


def test_only_the_cache_touches_private_parts_of_numba() -> None:
    """But for what numba offers to those who add a type, which lies among its private parts."""
    for path in set(NESTING.parent.rglob("*.py")) - {NESTING / "kernel_cache.py"}:
        is_type = path == NESTING / "kernels_address.py"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                is_offered = is_type and node.module in OFFERED
                assert is_offered or not (node.module or "").startswith("numba."), path
            elif isinstance(node, ast.Import):
                assert not any(name.name.startswith("numba.") for name in node.names), path
            elif isinstance(node, ast.Attribute):
                assert node.attr != "_cache", path


def test_compiled_kernels_load_without_the_compiler() -> None:
    import jobprep.nesting.kernels
    import jobprep.nesting.kernels_field
    import jobprep.nesting.kernels_raster  # noqa: F401

    names = "kernels, kernels_field, kernels_raster"
    code = f"import sys; from jobprep.nesting import {names}; print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=120
    )
    loaded = done.stdout.split()
    assert "numba.core.dispatcher" in loaded
    # one is imported to compile anything, the other by what a kernel may be made of
    assert not {"numba.np.linalg", "numba.np.arraymath"}.intersection(loaded)


def test_kernels_take_nothing_from_files_that_are_not_watched() -> None:
    watched = {path.stem for pattern in kernel_place.SOURCES for path in NESTING.glob(pattern)}
    for path in NESTING.glob("kernels*.py"):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("jobprep"):
                assert (node.module or "").rpartition(".")[2] in watched, path
