"""Change a module in small ways and see whether its tests notice.

    python tests/mutation/run.py                         every module of the list, a sample of each
    python tests/mutation/run.py cutting/kerf --all      every mutant of one module

The checkout is copied first, so nothing in it is touched. Only the quick tests of a module run,
first with few random examples, then with as many as ever, and end with the first that fails.
What survives is either missed by the tests or is named, with the reason why it makes no
difference, in ``explained.toml``; anything else makes the exit code 1.
"""

from __future__ import annotations

import argparse
import contextlib
import math
import os
import random
import resource
import shutil
import signal
import sys
import tempfile
import time
import tomllib
from collections import Counter
from pathlib import Path
from typing import NamedTuple

sys.path.insert(0, str(Path(__file__).parent))

from mutants import Mutant, mutants_of

ROOT = Path(__file__).parent.parent.parent
COPIED = ("jobprep", "materials", "examples", "tests", "pyproject.toml", "README.md")
GEOMETRY = "tests/geometry/test_"
TESTS = {
    "cutting/kerf": ("tests/cutting/test_kerf.py",),
    "geometry/offset": (f"{GEOMETRY}offset.py",),
    "geometry/boolean": (f"{GEOMETRY}boolean.py",),
    "geometry/arrangement": (f"{GEOMETRY}boolean.py", f"{GEOMETRY}offset.py"),
    "geometry/winding": (f"{GEOMETRY}boolean.py", f"{GEOMETRY}offset.py"),
    "geometry/rays": (f"{GEOMETRY}boolean.py", f"{GEOMETRY}offset.py"),
    "geometry/measure": (f"{GEOMETRY}measure.py",),
    "geometry/distance": (f"{GEOMETRY}distance.py",),
    "geometry/cuts": (f"{GEOMETRY}boolean.py", f"{GEOMETRY}offset.py"),
    "files/ledger/on_disk": ("tests/files/test_ledger.py",),
    "files/ledger/journal": ("tests/files/test_ledger_journal.py", "tests/files/test_ledger.py"),
    "stock/booking": ("tests/stock/test_ledger_changes.py",),
    "stock/ledger": ("tests/stock/test_ledger_changes.py", "tests/files/test_ledger.py"),
}
"""The quick tests of each module, the quickest first."""

LOADED = ("pytest", "hypothesis.strategies", "numpy", "shapely", "pydantic", "click.testing")
"""Imported once, so that every run of the tests need not."""

PROFILES = ("short", "fixed")
"""Of the random examples, see ``tests/conftest.py``."""

PATIENCE = 4.0
"""How many times the processor time of the tests without a change they may take, plus 5 s: with
more the mutant hangs."""

DEADLOCK = 900.0
"""A mutant that waits for this long, s, hangs too."""


def main() -> int:
    """Run the mutants asked for; return the exit code."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("modules", nargs="*", metavar="MODULE", help=", ".join(TESTS))
    parser.add_argument("--sample", type=int, default=60, help="mutants of each; default 60")
    parser.add_argument("--all", action="store_true", help="all mutants instead of a sample")
    parser.add_argument("--seed", type=int, default=1, help="of the sample; default 1")
    given = parser.parse_args()
    for name in LOADED:
        __import__(name)
    missed = 0
    with tempfile.TemporaryDirectory() as folder:
        tree = _copied(Path(folder))
        for module in given.modules or TESTS:
            missed += run_module(tree, module, None if given.all else given.sample, given.seed)
    return 1 if missed else 0


def run_module(tree: Path, module: str, sample: int | None, seed: int) -> int:
    """Run mutants of one module and print what survives; return how many are not explained."""
    path = tree / "jobprep" / f"{module}.py"
    source = path.read_text(encoding="utf-8")
    whole = _run(tree, TESTS[module], PROFILES[-1], 3600.0)
    if whole.outcome != "survived":
        raise SystemExit(f"{module}: its tests fail before anything is changed")
    limit = 5.0 + PATIENCE * whole.seconds
    every = list(mutants_of(source))
    chosen = every if sample is None else random.Random(seed).sample(every, min(sample, len(every)))
    outcomes: Counter[str] = Counter()
    missed = 0
    try:
        for mutant in sorted(chosen, key=lambda each: each.line):
            path.write_text(mutant.source, encoding="utf-8")
            for profile in PROFILES:
                outcome = _run(tree, TESTS[module], profile, limit).outcome
                if outcome != "survived":
                    break
            if outcome == "survived":
                reason = _reason(module, mutant)
                outcome = "explained" if reason else outcome
                missed += not reason
                what = f"{mutant.function or 'module'}: {mutant.change}"
                print(f"{module}:{mutant.line}: {what}  [{reason or 'not noticed'}]", flush=True)
            outcomes[outcome] += 1
    finally:
        path.write_text(source, encoding="utf-8")
    noticed = outcomes["failed"] + outcomes["hung"]
    print(
        f"{module}: {len(every)} mutants, {len(chosen)} run, {noticed} noticed"
        f" ({outcomes['hung']} hung), {outcomes['explained']} explained, {missed} missed:"
        f" {noticed / max(1, len(chosen) - outcomes['explained']):.0%}",
        flush=True,
    )
    return missed


def _copied(folder: Path) -> Path:
    for name in COPIED:
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("*.pyc"))
        else:
            shutil.copy(ROOT / name, folder / name)
    return folder


class _Ran(NamedTuple):
    """How tests went: ``survived`` where all passed, ``failed``, ``hung``; their processor time."""

    outcome: str
    seconds: float


def _run(tree: Path, tests: tuple[str, ...], profile: str, limit: float) -> _Ran:
    """Run tests in a child of this process that may use this much processor time, s."""
    child = os.fork()
    if child == 0:
        os.setsid()
        most = math.ceil(limit)
        resource.setrlimit(resource.RLIMIT_CPU, (most, most + 1))
        _run_tests(tree, tests, profile)
    deadline = time.monotonic() + DEADLOCK
    while True:
        done, status, used = os.wait4(child, os.WNOHANG)
        if done:
            code = os.waitstatus_to_exitcode(status)
            outcome = "survived" if code == 0 else "hung" if code < 0 else "failed"
            return _Ran(outcome, used.ru_utime + used.ru_stime)
        if time.monotonic() > deadline:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(child, signal.SIGKILL)
        time.sleep(0.02)


def _run_tests(tree: Path, tests: tuple[str, ...], profile: str) -> None:
    import pytest

    os.chdir(tree)
    os.environ["PYTHONPATH"] = str(tree)  # for tests that start processes of their own
    sys.path[:0] = [str(tree), str(tree / "tests")]
    sys.dont_write_bytecode = True
    silent = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silent, 1)
    os.dup2(silent, 2)
    options = ["-x", "-q", "-m", "not slow", "-p", "no:cacheprovider"]
    options += ["--hypothesis-profile", profile]
    options += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]  # modules loaded before
    code = 1
    try:
        code = int(pytest.main([*options, *tests]))
    finally:
        os._exit(code)


def _reason(module: str, mutant: Mutant) -> str:
    """Return why a mutant makes no difference, as ``explained.toml`` says, or nothing."""
    text = Path(__file__).with_name("explained.toml").read_text(encoding="utf-8")
    for row in tomllib.loads(text)["mutant"]:
        if (row["module"], row["function"]) == (module, mutant.function):
            if row["change"] == mutant.change:
                return str(row["why"])
    return ""


if __name__ == "__main__":
    raise SystemExit(main())
