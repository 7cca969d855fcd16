"""Print what an installed jobprep without extras weighs, package by package, and why it is needed.

    python tests/dependency_sizes.py

Sizes are those of the files that each installed package's own record lists, compiled Python files
left out; reasons are the comments beside the dependencies in ``pyproject.toml``.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib.metadata import PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

PROJECT = Path(__file__).parent.parent / "pyproject.toml"
MB = 1e6


def reasons() -> dict[str, str]:
    """Return the reason of every core dependency by its name, as pyproject.toml gives it."""
    text = PROJECT.read_text(encoding="utf-8")
    (block,) = re.findall(r"^dependencies = \[\n(.*?)^\]", text, re.DOTALL | re.MULTILINE)
    rows = re.findall(r'^ *"(.*)",(?: +# (.*))?$', block, re.MULTILINE)
    return {canonicalize_name(Requirement(need).name): reason for need, reason in rows}


def needs(name: str) -> Iterator[str]:
    """Yield the packages that a package needs here, without extras, and all that those need."""
    for text in distribution(name).requires or ():
        need = Requirement(text)
        if need.marker is None or need.marker.evaluate({"extra": ""}):
            found = canonicalize_name(need.name)
            yield found
            yield from needs(found)


def size(name: str) -> int:
    """Return the bytes of a package's installed files."""
    paths = (path for path in distribution(name).files or () if path.suffix != ".pyc")
    located = (Path(str(path.locate())) for path in paths)
    return sum(path.stat().st_size for path in located if path.is_file())


def main() -> None:
    """Print the table; packages that several others need are counted with the first of them."""
    why = reasons()
    counted: set[str] = set()
    rows = []
    for name in sorted(why, key=size, reverse=True):
        brought = [each for each in dict.fromkeys(needs(name)) if each not in counted | why.keys()]
        counted.update((name, *brought))
        rows.append((size(name) + sum(map(size, brought)), name, brought, why[name]))
    print("| Package | MB | With it | Why |\n|---|--:|---|---|")
    for total, name, brought, reason in sorted(rows, reverse=True):
        print(f"| {name} | {total / MB:.1f} | {', '.join(brought)} | {reason} |")
    own = sum(path.stat().st_size for path in PROJECT.with_name("jobprep").rglob("*.py"))
    print(f"| jobprep | {own / MB:.1f} | | |")
    print(f"| all | {(own + sum(map(size, counted))) / MB:.0f} | {len(counted)} packages | |")


if __name__ == "__main__":
    try:
        main()
    except PackageNotFoundError as missing:
        raise SystemExit(f"{missing.name} is not installed: pip install . first") from None
