"""Measure sheet nesting on what the workshop cuts: sectors, rings, mixed parts, leftovers.

    python tests/benchmarks/nesting_workshop.py --jobs aurora,sectors --seconds 1,20 --workers 2

Every nest is proven before it is counted. All instances are generated here.
"""

from __future__ import annotations

import argparse
import json
import math
import random
import resource
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

sys.path.insert(0, str(Path(__file__).parent.parent))

from nesting_problems import ORIGIN, ring, sector

from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.outline import Region, circle, moved_region, polygon, rectangle
from jobprep.nesting.check import check_nest
from jobprep.nesting.nest import Budget, Item, Nest, Sheet, Spacing
from jobprep.nesting.search import nest_parts

SPACING = Spacing(gap=1.2, edge=5.1)
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
    job.__name__: job for job in (aurora, sectors, mixed, rings, leftovers, discs, dozen)
}


def end_of_last_sheet(job: Job, nest: Nest) -> float:
    """Return how far the last sheet is used along its longer side, mm."""
    box = region_bounds(job.sheets[nest.sheets[-1]].region)
    along_x = box.x_max - box.x_min >= box.y_max - box.y_min
    last = len(nest.sheets) - 1
    boxes = [
        region_bounds(moved_region(job.items[p.item].region, p.angle, p.x, p.y))
        for p in nest.placements
        if p.sheet == last
    ]
    return max(b.x_max if along_x else b.y_max for b in boxes)


def measured(name: str, budget: Budget) -> dict[str, Any]:
    """Nest a job once, prove the nest and return what came of it."""
    job = JOBS[name]()
    first: list[float] = []
    started = time.perf_counter()
    cpu = time.process_time()

    def progress(nest: Nest, utilisation: float, bound: float) -> None:
        if not first:
            first.append(time.perf_counter() - started)

    nest = nest_parts(*job, budget, progress)
    wall = time.perf_counter() - started
    used_cpu = time.process_time() - cpu
    check_nest(*job, nest)
    end = end_of_last_sheet(job, nest)
    parts = math.fsum(area(job.items[p.item].region) for p in nest.placements)
    return {
        "job": name,
        "seed": budget.seed,
        "parts": len(nest.placements),
        "unplaced": sum(nest.unplaced),
        "sheets": len(nest.sheets),
        "bound": nest.bound,
        "end_mm": round(end, 2),
        "strip_utilisation": round(parts / (508.0 * end), 4) if name == "aurora" else None,
        "first_seconds": round(first[0], 3),
        "wall_seconds": round(wall, 3),
        "cpu_seconds": round(used_cpu, 3),
        "evaluations": nest.evaluations,
        "peak_memory_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
    }


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--jobs", default=",".join(JOBS))
    parser.add_argument("--seconds", default="1,5")
    parser.add_argument("--evaluations", type=float)
    parser.add_argument("--workers", type=int, default=0)
    parser.add_argument("--seeds", type=int, default=1)
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    limits: list[dict[str, Any]] = (
        [{"evaluations": int(options.evaluations)}]
        if options.evaluations
        else [{"seconds": float(each)} for each in options.seconds.split(",")]
    )
    results = []
    for limit in limits:
        for name in options.jobs.split(","):
            for seed in range(1, options.seeds + 1):
                results.append(measured(name, Budget(**limit, workers=options.workers, seed=seed)))
                print(json.dumps(results[-1]), flush=True)
    if options.json:
        options.json.write_text(json.dumps(results, indent=1))


if __name__ == "__main__":
    main()
