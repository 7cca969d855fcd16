"""A small workshop to break: a job, a run of it, a ledger; and what must stay whole in it."""

from __future__ import annotations

import hashlib
import tomllib
from pathlib import Path

from jobprep.files.ledger.on_disk import history, read_ledger
from jobprep.stock.ledger import Ledger

DESIGN = """\
format = 1
name = "Pier lamp"
outer_diameter = 80.0
bore = { diameter = 6.35 }
hub_diameter = 20.0
[[layer]]
name = "front"
film = "amber"
[[layer]]
name = "colour"
inner_diameter = 24.0
sector = [{ film = "green", degrees = 120 }, { film = "none", degrees = 240 }]
"""

JOB = """\
format = 1
title = "Pier lamps"
cutter = "bench-co2"
[[disc]]
design = "pier.toml"
copies = 2
[nesting]
evaluations = 60
[leftovers]
smallest_side = 40
"""

POINTS = """\
kind,x,y,label
y,up
diameter,100
rim,50,0,
rim,0,50,
rim,-50,0,
rim,0,-50,
rim,35.36,35.36,
bore,4,0,
bore,0,4,
bore,-4,0,
bore,0,-4,
separation,20,0,amber
separation,40,0,amber
separation,0,20,green
separation,0,40,green
"""

PLAN = ("plan", "job.toml", "--out", "run")
RECUT = ("recut", "run", "--kerf", "amber=0.3", "--out", "again")
BOOK = ("stock", "book", "run", "--spoiled", "1", "--spoiled-job", "spoiled.toml")
FILL = ("fill", "job.toml", "--out", "filled")
PRINT = ("print", "run", "--out", "printed")
MEASURE = ("measure", "points", "points.csv", "--out", "measured.toml")
QUICK = {"plan": PLAN, "recut": RECUT, "book": BOOK, "print": PRINT, "measure": MEASURE}
COMMANDS = QUICK | {"fill": FILL}


def furnish(folder: Path) -> None:
    """Write the files of the workshop, without run and ledger."""
    (folder / "pier.toml").write_text(DESIGN)
    (folder / "job.toml").write_text(JOB)
    (folder / "points.csv").write_text(POINTS)


def tree(folder: Path) -> dict[str, bytes]:
    """Return every file by name, but the ledger's lock, which stays."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.suffix != ".lock"
    }


def hidden(folder: Path) -> list[str]:
    """Return what lies there under a hidden name."""
    return [path.name for path in folder.rglob(".*")]


def assert_run_is_whole(run: Path) -> None:
    """Check that a run's folder holds just the files that its record lists, as they were."""
    listed = {
        row["file"]: row["sha256"]
        for row in tomllib.loads((run / "run.toml").read_text())["outputs"]
    }
    files = tree(run)
    assert set(files) == set(listed)
    for name, content in files.items():
        if name != "run.toml":
            assert hashlib.sha256(content).hexdigest() == listed[name], name


def assert_all_is_whole(folder: Path, before: dict[str, bytes]) -> None:
    """Check that whatever a command has touched is as it was before, or new and complete."""
    for run in ("run", "again", "filled"):
        if any(name.startswith(f"{run}/") for name in before):
            assert (folder / run).is_dir(), f"{run} is gone"
        if (folder / run).exists():
            assert_run_is_whole(folder / run)
    for pdf in folder.glob("printed/*.pdf"):
        assert pdf.read_bytes().startswith(b"%PDF"), pdf
        assert pdf.read_bytes().rstrip().endswith(b"%%EOF"), pdf
    for name in ("measured.toml", "spoiled.toml"):
        if (folder / name).exists():
            tomllib.loads((folder / name).read_text())
    for name in ("job.toml", "pier.toml", "points.csv"):
        assert (folder / name).read_bytes() == before[name]
    is_booked = bool(ledger(folder).booked)
    assert (folder / "spoiled.toml").exists() == is_booked


def ledger(folder: Path) -> Ledger:
    """Return the ledger, whose journal must tell the same."""
    path = folder / "stock.toml"
    found = read_ledger(path)
    assert len(history(path)) >= len(found.booked)
    return found
