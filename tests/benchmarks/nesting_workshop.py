"""Measure sheet nesting on what the workshop cuts: sectors, rings, mixed parts, leftovers.

    python tests/benchmarks/nesting_workshop.py                        every job, 1, 5, 20 and 60 s
    python tests/benchmarks/nesting_workshop.py --jobs scale --seconds 0     100 to 5,000 parts
    python tests/benchmarks/nesting_workshop.py --circles              equal discs in a square

Every nest is proven before it is counted, and every search has a process of its own, so that its
peak of memory is its own too. ``--evaluations`` instead of ``--seconds`` gives densities that do
not depend on the machine's load. All jobs are generated here; ``data/circles/square.csv`` lists the
best known radii of N equal discs in the unit square, as ``n,radius``; ``--circles DIR`` reads that
of another folder.

Density is the area of the parts over that of the film used up: whole sheets, and of the last one
what lies before the last part's end.
"""

from __future__ import annotations

import argparse
import json
import math
import multiprocessing
import random
import resource
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any, NamedTuple

sys.path.insert(0, str(Path(__file__).parent.parent))

from nesting_problems import ORIGIN, ring, sector
from nesting_strip import nest_strip

from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.outline import Region, circle, moved_region, polygon, rectangle
from jobprep.nesting.check import check_nest
from jobprep.nesting.nest import Budget, Item, Nest, Sheet, Spacing
from jobprep.nesting.search import nest_parts

SPACING = Spacing(gap=1.2, edge=5.1)
DATA = Path(__file__).parent / "data"
NEAR = 0.995
"""How near the best known radius equal discs must come."""
WHOLE = Sheet(region=Region(rectangle(508, 610)), count=None, cost=1.0)


class Job(NamedTuple):
    """A nesting problem."""

    items: list[Item]
    sheets: list[Sheet]
    spacing: Spacing = SPACING


def aurora() -> Job:
    """32 sectors of four wheels on a roll 508 mm wide; parts may touch, as published ones do."""
    angles = (60, 75.5, 45, 90, 30, 44.5, 36, 72)
    items = [Item(region=sector(58, 15, degrees), quantity=4) for degrees in angles]
    return Job(items, [Sheet(region=Region(rectangle(5000, 508)))], Spacing(gap=0.0, edge=0.0))


def sectors() -> Job:
    """200 sectors of ten angles."""
    angles = (20, 30, 40, 45, 60, 72, 75.5, 90, 100, 120)
    return Job([Item(region=sector(58, 15, d), quantity=20) for d in angles], [WHOLE])


