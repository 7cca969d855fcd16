"""The house reads one way: the import contract of pyproject.toml holds, a name means one thing."""

import ast
from pathlib import Path

import pytest
from importlinter import cli

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "jobprep"


def test_import_contract_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    assert cli.lint_imports(no_cache=True) == cli.EXIT_STATUS_SUCCESS


def test_no_two_classes_share_a_name() -> None:
    """A word means one thing: whoever reads a class's name knows which it is."""
    homes: dict[str, list[str]] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                homes.setdefault(node.name, []).append(str(path.relative_to(PACKAGE)))
    shared = {name: files for name, files in homes.items() if len(files) > 1}
    assert not shared, f"one name each, or one class: {shared}"
