"""Measure what shared sides save of the cutting, and what film that takes.

    python tests/benchmarks/shared_sides.py                         thirty jobs, 200,000 spots each
    python tests/benchmarks/shared_sides.py --aurora                the films of the first example
    python tests/benchmarks/shared_sides.py --json before.json      keep the figures
    python tests/benchmarks/shared_sides.py --against before.json   and compare later ones with them

A job is one of ``small_jobs.py``, two to twelve sectors of one to three kinds, with
``web = "shared"``. Cut length is what the cutter cuts once shared sides are cut once; film used up
is the sheet less the leftovers that the job keeps. To compare two states of the code run it in
both. A budget of evaluations makes the figures those of any machine, busy or not.
"""

from __future__ import annotations

import argparse
import json
import math
import statistics
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from small_jobs import job_text, task_of

from jobprep import pipeline
from jobprep.planning.film_task import FilmTask, film_tasks
from jobprep.planning.plan_film import cut_film, nest_film

SHARED = 'web = "shared"'
EXAMPLE = Path(__file__).parents[2] / "examples" / "01-aurora-wheel"


class Measured(NamedTuple):
    """What came of one film: lengths in mm, areas in mm², ``fill`` of the film used up."""

    name: str
    parts: int
    cut: float
    saved: float
    film: float
    seconds: float


def measured(name: str, task: FilmTask) -> Measured:
    """Nest and cut one film and return what that takes."""
    started = time.process_time()
    nest = nest_film(task, None)
    seconds = time.process_time() - started
    if any(nest.unplaced):
        raise ValueError(f"job {name} finds no room")
    sheets = cut_film(task, nest).sheets
    return Measured(
        name=name,
        parts=len(nest.placements),
        cut=math.fsum(sheet.cuts.motion.cut_length for sheet in sheets),
        saved=math.fsum(sheet.cuts.saved for sheet in sheets),
        film=math.fsum(sheet.film_area for sheet in sheets),
        seconds=seconds,
    )


def sector_jobs(first: int, jobs: int, evaluations: int) -> Iterator[tuple[str, FilmTask]]:
    """Yield random jobs of sectors with shared sides."""
    for seed in range(first, first + jobs):
        yield str(seed), task_of(job_text(seed, evaluations, SHARED))


def aurora(evaluations: int) -> Iterator[tuple[str, FilmTask]]:
    """Yield the films of the first example with shared sides."""
    text = (EXAMPLE / "job.toml").read_text(encoding="utf-8")
    text = text.replace("web = 1.0 ", f"{SHARED} ", 1)
    text = text.replace("evaluations = 100000", f"evaluations = {evaluations}")
    if SHARED not in text or f"= {evaluations}" not in text:
        raise ValueError("the example no longer says what is replaced here")
    with tempfile.TemporaryDirectory() as folder:
        for path in EXAMPLE.glob("*.toml"):
            (Path(folder) / path.name).write_text(path.read_text(encoding="utf-8"), "utf-8")
        (Path(folder) / "job.toml").write_text(text, encoding="utf-8")
        checked = pipeline.check(Path(folder) / "job.toml")
    for task in film_tasks(checked.job, checked.parts):
        yield task.film.name, task


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=30)
    parser.add_argument("--evaluations", type=float, default=200_000)
    parser.add_argument("--aurora", action="store_true")
    parser.add_argument("--json", type=Path)
    parser.add_argument("--against", type=Path)
    options = parser.parse_args()
    count = int(options.evaluations)
    before = {}
    if options.against:
        rows = json.loads(options.against.read_text())
        before = {row["name"]: Measured(**row) for row in rows}
    print("job     parts    cut, mm  saved, mm  film, cm²  processor s", end="")
    print("  cut before  film before    less cut" if before else "")
    found = []
    for name, task in (
        aurora(count) if options.aurora else sector_jobs(options.first, options.jobs, count)
    ):
        one = measured(name, task)
        found.append(one)
        print(
            f"{name:<8}{one.parts:5}{one.cut:11.0f}{one.saved:11.0f}{one.film / 100.0:11.1f}"
            f"{one.seconds:13.2f}",
            end="",
        )
        old = before.get(name)
        words = "" if old is None else _beside(one, old)
        print(words, flush=True)
    _print_totals(found, before)
    if options.json:
        options.json.write_text(json.dumps([each._asdict() for each in found], indent=1))


def _beside(one: Measured, old: Measured) -> str:
    return f"{old.cut:12.0f}{old.film / 100.0:13.1f}{100.0 * (1.0 - one.cut / old.cut):10.1f} %"


def _print_totals(found: list[Measured], before: dict[str, Measured]) -> None:
    cut, film = math.fsum(each.cut for each in found), math.fsum(each.film for each in found)
    print(f"cut {cut:.0f} mm, film used up {film / 100.0:.0f} cm²")
    pairs = [(each, before[each.name]) for each in found if each.name in before]
    if not pairs:
        return
    mean = statistics.mean(1.0 - each.cut / old.cut for each, old in pairs)
    old_cut, old_film = (math.fsum(old[k] for _, old in pairs) for k in (2, 4))
    more = [each.name for each, old in pairs if each.film > old.film + 1.0]
    print(
        f"before: cut {old_cut:.0f} mm, film {old_film / 100.0:.0f} cm²; now "
        f"{100.0 * (1.0 - cut / old_cut):.1f} % less cut of all, {100.0 * mean:.1f} % on average; "
        f"film {100.0 * (film / old_film - 1.0):+.1f} %, more film in {', '.join(more) or 'none'}"
    )


if __name__ == "__main__":
    main()
