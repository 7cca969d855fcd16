"""Measure how time and memory grow with the size of a job, phase by phase.

    python tests/benchmarks/load.py                       5,000 parts beside 500
    python tests/benchmarks/load.py --profile draw        where a phase spends its time

The job is made here: designs of three layers with sectors of twenty films, a shelf of leftovers
and sheets. The ten times larger job has ten times the parts, designs and pieces of stock, of the
same films. The nest has its own budget of evaluations, the same for both, and is given apart.
"""

from __future__ import annotations

import argparse
import cProfile
import datetime
import json
import pstats
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import NamedTuple

from jobprep.disc.build_parts import build_parts
from jobprep.disc.checks import check_job
from jobprep.files.job.job import read_job
from jobprep.files.ledger.on_disk import change_ledger, read_ledger
from jobprep.files.write import write_content_atomic
from jobprep.geometry.read_outline import read_outline
from jobprep.model import rectangle_points
from jobprep.outputs import cut_drawings
from jobprep.pipeline import summary_of
from jobprep.planning.assemble import plan_of
from jobprep.planning.film_task import NestedFilm, film_tasks
from jobprep.planning.sheet_mix import nest_cheapest
from jobprep.report.job_sheet import job_sheet
from jobprep.runs.folder import output_folder
from jobprep.runs.record import record_of
from jobprep.runs.text import write_run
from jobprep.stock.ledger import Piece, with_ledger, with_new_pieces
from jobprep.toml_text import toml_text

FILMS = 20
SMALL, LARGE = 500, 5000
PARTS_PER_DESIGN = 25
PARTS_PER_PIECE = 100
SHEET = (508, 610)
EVALUATIONS = 20_000
"""Of each film's nest: little, since the search is measured elsewhere."""


class Phase(NamedTuple):
    """What one phase took: s of processor time, and the most memory held at any moment, MB."""

    name: str
    seconds: float
    peak: float