def mixed(count: int = 1000) -> Job:
    """Mixed parts of twenty kinds, 1,000 by default."""
    draw = random.Random(11)
    regions = [
        sector(draw.uniform(25, 70), draw.uniform(5, 20), draw.uniform(25, 170)) for _ in range(10)
    ]
    regions += [ring(draw.uniform(20, 45), draw.uniform(8, 16)) for _ in range(4)]
    regions += [Region(circle(ORIGIN, draw.uniform(6, 30))) for _ in range(3)]
    regions += [Region(rectangle(draw.uniform(10, 60), draw.uniform(10, 40))) for _ in range(3)]
    return Job([Item(region=region, quantity=count // len(regions)) for region in regions], [WHOLE])


def unlike(count: int = 1000) -> Job:
    """So many parts, none like another."""
    draw = random.Random(5)
    shapes: list[Callable[[], Region]] = [
        lambda: sector(draw.uniform(25, 70), draw.uniform(5, 20), draw.uniform(25, 170)),
        lambda: ring(draw.uniform(20, 45), draw.uniform(8, 16)),
        lambda: Region(circle(ORIGIN, draw.uniform(6, 30))),
        lambda: Region(rectangle(draw.uniform(10, 60), draw.uniform(10, 40))),
    ]
    weights = (5, 2, 1, 2)
    regions = [draw.choices(shapes, weights)[0]() for _ in range(count)]
    return Job([Item(region=region, quantity=1) for region in regions], [WHOLE])


def rings() -> Job:
    """Rings that fit into each other, ten families."""
    sizes = ((60, 48), (46, 34), (32, 20), (18, 8))
    return Job([Item(region=ring(*size), quantity=10) for size in sizes], [WHOLE])


def leftovers() -> Job:
    """Sectors on leftovers with bites taken out, and a whole sheet if need be."""
    bite = circle(ORIGIN._replace(x=150.0, y=150.0), 59.0, clockwise=True)
    pieces = [
        Region(polygon([(0, 0), (210, 0), (210, 180), (90, 180), (90, 297), (0, 297)])),
        Region(rectangle(300, 300), (bite,)),
        Region(polygon([(0, 0), (400, 0), (400, 80), (280, 140), (120, 140), (0, 60)])),
    ]
    items = [Item(region=sector(58, 15, d), quantity=12) for d in (45, 60, 90)]
    return Job(items, [*(Sheet(region=piece, leftover=True) for piece in pieces), WHOLE])


def discs() -> Job:
    """Forty equal discs."""
    return Job([Item(region=Region(circle(ORIGIN, 60)), quantity=40)], [WHOLE])


def dozen() -> Job:
    """Twelve sectors."""
    return Job([Item(region=sector(58, 15, d), quantity=4) for d in (60, 75.5, 90)], [WHOLE])


JOBS: dict[str, Callable[[], Job]] = {
    job.__name__: job for job in (aurora, sectors, mixed, unlike, rings, leftovers, discs, dozen)
}
SIZES = (100, 200, 500, 1000, 2000, 5000)
SCALE: dict[str, Callable[[], Job]] = {
    f"{make.__name__}-{count}": partial(make, count) for make in (mixed, unlike) for count in SIZES
}


class Measured(NamedTuple):
    """What came of one search; ``memory_mb`` is its peak."""

    job: str
    budget: str
    parts: int
    unplaced: int
    sheets: int
    bound: float
    density: float
    first_seconds: float
    first_cpu_seconds: float
    wall_seconds: float
    cpu_seconds: float
    evaluations: int
    memory_mb: int


def density(job: Job, nest: Nest) -> float:
    """Return the area of the parts over that of the film used up."""
    parts = math.fsum(area(job.items[place.item].region) for place in nest.placements)
    whole = math.fsum(area(job.sheets[kind].region) for kind in nest.sheets[:-1])
    last = job.sheets[nest.sheets[-1]].region
    box = region_bounds(last)
    length = max(box.width, box.height)
    return parts / (whole + area(last) * end_of_last_sheet(job, nest) / length)


def end_of_last_sheet(job: Job, nest: Nest) -> float:
    """Return how far the last sheet is used along its longer side, mm."""
    box = region_bounds(job.sheets[nest.sheets[-1]].region)
    along_x = box.width >= box.height
    last = len(nest.sheets) - 1
    boxes = [
        region_bounds(moved_region(job.items[p.item].region, p.angle, p.x, p.y))
        for p in nest.placements
        if p.sheet == last
    ]
    return max(b.x_max if along_x else b.y_max for b in boxes)


def measured(name: str, budget: Budget) -> Measured:
    """Nest a job once, prove the nest and return what came of it."""
    job = (JOBS | SCALE)[name]()
    nest_parts(*dozen(), Budget(evaluations=1))  # loads the compiled kernels
    first: list[tuple[float, float]] = []
    started, cpu = time.perf_counter(), time.process_time()

    def progress(nest: Nest, last_used: float) -> None:
        first.append((time.perf_counter() - started, time.process_time() - cpu))

    nest = nest_parts(*job, budget, progress)
    wall, used_cpu = time.perf_counter() - started, time.process_time() - cpu
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    check_nest(*job, nest)
    return Measured(
        job=name,
        budget=_title(budget),
        parts=len(nest.placements),
        unplaced=sum(nest.unplaced),
        sheets=len(nest.sheets),
        bound=nest.bound,
        density=round(density(job, nest), 4),
        first_seconds=round(first[0][0], 3),
        first_cpu_seconds=round(first[0][1], 3),
        wall_seconds=round(wall, 3),
        cpu_seconds=round(used_cpu, 3),
        evaluations=nest.evaluations,
        memory_mb=memory,
    )


def packed(count: int, radius: float, budget: Budget) -> bool:
    """Return whether this number of discs, 0.5 % smaller than the best known, fit into a square.

    They are laid on a strip as high as the square; it must grow no longer.
    """
    side = 10.0 / (NEAR * radius)
    items = [Item(region=Region(circle(ORIGIN, 10.0)), quantity=count)]
    return nest_strip(items, side, budget).length <= side


def apart(function: Callable[..., Any], *words: Any) -> Any:
    """Call a function in a process of its own."""
    with ProcessPoolExecutor(1, multiprocessing.get_context("spawn")) as executor:
        return executor.submit(function, *words).result()


def rows(jobs: list[str], budgets: list[Budget]) -> Iterator[Measured]:
    """Measure jobs and print a line for each."""
    titles = " ".join(f"{_title(budget):>7}" for budget in budgets)
    print(f"{'':14} {'':>5} {'first nest':>13} {'sheets':>9} {'memory':>6}  density after")
    print(f"{'job':14} {'parts':>5} {'s':>6} {'s CPU':>6} {'least':>9} {'MB':>6}  {titles}")
    for name in jobs:
        found = [apart(measured, name, budget) for budget in budgets]
        yield from found
        last = found[-1]
        sheets = f"{last.sheets} / {last.bound:.0f}"
        densities = " ".join(f"{each.density:7.4f}" for each in found)
        short = f"  {last.unplaced} unplaced" if last.unplaced else ""
        print(
            f"{name:14} {last.parts:5} {found[0].first_seconds:6.2f} "
            f"{found[0].first_cpu_seconds:6.2f} {sheets:>9} "
            f"{max(each.memory_mb for each in found):6}  {densities}{short}",
            flush=True,
        )


def circles(table: Path, budget: Budget) -> Iterator[dict[str, Any]]:
    """Pack 2 to 30 equal discs into a square; print which come within 0.5 % of the best known."""
    lines = [line for line in table.read_text().splitlines() if line[:1].isdigit()]
    for line in lines[1:30]:
        count, radius = int(line.split(",")[0]), float(line.split(",")[1])
        fits = apart(packed, count, radius, budget)
        print(f"{count:2} discs: {'fit' if fits else 'do not fit'}", flush=True)
        yield {"discs": count, "fits_within_0.5_percent": fits}


def _title(budget: Budget) -> str:
    return f"{budget.seconds:g} s" if budget.evaluations is None else f"{budget.evaluations:.0e}"


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--jobs", default=",".join(JOBS), help='names, or "scale"')
    parser.add_argument("--seconds", default="")
    parser.add_argument("--evaluations", default="")
    parser.add_argument("--workers", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--circles", type=Path, metavar="DIR", nargs="?", const=DATA)
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    same = {"workers": options.workers, "seed": options.seed}
    seconds = options.seconds or ("10" if options.circles else "1,5,20,60")
    budgets = [
        Budget(evaluations=int(float(each)), **same)
        for each in options.evaluations.split(",")
        if each
    ] or [Budget(seconds=float(each), **same) for each in seconds.split(",")]
    jobs = list(SCALE) if options.jobs == "scale" else options.jobs.split(",")
    results: list[dict[str, Any]]
    if options.circles:
        results = list(circles(options.circles / "circles" / "square.csv", budgets[0]))
    else:
        results = [found._asdict() for found in rows(jobs, budgets)]
    if options.json:
        options.json.write_text(json.dumps(results, indent=1))


if __name__ == "__main__":
    main()
