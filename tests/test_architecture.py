"""The house reads one way: the import contract of pyproject.toml holds, a name means one thing."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from importlinter import cli

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "jobprep"


def test_import_contract_holds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    assert cli.lint_imports(no_cache=True) == cli.EXIT_STATUS_SUCCESS


FACTORS = {60, 3600, 1000, 25.4}
"""Minutes, hours, thousands and inches."""
IN_DEGREES = {"light/difference.py": "CIEDE2000 is published in degrees, of hue"}
"""Module -> why it counts in degrees inside."""


def _conversions(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult | ast.Div | ast.FloorDiv):
            sides = (node.left, node.right)
            numbers = {side.value for side in sides if isinstance(side, ast.Constant)}
            half_turn = 180 in numbers and any("pi" in ast.unparse(side) for side in sides)
            if numbers & FACTORS or half_turn:
                yield f"{node.lineno}: {ast.unparse(node)}"
        elif isinstance(node, ast.Attribute) and node.attr in ("radians", "degrees"):
            if ast.unparse(node.value) in ("math", "np"):
                yield f"{node.lineno}: {ast.unparse(node)}"
        elif isinstance(node, ast.Call) and ast.unparse(node.func) == "divmod":
            if ast.unparse(node.args[1]) == "60":
                yield f"{node.lineno}: {ast.unparse(node)}"


def test_only_units_converts() -> None:
    found = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        name = path.relative_to(PACKAGE).as_posix()
        conversions = list(_conversions(path))
        if name in (*IN_DEGREES, "units.py"):
            assert conversions, f"{name} converts nothing; take it off the list"
        elif conversions:
            found[name] = conversions
    assert not found, f"convert in jobprep/units.py: {found}"


ONE_FILE = {
    "rectpack": "printing/lay_out.py",
    "svgelements": "geometry/svg_path_data.py",
    "toml": "toml_text.py",
    "tomlkit": "files/toml/edit.py",
}
"""Libraries that are seldom looked after, or that others could replace: the only file of each."""


def test_a_library_that_may_have_to_go_stands_behind_one_file() -> None:
    found: dict[str, set[str]] = {name: set() for name in ONE_FILE}
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            for name in {each.partition(".")[0] for each in names} & set(ONE_FILE):
                found[name].add(path.relative_to(PACKAGE).as_posix())
    assert found == {name: {file} for name, file in ONE_FILE.items()}


def test_no_two_classes_share_a_name() -> None:
    """A word means one thing: whoever reads a class's name knows which it is."""
    homes: dict[str, list[str]] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                homes.setdefault(node.name, []).append(str(path.relative_to(PACKAGE)))
    shared = {name: files for name, files in homes.items() if len(files) > 1}
    assert not shared, f"one name each, or one class: {shared}"
