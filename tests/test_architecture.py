"""The house reads one way: the import contract of pyproject.toml holds."""

from pathlib import Path

import pytest
from importlinter import cli

ROOT = Path(__file__).parent.parent


def test_import_contract_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    assert cli.lint_imports(no_cache=True) == cli.EXIT_STATUS_SUCCESS
