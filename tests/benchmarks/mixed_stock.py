"""Measure what jobs cost that are cut from leftovers and from sheets of two sizes.

    python tests/benchmarks/mixed_stock.py                        twelve jobs, 200,000 spots a nest
    python tests/benchmarks/mixed_stock.py --json before.json     keep the figures
    python tests/benchmarks/mixed_stock.py --against before.json  and compare later ones with them

A job is sectors of two to five kinds, one to four leftovers, some of them with a corner cut off,
and sheets of two sizes, the smaller one dearer by area. Leftovers are free and used first; what
counts is the price of the whole sheets that are opened. No nest can cost less than ``least``: the
cheapest sheets that, with all leftovers, have the area of the parts, all of them less the strip
along their edges that parts must keep off. ``--first`` is the seed of the first job.

Film is what is used up: of each sheet but the last all, of that what straight cuts do not leave.
"""

from __future__ import annotations

import argparse
import itertools
import json
import math
import random
import time
from pathlib import Path
from typing import NamedTuple

from small_jobs import PART, task_of

from jobprep.geometry.measure import area, region_bounds
from jobprep.geometry.outline import moved_region
from jobprep.nesting.nest import Nest
from jobprep.nesting.shapes import area as polygon_area
from jobprep.nesting.shapes import sheet_polygon
from jobprep.nesting.used_film import CornerSheets
from jobprep.planning.film_task import FilmTask
from jobprep.planning.sheet_mix import nest_cheapest

MOST = 30
"""Sheets of a size that are there."""

JOB = """\
format = 1
title = "Sectors"
cutter = "bench-co2"
[nesting]
evaluations = {evaluations}
"""
LEFTOVER = """\
[[stock]]
film = "amber"
label = "{label}"
outline = {outline}
price = 0
"""
SIZE = """\
[[stock]]
film = "amber"
size = {size}
count = {count}
price = {price}
"""


class Measured(NamedTuple):
    """What came of one job: prices, leftovers and sheets opened, film used up, mm²."""

    seed: int
    parts: int
    price: float
    least: float
    leftovers: int
    sheets: int
    film: float
    seconds: float


def job_text(seed: int, evaluations: int) -> str:
    """Return a job of sectors on leftovers and sheets of two sizes."""
    draw = random.Random(seed)
    text = JOB.format(evaluations=evaluations)
    for number in range(draw.randint(1, 4)):
        text += LEFTOVER.format(label=f"L{number}", outline=_outline(draw))
    price = draw.uniform(20.0, 30.0)
    for size, share in (([508, 610], 1.0), ([254, 305], draw.uniform(0.27, 0.4))):
        text += SIZE.format(size=size, count=MOST, price=round(share * price, 2))
    for number in range(draw.randint(2, 5)):
        text += PART.format(
            number=number + 1,
            copies=draw.randint(4, 16),
            outer=round(draw.uniform(120, 280), 1),
            inner=round(draw.uniform(20, 60), 1),
            degrees=round(draw.uniform(30, 150), 1),
        )
    return text


def _outline(draw: random.Random) -> list[list[int]]:
    """Return a leftover: a rectangle, every second one with a corner cut off."""
    w, h = draw.randint(150, 500), draw.randint(150, 400)
    if draw.random() < 0.5:
        return [[0, 0], [w, 0], [w, h], [0, h]]
    x, y = round(w * draw.uniform(0.4, 0.8)), round(h * draw.uniform(0.4, 0.8))
    return [[0, 0], [w, 0], [w, y], [x, y], [x, h], [0, h]]


def least_price(task: FilmTask) -> float:
    """Return a price that no nest can fall below: by the area of parts and sheets alone."""
    need = math.fsum(part.quantity * area(part.region) for part in task.parts)
    sizes = []
    for piece in task.shelf:
        room = polygon_area(sheet_polygon(piece.sheet.region, task.spacing.edge))
        if piece.sheet.label:
            need -= room
        else:
            sizes.append((room, piece.sheet.price or 0.0))
    counts = itertools.product(range(MOST + 1), repeat=len(sizes))
    return min(
        math.fsum(n * price for n, (_, price) in zip(each, sizes, strict=True))
        for each in counts
        if math.fsum(n * room for n, (room, _) in zip(each, sizes, strict=True)) >= need
    )


def used_up(task: FilmTask, nest: Nest) -> float:
    """Return the film used up: all of each sheet, of the last what straight cuts do not leave."""
    kind = nest.sheets[-1]
    boxes = [
        region_bounds(moved_region(task.parts[p.item].region, p.angle, p.x, p.y))
        for p in nest.placements
        if p.sheet == len(nest.sheets) - 1
    ]
    corner = CornerSheets(task.problem.sheets, 0.0, is_mirrored=False)[kind]
    if corner is None:
        raise ValueError("nothing is kept of the last sheet")
    whole = math.fsum(area(task.shelf[n].sheet.region) for n in nest.sheets[:-1])
    return whole + corner.used(max(b.x_max for b in boxes), max(b.y_max for b in boxes)).film


def measured(seed: int, evaluations: int) -> Measured:
    """Nest a job and return what it costs. The nest is proven before it is returned."""
    task = task_of(job_text(seed, evaluations))
    started = time.process_time()
    nest = nest_cheapest(task, None)
    seconds = time.process_time() - started
    if any(nest.unplaced):
        raise ValueError(f"job {seed} is not cut")
    opened = [task.shelf[kind].sheet for kind in nest.sheets]
    price = math.fsum(sheet.price or 0.0 for sheet in opened if not sheet.label)
    least = least_price(task)
    if price < least - 1e-6:
        raise ValueError(f"job {seed} costs {price}, less than can be: {least}")
    leftovers = sum(bool(sheet.label) for sheet in opened)
    return Measured(
        seed=seed,
        parts=len(nest.placements),
        price=price,
        least=least,
        leftovers=leftovers,
        sheets=len(opened) - leftovers,
        film=used_up(task, nest),
        seconds=seconds,
    )


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--first", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=12)
    parser.add_argument("--evaluations", type=float, default=200_000)
    parser.add_argument("--json", type=Path)
    parser.add_argument("--against", type=Path)
    options = parser.parse_args()
    rows = json.loads(options.against.read_text()) if options.against else []
    before = {row["seed"]: row for row in rows}
    print("job  parts   price   least  leftovers  sheets   film, cm²  processor s", end="")
    print("  price before  film before" if before else "")
    found = []
    for seed in range(options.first, options.first + options.jobs):
        one = measured(seed, int(options.evaluations))
        found.append(one)
        print(
            f"{seed:<5}{one.parts:5}{one.price:8.2f}{one.least:8.2f}{one.leftovers:11}"
            f"{one.sheets:8}{one.film / 100.0:12.0f}{one.seconds:13.2f}",
            end="",
        )
        old = before.get(seed)
        print(f"{old['price']:14.2f}{old['film'] / 100.0:13.0f}" if old else "", flush=True)
    price, least = (math.fsum(each[k] for each in found) for k in (2, 3))
    film = math.fsum(each.film for each in found)
    print(f"all: price {price:.2f}, {price / least - 1.0:.1%} above the least; ", end="")
    print(f"film {film / 100.0:.0f} cm²")
    if options.json:
        options.json.write_text(json.dumps([each._asdict() for each in found], indent=1))


if __name__ == "__main__":
    main()
