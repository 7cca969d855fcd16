"""Print how much of each package the tests run, from coverage's JSON.

    pytest -m 'not slow' --hypothesis-profile short --cov=jobprep --cov-report=json
    python tests/package_coverage.py

Compiled kernels are left out: coverage cannot see into them.
"""

from __future__ import annotations

import argparse
import json
from collections import Counter
from pathlib import Path, PurePath


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("file", nargs="?", type=Path, default=Path("coverage.json"))
    files = json.loads(parser.parse_args().file.read_text(encoding="utf-8"))["files"]
    statements: Counter[str] = Counter()
    run: Counter[str] = Counter()
    for name, found in files.items():
        parts = PurePath(name).parts
        inside = parts[parts.index("jobprep") + 1 :]
        if inside[-1].startswith("kernels"):
            continue
        package = inside[0] if len(inside) > 1 else "top level"
        statements[package] += found["summary"]["num_statements"]
        run[package] += found["summary"]["covered_lines"]
    print("| Package | statements | run |\n|---|--:|--:|")
    for package in sorted(statements):
        print(f"| {package} | {statements[package]} | {run[package] / statements[package]:.1%} |")
    print(f"| all | {statements.total()} | {run.total() / statements.total():.1%} |")


if __name__ == "__main__":
    main()