def write_job(folder: Path, n_parts: int, seed: int = 1) -> Path:
    """Write a job of a number of parts, its designs, films and stock; return its file."""
    draw = random.Random(seed)
    films = [f"film-{number:02}" for number in range(1, FILMS + 1)]
    _write_films(folder / "materials" / "films", films)
    n_designs = n_parts // PARTS_PER_DESIGN
    for number in range(n_designs):
        text = toml_text(_design(number, films, draw))
        (folder / f"design-{number:03}.toml").write_text(text, encoding="utf-8")
    _write_stock(folder / "stock.toml", films, n_parts // PARTS_PER_PIECE)
    job = {
        "format": 1,
        "title": f"A load of {n_parts} parts",
        "cutter": "bench-co2",
        "disc": [{"design": f"design-{number:03}.toml"} for number in range(n_designs)],
        "nesting": {"evaluations": EVALUATIONS},
        "prices": {"currency": "EUR", "cutter_per_hour": 30, "sheet": dict.fromkeys(films, 8.0)},
    }
    path = folder / "job.toml"
    path.write_text(toml_text(job), encoding="utf-8")
    return path


def _write_films(folder: Path, names: list[str]) -> None:
    folder.mkdir(parents=True)  # the job's folder with it
    for name in names:
        film = {
            "format": 1,
            "title": name,
            "base": "polyester",
            "thickness": 0.1,
            "thickness_tolerance": 0.01,
            "density_g_cm3": 1.38,
            "colour": "#e69f00",
            "light": "passes",
            "least_web": 1.0,
            "least_hole": 0.5,
            "cautions": ["Made up to measure with."],
            "sheet": [{"size": list(SHEET)}],
        }
        (folder / f"{name}.toml").write_text(toml_text(film), encoding="utf-8")


def _design(number: int, films: list[str], draw: random.Random) -> dict[str, object]:
    """Return a disc of 25 parts: a cover and two rings of twelve sectors of unlike widths."""
    outer = round(draw.uniform(60.0, 110.0), 1)

    def ring(name: str, outer_diameter: float, inner_diameter: float) -> dict[str, object]:
        widths = [draw.randrange(15, 46) for _ in range(11)]
        scale = 330.0 / sum(widths)
        sectors = [
            {"film": draw.choice(films), "degrees": round(scale * width, 2)} for width in widths
        ]
        return {
            "name": name,
            "outer_diameter": outer_diameter,
            "inner_diameter": inner_diameter,
            "joint_gap": 0.1,
            "sector": [*sectors, {"film": draw.choice(films), "share": 1}],
        }

    return {
        "format": 1,
        "name": f"load {number}",
        "outer_diameter": outer,
        "bore": {"diameter": 6.35},
        "speed_rpm": 600,
        "layer": [
            {"name": "cover", "film": films[number % FILMS]},
            ring("outside", outer - 2.0, 0.7 * outer),
            ring("inside", 0.7 * outer - 1.0, 20.0),
        ],
    }


def _write_stock(path: Path, films: list[str], n_pieces: int) -> None:
    """Write a shelf of leftovers with a bite out of a corner, and every other piece a sheet."""
    today = datetime.date(2026, 1, 1)
    bitten = (
        (0.0, 0.0),
        (240.0, 0.0),
        (240.0, 120.0),
        (100.0, 120.0),
        (100.0, 260.0),
        (0.0, 260.0),
    )
    whole = rectangle_points(*SHEET)
    pieces = [
        Piece(
            id="",
            film=films[number % FILMS],
            kind="leftover" if (number // FILMS + number) % 2 else "sheet",
            outline=bitten if (number // FILMS + number) % 2 else whole,
            added=today,
        )
        for number in range(n_pieces)
    ]
    change_ledger(path, "add", "load", today, lambda ledger, _: with_new_pieces(ledger, pieces))


def measure(job_file: Path, out: Path, profiled: str) -> Iterator[Phase]:
    """Yield every phase of a job, as ``jobprep plan`` runs them, with its time and memory."""
    with _phase("read", profiled) as read:
        job = with_ledger(read_job(job_file), read_ledger(job_file.with_name("stock.toml")))
    yield read()
    with _phase("build", profiled) as built:
        parts = build_parts(job, read_outline)
    yield built()
    with _phase("check", profiled) as checked:
        cautions = [finding.problem for finding in check_job(job, parts)]
    yield checked()
    tasks = list(film_tasks(job, parts))
    with _phase("nest", profiled) as nested:
        nested_films = [NestedFilm(task, nest_cheapest(task, None)) for task in tasks]
    yield nested()
    with _phase("order", profiled) as ordered:
        plan = plan_of(job, parts, nested_films, cautions)
    yield ordered()
    with _phase("summary", profiled) as summed:
        summary = summary_of(plan)
    yield summed()
    with _phase("draw", profiled) as drawn:
        files = cut_drawings(plan)
    yield drawn()
    with _phase("record", profiled) as recorded:
        files["run.toml"] = write_run(record_of(plan, ""))
    yield recorded()
    with _phase("job sheet", profiled) as told:
        files["job-sheet.html"] = job_sheet(summary, plan)
    yield told()
    with _phase("write", profiled) as written, output_folder(out) as folder:
        for name, text in files.items():
            write_content_atomic(folder / name, text)
    yield written()


@contextmanager
def _phase(name: str, profiled: str) -> Iterator[Callable[[], Phase]]:
    """Measure a block; what it gives returns the phase when the block has ended."""
    profile = cProfile.Profile() if name == profiled else None
    found: list[Phase] = []
    _forget_peak()
    before = time.process_time()
    if profile:
        profile.enable()
    yield found.pop
    if profile:
        profile.disable()
        pstats.Stats(profile, stream=sys.stderr).sort_stats("cumtime").print_stats(40)
    found.append(Phase(name, time.process_time() - before, _peak()))


def _forget_peak() -> None:
    """Let the peak of memory begin again, where the system can (Linux, man 5 proc)."""
    with suppress(OSError):
        Path("/proc/self/clear_refs").write_text("5")


def _peak() -> float:
    """Return the peak of memory since it was forgotten, or else of the whole process, MB."""
    with suppress(OSError):
        for line in Path("/proc/self/status").read_text().splitlines():
            if line.startswith("VmHWM:"):
                return int(line.split()[1]) / 1024.0
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def measured(n_parts: int, profiled: str = "") -> list[Phase]:
    """Return the phases of a job of a number of parts, run in a process of its own."""
    command = [sys.executable, __file__, "--alone", str(n_parts), "--profile", profiled]
    done = subprocess.run(command, stdout=subprocess.PIPE, text=True, check=True)
    return [Phase(*row) for row in json.loads(done.stdout)]


def print_growth(small: list[Phase], large: list[Phase], times: float) -> None:
    """Print the phases of both jobs side by side, as the table of DEVELOPERS.md."""
    print(f"| Phase | {SMALL} parts: s | MB | {LARGE} parts: s | MB | time × |")
    print("|---|--:|--:|--:|--:|--:|")
    for less, more in zip(small, large, strict=True):
        growth = f"{more.seconds / less.seconds:.1f}" if less.seconds >= 0.01 else "–"
        cells = (
            f"{less.seconds:.2f}",
            f"{less.peak:.0f}",
            f"{more.seconds:.2f}",
            f"{more.peak:.0f}",
        )
        print(f"| {less.name} | {' | '.join(cells)} | {growth} |")
    sums = [sum(each.seconds for each in rows if each.name != "nest") for rows in (small, large)]
    print(f"| all but the nest | {sums[0]:.2f} | | {sums[1]:.2f} | | {sums[1] / sums[0]:.1f} |")
    print(f"\n{times:g} times the parts.")


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--profile", default="", metavar="PHASE", help="print where it spends time")
    parser.add_argument("--alone", type=int, metavar="N", help="one job of N parts, as JSON")
    given = parser.parse_args()
    if given.alone is None:
        small, large = measured(SMALL), measured(LARGE, given.profile)
        print_growth(small, large, LARGE / SMALL)
        return
    with tempfile.TemporaryDirectory() as folder:
        job_file = write_job(Path(folder) / "job", given.alone)
        print(json.dumps(list(measure(job_file, Path(folder) / "run", given.profile))))


if __name__ == "__main__":
    main()
