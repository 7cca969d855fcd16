"""Measure how much film thirty small jobs use up: the job of nearly every day.

    python tests/benchmarks/small_jobs.py                         thirty jobs, 200,000 spots each
    python tests/benchmarks/small_jobs.py --json before.json      keep the figures
    python tests/benchmarks/small_jobs.py --against before.json   and compare later ones with them

A job is two to twelve sectors of one to three kinds, on sheets of 508 x 610 mm, with the spacing
of a job that says nothing. ``--first`` is the seed of the first. A budget of evaluations makes the
figures those of any machine, busy or not. To compare two states of the code run it in both: only
the nest is asked for, which is proven, and all that is measured is worked out here.

Box fill is the area of the parts over that of the box round them. Film used up is the sheet less
what one straight cut beyond the parts leaves, or two, the second across what the first leaves; of
that the pieces count that have at least the side and the area that a job keeps by default.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import statistics
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from jobprep import pipeline
from jobprep.geometry.measure import Bounds, area, region_bounds
from jobprep.geometry.outline import moved_region
from jobprep.planning.film_task import FilmTask, film_tasks
from jobprep.planning.plan_film import nest_film

WIDTH, HEIGHT = 508.0, 610.0
LEAST_SIDE, LEAST_AREA = 50.0, 5000.0
"""Of a piece worth keeping: what a job without a word of its own keeps, mm and mm²."""

JOB = """\
format = 1
title = "Sectors"
cutter = "bench-co2"
[nesting]
evaluations = {evaluations}
{web}
[[stock]]
film = "amber"
size = [{width}, {height}]
"""
PART = """\
[[part]]
name = "sector {number}"
film = "amber"
copies = {copies}
sector = {{ outer_diameter = {outer}, inner_diameter = {inner}, degrees = {degrees} }}
"""


class Measured(NamedTuple):
    """What came of one job. ``box`` is the width and the height of the box round all parts, mm."""

    seed: int
    parts: int
    box: tuple[float, float]
    fill: float
    film: float
    largest: float
    seconds: float


def job_text(seed: int, evaluations: int, web: str = "") -> str:
    """Return a job of 2 to 12 sectors of one to three kinds."""
    draw = random.Random(seed)
    kinds = draw.randint(1, 3)
    total = draw.randint(max(2, kinds), 12)
    ends = [0, *sorted(draw.sample(range(1, total), kinds - 1)), total]
    text = JOB.format(evaluations=evaluations, web=web, width=WIDTH, height=HEIGHT)
    for number in range(kinds):
        outer = round(draw.uniform(50, 140), 1)
        text += PART.format(
            number=number + 1,
            copies=ends[number + 1] - ends[number],
            outer=outer,
            inner=round(draw.uniform(10, 40), 1),
            degrees=round(draw.uniform(25, 170), 1),
        )
    return text


def task_of(text: str) -> FilmTask:
    """Return the only film of a job, as it is planned."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        path.write_text(text)
        checked = pipeline.check(path)
    (task,) = film_tasks(checked.job, checked.parts)
    return task


def measured(seed: int, evaluations: int) -> Measured:
    """Nest a job and return what it uses up."""
    task = task_of(job_text(seed, evaluations))
    started = time.process_time()
    nest = nest_film(task, None)
    seconds = time.process_time() - started
    regions = [
        moved_region(task.parts[each.item].region, each.angle, each.x, each.y)
        for each in nest.placements
    ]
    if len(nest.sheets) != 1 or any(nest.unplaced):
        raise ValueError(f"job {seed} does not lie on one sheet")
    boxes = [region_bounds(region) for region in regions]
    box = Bounds(
        min(each.x_min for each in boxes),
        min(each.y_min for each in boxes),
        max(each.x_max for each in boxes),
        max(each.y_max for each in boxes),
    )
    beyond = 2.0 * task.kerf + task.nesting.web
    kept = max(straight(box.x_max + beyond, box.y_max + beyond, task.kerf), key=sum)
    return Measured(
        seed=seed,
        parts=len(regions),
        box=(round(box.width, 1), round(box.height, 1)),
        fill=math.fsum(map(area, regions)) / (box.width * box.height),
        film=WIDTH * HEIGHT - sum(kept),
        largest=max(kept),
        seconds=seconds,
    )


def straight(x: float, y: float, kerf: float) -> Iterator[tuple[float, float]]:
    """Yield what the first straight cut leaves, and the second: upright first, then level first.

    What is kept begins at ``x`` beyond an upright cut, at ``y`` above a level one.
    """
    beside, above = WIDTH - x, HEIGHT - y
    yield _worth(beside, HEIGHT), _worth(x - kerf, above)
    yield _worth(beside, y - kerf), _worth(WIDTH, above)


def _worth(width: float, height: float) -> float:
    is_worth = min(width, height) >= LEAST_SIDE and width * height >= LEAST_AREA
    return width * height if is_worth else 0.0


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=30)
    parser.add_argument("--evaluations", type=float, default=200_000)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--against", type=Path)
    options = parser.parse_args()
    before = {}
    if options.against:
        rows = json.loads(options.against.read_text())
        before = {row["seed"]: row for row in rows}
    measured(options.first, 1)  # loads the compiled kernels
    print("job  parts          box, mm   fill   film, cm²  largest left, cm²  processor s", end="")
    print("   fill before  film before" if before else "")
    found = []
    for seed in range(options.first, options.first + options.jobs):
        one = measured(seed, int(options.evaluations))
        found.append(one)
        box = f"{one.box[0]:.1f} x {one.box[1]:.1f}"
        print(
            f"{seed:<5}{one.parts:5}{box:>17}{one.fill:7.3f}{one.film / 100.0:12.1f}"
            f"{one.largest / 100.0:19.1f}{one.seconds:13.2f}",
            end="",
        )
        old = before.get(seed)
        print(f"{old['fill']:14.3f}{old['film'] / 100.0:13.1f}" if old else "", flush=True)
    _print_means(found, before)
    if options.json:
        options.json.write_text(json.dumps([each._asdict() for each in found], indent=1))


def _print_means(found: list[Measured], before: dict[int, dict[str, float]]) -> None:
    fill = statistics.mean(each.fill for each in found)
    film = math.fsum(each.film for each in found)
    print(f"mean fill {fill:.3f}, film used up {film / 100.0:.0f} cm²")
    pairs = [(each, before[each.seed]) for each in found if each.seed in before]
    if not pairs:
        return
    old_fill = statistics.mean(old["fill"] for _, old in pairs)
    less = statistics.mean(1.0 - each.film / old["film"] for each, old in pairs)
    total = 1.0 - math.fsum(each.film for each, _ in pairs) / math.fsum(o["film"] for _, o in pairs)
    worse = [each.seed for each, old in pairs if each.film > old["film"] * (1.0 + 1e-9)]
    emptier = [each.seed for each, old in pairs if each.fill < old["fill"] - 1e-9]
    print(
        f"before: mean fill {old_fill:.3f}; film now {100 * less:.1f} % less on average,", end=" "
    )
    print(f"{100 * total:.1f} % less of all; more film in {worse or 'none'},", end=" ")
    print(f"emptier box in {emptier or 'none'}")


if __name__ == "__main__":
    main()
