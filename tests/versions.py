"""Install the wheel with the oldest and the newest dependencies on each Python, and try it out.

    python tests/versions.py                       five environments
    python tests/versions.py --all                 all six, for a release
    python tests/versions.py --only 3.13 lowest    one of them
    python tests/versions.py --may-lack 3.12       where a Python is not installed

Each environment runs the tests that tell most about the libraries and plans an example twice: the
search is compiled, then loaded. In the last one it is planned once more where neither the
installation can be written nor any folder to keep the search in. Plans have a budget of spots
instead of seconds, so all must be the same.

The oldest versions are the least that ``pyproject.toml`` declares of every direct dependency;
what those need is as new as they allow. Interpreters are looked for on the path, then among those
of pyenv.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import stat
import subprocess
import tomllib
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import NamedTuple

from packaging.requirements import Requirement

ROOT = Path(__file__).parent.parent
PYTHONS = ("3.11", "3.12", "3.13")
SETS = ("lowest", "newest")
PAIRS = (
    ("3.11", "lowest"),
    ("3.11", "newest"),
    ("3.12", "newest"),
    ("3.13", "lowest"),
    ("3.13", "newest"),
)
"""Each Python and each set, all but one; what lies between them is ``.ci/constraints.txt``."""

EXTRAS = ("photo", "dxf", "pdf", "hub")
AS_SOURCE = ("rectpack",)
"""Pure Python, published without wheels; all else must need no compiler."""

TOOLS = ("hypothesis", "packaging", "pyclipper", "pypdf", "pytest", "svgpathtools")
"""What the tests need besides, always the newest."""

TESTS = (
    "drawing/test_dxf.py",  # ezdxf reads what is written
    "drawing/test_svg.py",
    "files/test_edit.py",  # tomlkit
    "files/test_json_schema.py",  # pydantic
    "files/test_ledger.py",  # filelock, toml
    "files/test_read_job.py",
    "geometry/test_read_dxf.py",  # ezdxf
    "geometry/test_read_svg.py",  # svgelements
    "nesting/test_check.py",  # shapely
    "nesting/test_strip.py",  # numba, numpy
    "printing/test_lay_out.py",  # rectpack
    "printing/test_print_pdf.py",  # reportlab, pillow
    "test_cli_disc.py",  # click, rich
)

EXAMPLE = Path("examples", "01-aurora-wheel", "job.toml")
EVALUATIONS = 20_000
NOT_KEPT = "The compiled search cannot be kept"


class Environment(NamedTuple):
    """One Python with one set of versions, and whether all of it is to be read only."""

    python: str
    versions: str
    is_read_only: bool

    def __str__(self) -> str:
        read_only = ", read only" if self.is_read_only else ""
        return f"Python {self.python}, {self.versions} versions{read_only}"


class Failed(Exception):
    """What went wrong in an environment."""


def lowest(declared: str) -> str:
    """Return a dependency pinned to the least version that it allows, where it is needed at all."""
    need = Requirement(declared)
    floors = [each.version for each in need.specifier if each.operator == ">="]
    if len(floors) != 1:
        raise Failed(f"{declared}: name one least version")
    marker = f"; {need.marker}" if need.marker else ""
    return f"{need.name}=={floors[0]}{marker}"


def pins() -> list[str]:
    """Return every direct dependency at its least version."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = (project["optional-dependencies"][extra] for extra in EXTRAS)
    declared = {*project["dependencies"], *(each for extra in extras for each in extra)}
    return sorted(map(lowest, declared))


def interpreter(python: str) -> Path | None:
    """Return a working interpreter of a version, None where there is none."""
    pyenv = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv"), "versions")
    named = (shutil.which(name) for name in (f"python{python}", "python3", "python"))
    kept = sorted(pyenv.glob(f"{python}.*/bin/python"), reverse=True)
    for path in (*map(Path, filter(None, named)), *kept):
        code = "import sys; print('%d.%d' % sys.version_info[:2])"
        done = subprocess.run([path, "-c", code], capture_output=True, text=True, check=False)
        if done.stdout.strip() == python:
            return path
    return None


