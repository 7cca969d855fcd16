"""How `versions.py` reads what it tries out; its environments take minutes."""

from __future__ import annotations

import sys
import tomllib

import pytest
import versions
from packaging.requirements import Requirement


@pytest.mark.parametrize(
    ("declared", "pinned"),
    [
        ("numba>=0.61,<0.69", "numba==0.61"),
        ("click>=8.2", "click==8.2"),
        ("numpy>=2.1; python_version >= '3.13'", 'numpy==2.1; python_version >= "3.13"'),
    ],
)
def test_the_least_version_is_pinned(declared: str, pinned: str) -> None:
    assert versions.lowest(declared) == pinned


@pytest.mark.parametrize("declared", ["numba", "numba<0.69", "numba==0.61"])
def test_a_dependency_without_a_least_version_is_refused(declared: str) -> None:
    with pytest.raises(versions.Failed, match="name one least version"):
        versions.lowest(declared)


def test_every_dependency_declares_a_least_version() -> None:
    names = {pin.partition("==")[0] for pin in versions.pins()}
    assert {"numba", "numpy", "scipy", "pillow", "reportlab", "manifold3d"} <= names


def test_an_interpreter_that_is_not_there_is_not_found() -> None:
    assert versions.interpreter("3.1") is None
    assert versions.interpreter("{}.{}".format(*sys.version_info[:2])) is not None


def test_every_test_that_is_to_be_run_is_there() -> None:
    assert all((versions.ROOT / "tests" / name).is_file() for name in versions.TESTS)


def test_tests_install_every_extra() -> None:
    """So that nothing that needs one goes untested, and that ``versions.EXTRAS`` has them all."""
    path = versions.ROOT / "pyproject.toml"
    extras = tomllib.loads(path.read_text("utf-8"))["project"]["optional-dependencies"]
    assert set(versions.EXTRAS) == set(extras) - {"dev"}
    needed = {Requirement(each).name for name in versions.EXTRAS for each in extras[name]}
    assert needed <= {Requirement(each).name for each in extras["dev"]}
