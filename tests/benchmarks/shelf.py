"""Measure what thousands of pieces on the shelf cost a command, beside the same with six.

    python tests/benchmarks/shelf.py                      5,000 pieces beside 6
    python tests/benchmarks/shelf.py --pieces 20000       another number
    python tests/benchmarks/shelf.py --keep DIR           leave the files there

A job of six rings, cut from a ledger of leftovers of mixed sizes and outlines: most rectangles,
some with a bite out of a corner or a hole, many too small for a ring. Each command runs in a
process of its own with compiled kernels; given are its processor time, user and system, and the
most memory it held.
"""

from __future__ import annotations

import argparse
import datetime
import os
import random
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from multiprocessing import Process
from pathlib import Path
from typing import NamedTuple

from jobprep.files.ledger.on_disk import change_ledger
from jobprep.model import Points, rectangle_points
from jobprep.stock.ledger import Piece, with_new_pieces
from jobprep.toml_text import toml_text

FEW, MANY = 6, 5000
EVALUATIONS = 20_000
"""Of the nest: little, since the search is measured elsewhere."""

COMMANDS = {
    "plan": ("plan", "job.toml", "--out", "run"),
    "estimate": ("estimate", "job.toml"),
    "check": ("check", "job.toml"),
    "stock list": ("stock", "list"),
    "stock list --json": ("stock", "list", "--json"),
    "stock add": ("stock", "add", "clear"),
}


class Cost(NamedTuple):
    """What a command took: s of processor time, and the most memory it held, MB."""

    seconds: float
    peak: float


def write_shelf(folder: Path, n_pieces: int, seed: int = 1) -> None:
    """Write a job of six rings into a new folder, and a ledger of leftovers beside it."""
    folder.mkdir(parents=True)
    job = {
        "format": 1,
        "title": "Six rings",
        "cutter": "bench-co2",
        "disc": [{"design": "ring.toml", "copies": 6}],
        "nesting": {"evaluations": EVALUATIONS},
    }
    design = {
        "format": 1,
        "name": "ring",
        "outer_diameter": 60.0,
        "bore": {"diameter": 40.0},
        "layer": [{"name": "ring", "film": "clear"}],
    }
    (folder / "job.toml").write_text(toml_text(job), encoding="utf-8")
    (folder / "ring.toml").write_text(toml_text(design), encoding="utf-8")
    draw, today = random.Random(seed), datetime.date(2026, 1, 1)
    pieces = [_leftover(draw, today) for _ in range(n_pieces)]
    change_ledger(
        folder / "stock.toml",
        "add",
        "shelf",
        today,
        lambda ledger, _: with_new_pieces(ledger, pieces),
    )


def _leftover(draw: random.Random, today: datetime.date) -> Piece:
    """Return a leftover: three in five too small for a ring, one in five no plain rectangle."""
    is_small = draw.random() < 0.6
    width = round(draw.uniform(20.0, 65.0) if is_small else draw.uniform(75.0, 400.0), 1)
    height = round(draw.uniform(20.0, 300.0) if is_small else draw.uniform(75.0, 300.0), 1)
    outline: Points = rectangle_points(width, height)
    defects: tuple[Points, ...] = ()
    kind = draw.randrange(10)
    if kind == 0:
        x, y = round(0.4 * width, 1), round(0.4 * height, 1)
        outline = ((0.0, 0.0), (width, 0.0), (width, y), (x, y), (x, height), (0.0, height))
    elif kind == 1:
        x, y = round(0.8 * width, 1), round(0.8 * height, 1)
        defects = (((x, y), (x + 3.0, y), (x + 3.0, y + 3.0), (x, y + 3.0)),)
    return Piece(
        id="",
        film="clear",
        kind="leftover",
        outline=outline,
        defects=defects,
        added=today,
        origin="Aurora wheels, spring, clear sheet 1",
    )


def cost(folder: Path, command: Sequence[str]) -> Cost:
    """Run a command of jobprep in a folder; return what it took."""
    child = subprocess.Popen(
        [sys.executable, "-m", "jobprep", *command],
        cwd=folder,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )
    assert child.stderr is not None
    said = child.stderr.read()
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    child.stderr.close()
    if child.returncode:
        raise SystemExit(f"jobprep {' '.join(command)}: {said.decode()}")
    return Cost(used.ru_utime + used.ru_stime, used.ru_maxrss / 1024.0)


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--pieces", type=int, default=MANY, metavar="N")
    parser.add_argument("--keep", type=Path, metavar="DIR")
    parser.add_argument("--only", nargs="*", default=list(COMMANDS), metavar="COMMAND")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        root = given.keep or Path(place)
        for count in (FEW, given.pieces):
            if not (root / str(count)).exists():
                # Elsewhere: a command's peak of memory is never below that of what starts it.
                writer = Process(target=write_shelf, args=(root / str(count), count))
                writer.start()
                writer.join()
        cost(root / str(FEW), COMMANDS["plan"])  # compiles the kernels
        print(
            f"| Command | {FEW} pieces: s | MB | {given.pieces} pieces: s | MB | s more | MB more |"
        )
        print("|---|--:|--:|--:|--:|--:|--:|")
        for name in given.only:
            less, more = (cost(root / str(n), COMMANDS[name]) for n in (FEW, given.pieces))
            print(
                f"| {name} | {less.seconds:.2f} | {less.peak:.0f} | {more.seconds:.2f} |"
                f" {more.peak:.0f} | {more.seconds - less.seconds:.2f} |"
                f" {more.peak - less.peak:.0f} |",
                flush=True,
            )


if __name__ == "__main__":
    main()