def run(
    words: Sequence[str | Path], cwd: Path, home: Path | None = None
) -> subprocess.CompletedProcess[str]:
    """Run a program to its end; with a home folder of its own nothing else names a place to it."""
    environment = {
        name: value
        for name, value in os.environ.items()
        if not name.startswith(("NUMBA_", "PYTHON", "XDG_")) and name != "VIRTUAL_ENV"
    }
    if home is not None:
        environment["HOME"] = str(home)
    done = subprocess.run(
        words, cwd=cwd, env=environment, capture_output=True, text=True, check=False, timeout=1800
    )
    if done.returncode != 0:
        command = " ".join(map(str, words[:4]))
        raise Failed(f"{command} ... ended with {done.returncode}\n{done.stdout}{done.stderr}")
    return done


def workplace(folder: Path) -> Path:
    """Copy what tests and plans need, without the sources: what is installed is to be tried out."""
    for name in ("tests", "examples", "materials"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", folder)
    job = folder / EXAMPLE
    text, count = re.subn(
        r"^evaluations = .*$",
        f"evaluations = {EVALUATIONS}",
        job.read_text(encoding="utf-8"),
        flags=re.M,
    )
    if count != 1:
        raise Failed(f"{EXAMPLE}: gives no evaluations to replace")
    job.write_text(text, encoding="utf-8")
    return folder


def install(environment: Environment, python: Path, wheel: Path, folder: Path) -> Path:
    """Install the wheel with a set of versions; return the folder of programs."""
    run([python, "-m", "venv", folder], ROOT)
    programs = folder / "bin"
    constraints = folder / "lowest.txt"
    constraints.write_text("\n".join(pins() if environment.versions == "lowest" else []))
    extras = ",".join(EXTRAS)
    pip = [programs / "python", "-m", "pip", "install", "-q", "--disable-pip-version-check"]
    built = ["--only-binary", ":all:", "--no-binary", ",".join(AS_SOURCE)]
    run([*pip, *built, "-c", constraints, f"{wheel}[{extras}]", *TOOLS], ROOT)
    return programs


def planned(programs: Path, place: Path, home: Path) -> tuple[dict[str, bytes], str]:
    """Plan the example; return its drawings and what was said beside it."""
    with TemporaryDirectory(dir=place) as folder:
        out = Path(folder, "run")
        done = run([programs / "jobprep", "plan", EXAMPLE, "--out", out], place, home)
        return {path.name: path.read_bytes() for path in sorted(out.glob("*.svg"))}, done.stderr


def test(environment: Environment, programs: Path, place: Path, home: Path) -> None:
    """Run the tests; an old library may use what is deprecated in a newer one that it needs."""
    tests = [f"tests/{name}" for name in TESTS]
    quick = ["-q", "-p", "no:cacheprovider", "-m", "not slow", "--hypothesis-profile", "short"]
    quick += ["-o", "addopts=--strict-markers --import-mode=importlib"]  # in one process
    old = ["-W", "ignore::DeprecationWarning"] if environment.versions == "lowest" else []
    run([programs / "pytest", *quick, *old, *tests], place, home)


def kept_search(programs: Path, place: Path, home: Path) -> dict[str, bytes]:
    """Plan twice: the second plan must load the search that the first compiled."""
    drawings, said = planned(programs, place, home)
    kept = sorted((home / ".cache" / "jobprep" / "kernels").rglob("*.kernel"))
    times = [path.stat().st_mtime_ns for path in kept]
    again, said_again = planned(programs, place, home)
    if said or said_again:
        raise Failed(f"said while planning: {said}{said_again}")
    if not kept or times != [path.stat().st_mtime_ns for path in kept]:
        raise Failed("the search that the first plan compiled was not loaded by the second")
    if again != drawings:
        raise Failed("a compiled search and the same one loaded plan differently")
    return drawings


def unkept_search(programs: Path, place: Path, installed: Path) -> dict[str, bytes]:
    """Plan where nothing can be written but the run, and see that nothing was."""
    home = place / "no-folder"
    home.touch()
    paths = [installed, *installed.rglob("*")]
    before = {path: path.lstat().st_mtime_ns for path in paths}
    modes = {path: path.stat().st_mode for path in paths if not path.is_symlink()}
    try:
        for path, mode in modes.items():
            path.chmod(mode & ~(stat.S_IWUSR | stat.S_IWGRP | stat.S_IWOTH))
        drawings, said = planned(programs, place, home)
    finally:
        for path, mode in modes.items():
            path.chmod(mode)
    if said.count(NOT_KEPT) != 1:
        raise Failed(f"that the search cannot be kept should be said once, not: {said!r}")
    if {path: path.lstat().st_mtime_ns for path in (installed, *installed.rglob("*"))} != before:
        raise Failed("something was written into the installation")
    return drawings


def tried(
    environment: Environment, python: Path, wheel: Path, place: Path
) -> tuple[dict[str, bytes], str]:
    """Try an environment out; return the example's drawings, and a line about it."""
    with TemporaryDirectory(prefix="versions-") as temporary:
        folder = Path(temporary, "installed")
        programs = install(environment, python, wheel, folder)
        home = Path(temporary, "home")
        home.mkdir()
        test(environment, programs, place, home)
        drawings = kept_search(programs, place, home)
        if environment.is_read_only and unkept_search(programs, place, folder) != drawings:
            raise Failed("a search compiled in memory plans differently")
        names = "from importlib.metadata import version as v; print(v('numba'), v('numpy'))"
        numba, numpy = run([programs / "python", "-c", names], place).stdout.split()
        return drawings, f"{environment}: numba {numba}, numpy {numpy}"


def failures(
    environments: Sequence[Environment], pythons: dict[str, Path], wheel: Path, place: Path
) -> Iterator[str]:
    """Try the environments out, some at a time; yield what goes wrong, print how it goes."""
    first: dict[str, bytes] = {}
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        tries = {
            environment: pool.submit(tried, environment, pythons[environment.python], wheel, place)
            for environment in environments
        }
        for environment, each in tries.items():
            try:
                drawings, line = each.result()
            except Failed as error:
                yield f"{environment}: {error}"
                continue
            print(line, flush=True)
            first = first or drawings
            if drawings != first or not drawings:
                yield f"{environment}: another plan than in the first environment"


def main() -> None:
    """Try out all environments; exit 1 if one fails, or a Python is not there that must be."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--all", action="store_true", help="every Python with both sets")
    parser.add_argument("--only", nargs=2, metavar=("PYTHON", "SET"), help="one environment")
    parser.add_argument("--may-lack", choices=PYTHONS, action="append", default=[])
    options = parser.parse_args()
    every = [(python, versions) for versions in SETS for python in PYTHONS]
    pairs = [tuple(options.only)] if options.only else every if options.all else list(PAIRS)
    if not set(pairs) <= set(every):
        parser.error(f"--only: a Python of {', '.join(PYTHONS)}, then {' or '.join(SETS)}")
    found = {python: interpreter(python) for python, _ in pairs}
    lacking = [python for python, path in found.items() if path is None]
    for python in lacking:
        print(f"Python {python} was not found on the path, nor among those of pyenv", flush=True)
    pythons = {python: path for python, path in found.items() if path is not None}
    pairs = [pair for pair in pairs if pair[0] in pythons]
    environments = [Environment(*pair, is_read_only=pair == pairs[-1]) for pair in pairs]
    failed = sum(python not in options.may_lack for python in lacking)
    with TemporaryDirectory(prefix="versions-") as folder:
        if pythons:
            wheel = build(next(iter(pythons.values())), Path(folder))
            place = workplace(Path(folder, "place"))
            for failure in failures(environments, pythons, wheel, place):
                failed += 1
                print(failure, flush=True)
    print(f"{len(environments)} environments, {failed} failures")
    raise SystemExit(failed > 0 or not environments)


def build(python: Path, folder: Path) -> Path:
    """Build the wheel."""
    run([python, "-m", "venv", folder / "build"], ROOT)
    pip = [folder / "build/bin/python", "-m", "pip", "wheel", "-q", "--disable-pip-version-check"]
    run([*pip, "--no-deps", "-w", folder, ROOT], ROOT)
    (wheel,) = folder.glob("jobprep-*.whl")
    return wheel


if __name__ == "__main__":
    main()
