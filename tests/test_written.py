"""Files that an earlier version wrote stay readable, recuttable and bookable.

``written/first`` was made by version 0.1.0 and is never made again: nine runs with their jobs and
designs, a workshop whose ledger has booked two runs, and files of measurements. ``written/second``
was made when records still had format 1 and said already whether a run is whole: every field of a
job and a design, some parts cut again, stock too short for all parts, and a workshop.
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
import written_outputs
from commands import done
from run_checks import assert_film_left
from written_outputs import kept_jobs
from written_outputs import name_of as written_outputs_name
from written_run import Recorded

from jobprep.files.materials.printer import read_printer
from jobprep.files.measurements.corrections import read_corrections
from jobprep.files.measurements.points import read_points
from jobprep.files.measurements.readings import read_readings
from jobprep.units import from_degrees

WRITTEN = Path(__file__).parent / "written"
RUNS = sorted(WRITTEN.glob("*/*/*run/run.toml"))
JOBS = sorted(
    path
    for path in WRITTEN.glob("*/*/*.toml")
    if {"disc", "part"} & tomllib.loads(path.read_text()).keys()
)
LEDGERS = sorted(WRITTEN.glob("*/workshop/stock.toml"))


def name_of(path: Path) -> str:
    return path.relative_to(WRITTEN).parent.as_posix()


def raw(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def test_there_is_something_to_read():
    assert len(RUNS) >= 18
    assert len(JOBS) >= 15
    assert len(LEDGERS) >= 2


@pytest.mark.parametrize("path", JOBS, ids=lambda path: f"{name_of(path)}/{path.stem}")
def test_jobs_and_designs_are_read(path: Path):
    done("check", path)


@pytest.mark.slow
@pytest.mark.parametrize("path", RUNS, ids=name_of)
def test_runs_are_cut_again(path: Path, tmp_path: Path):
    """Every placement recorded is placed again, on the old kerf and on another one.

    A nest is kept while the web asked for, or the least of its film, stands between slots.
    """
    record = raw(path)
    asked, films = record["job"]["nesting"]["web"], record["job"]["films"]
    wanted = Counter(row["part"] for row in record["placements"])
    film, kerf = next(iter(record["job"]["kerf"].items()))
    for name, options in (
        ("same", ()),
        ("wider", ("--kerf", f"{film}={kerf + 0.01:g}")),
    ):
        out = tmp_path / name
        told = json.loads(
            done("recut", path, "--recorded", "--json", "--out", out, *options).stdout
        )
        again = raw(out / "run.toml")
        for row in told["films"]:
            if row["nest_kept"]:
                least = min(asked, films[row["film"]]["least_web"])
                assert row["web_left_mm"] > least - 1e-5
                assert_film_left(Recorded(out), row)
            else:
                assert row["why"].startswith("with a kerf of ")
        assert Counter(row["part"] for row in again["placements"]) == wanted
        assert again["job"]["title"] == record["job"]["title"]


@pytest.mark.slow
@pytest.mark.parametrize("job", kept_jobs(), ids=written_outputs_name)
def test_kept_jobs_give_what_they_gave(job: Path):
    """Regression only: see ``written_outputs.py`` for when a digest may change.

    In a process of its own, as a command runs.
    """
    words = [sys.executable, written_outputs.__file__, written_outputs.name_of(job)]
    found = subprocess.run(words, capture_output=True, text=True, check=False)
    assert (found.stdout, found.returncode) == ("nothing has changed\n", 0), found.stderr


@pytest.mark.parametrize("path", LEDGERS, ids=name_of)
def test_ledgers_are_kept_on(path: Path, tmp_path: Path):
    """A run planned then can be booked now; undone, the shelf is as it was."""
    shop = tmp_path / "shop"
    shutil.copytree(path.parent, shop)
    ledger = shop / "stock.toml"
    before = raw(ledger)
    done("stock", "list", "--stock", ledger)
    done("stock", "book", shop / "summer-run", "--stock", ledger, "--date", "2026-12-01")
    booked = raw(ledger)
    assert len(booked["booked"]) == len(before["booked"]) + 1
    assert booked["piece"] != before["piece"]
    done("stock", "undo", "--stock", ledger)
    again = raw(ledger)
    assert again["piece"] == before["piece"]
    assert again["booked"] == before["booked"]
    # Undoing on takes back what was booked then.
    done("stock", "undo", "--stock", ledger)
    assert len(raw(ledger).get("booked", ())) == len(before["booked"]) - 1
    done("stock", "rebuild", "--stock", ledger)


@pytest.mark.parametrize(
    "path", sorted(WRITTEN.glob("*/measured/lens.*")), ids=lambda path: path.name
)
def test_points_are_read(path: Path):
    points = read_points(path)
    assert points.diameter == 120
    assert [tuple(point) for point in points.of("separation", "green")] == [(1000, 500)]
    assert len(points.of("rim")) == 4


def test_other_measurements_are_read():
    folder = WRITTEN / "first" / "measured"
    readings = read_readings(folder / "readings.csv")
    assert [each.reading for each in readings.readings] == [78.72, 78.7, 78.72, 79.84, 79.84]
    corrections = read_corrections(folder / "corrections.toml")
    assert corrections.diameter == 120
    assert corrections.zero == from_degrees(12.5)
    assert corrections.add_edges == (from_degrees(44.5), from_degrees(180))
    assert corrections.remove_holes
    assert tuple(read_printer(folder / "printer.toml")) == (1.0042, 0.998)
