"""What ``import jobprep`` offers to other programs."""

from __future__ import annotations

import ast
import inspect
import subprocess
import sys
from pathlib import Path

import pytest

import jobprep


def test_every_public_name_can_be_had() -> None:
    for name in jobprep.__all__:
        found = getattr(jobprep, name)
        assert inspect.getdoc(found), f"{name} has no docstring"
        assert name in dir(jobprep)


def test_type_checkers_see_the_same_names_from_the_same_modules() -> None:
    tree = ast.parse(Path(jobprep.__file__).read_text(encoding="utf-8"))
    block = next(node for node in tree.body if isinstance(node, ast.If))
    seen = {
        alias.name: node.module
        for node in block.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    at_run_time = {name: home for home, names in jobprep._HOMES.items() for name in names}
    assert seen == at_run_time
    assert {*seen, "__version__"} == set(jobprep.__all__)


def test_unknown_name_is_an_attribute_error() -> None:
    with pytest.raises(AttributeError, match="no attribute 'nest'"):
        jobprep.nest  # noqa: B018


def test_importing_the_package_alone_loads_nothing_of_it() -> None:
    code = "import sys, jobprep; print(*(name for name in sys.modules if 'jobprep' in name))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["jobprep.version", "jobprep"]


def test_package_says_that_it_is_typed() -> None:
    assert Path(jobprep.__file__).with_name("py.typed").is_file()
