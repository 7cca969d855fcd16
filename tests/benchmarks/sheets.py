"""Measure nests on several equal sheets against published instances with a known optimum.

    python tests/benchmarks/sheets.py --instances TA001,TS001C5 --seconds 1,10 --workers 2 --seeds 3
    python tests/benchmarks/sheets.py --data DIR --evaluations 2e6

The instances are those of ``data/`` here, whose page says where they come from, or of
``--data DIR``: ``DIR/sheets/NAME.json``, which ``public_data.py`` makes of the collection's files,
holds the ``pieces``, the ``sheet``, the ``allowed_rotations_deg`` of every piece, the
``total_area``, and as ``optimum`` the least number of sheets, or null where none is known.
Pieces may touch and are never mirrored.

F is the mean, over the sheets of a nest, of the square of the share of the sheet that is filled: 1
when every sheet is full. Of two nests on as many sheets it is higher where one of them is emptier.
Every nest is proven, by ``nesting/check.py`` and by polygons on an integer grid that share no code
with it; the run ends with an error at the first that is not. The bound is what is proven of the
least number of sheets without knowing the optimum. ``--evaluations`` instead of ``--seconds`` gives
figures that do not depend on the machine's load.
"""

from __future__ import annotations

import argparse
import json
import math
import statistics
import sys
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any, NamedTuple

sys.path.insert(0, str(Path(__file__).parent.parent))

from polygon_check import polygon_faults

from jobprep.geometry.measure import area
from jobprep.geometry.outline import Region, polygon, rectangle
from jobprep.nesting.check import NestError, check_nest
from jobprep.nesting.nest import Budget, Item, Nest, Sheet, Spacing
from jobprep.nesting.search import nest_parts

TOUCHING = Spacing(gap=0.0, edge=0.0)


class Instance(NamedTuple):
    """Pieces, as many equal sheets as it takes, and the least number of them that is known."""

    name: str
    items: list[Item]
    sheets: list[Sheet]
    optimum: int | None


class Measured(NamedTuple):
    """What came of one search. ``fills`` are the shares of the opened sheets that are filled."""

    instance: str
    budget: str
    seed: int
    optimum: int | None
    sheets: int
    bound: float
    fills: tuple[float, ...]
    fullness: float
    evaluations: int
    wall_seconds: float
    cpu_seconds: float


def read_instance(path: Path) -> Instance:
    """Read an instance; equal pieces become one item."""
    data = json.loads(path.read_text(encoding="utf-8"))
    step = math.radians(360.0 / len(data["allowed_rotations_deg"]))
    pieces = Counter(tuple(map(tuple, piece)) for piece in data["pieces"])
    items = [
        Item(region=Region(polygon(piece)), quantity=count, rotation_step=step)
        for piece, count in pieces.items()
    ]
    sheet = Sheet(region=Region(rectangle(*data["sheet"])), count=None, cost=1.0)
    return Instance(data["name"], items, [sheet], data["optimum"])


def fills(instance: Instance, nest: Nest) -> tuple[float, ...]:
    """Return which share of each opened sheet is filled."""
    areas = [area(item.region) for item in instance.items]
    whole = area(instance.sheets[0].region)
    return tuple(
        math.fsum(areas[each.item] for each in nest.placements if each.sheet == number) / whole
        for number in range(len(nest.sheets))
    )


def fullness(shares: Sequence[float]) -> float:
    """Return the mean of the squared fills."""
    return statistics.fmean(share * share for share in shares)


def prove(instance: Instance, nest: Nest) -> None:
    """Prove a nest: all pieces there, none over another or the edge, not fewer sheets than can be.

    Raises ``NestError`` as the proof of any nest does, or where polygons on an integer grid show
    more than that.
    """
    problem = instance.items, instance.sheets, TOUCHING
    check_nest(*problem, nest)
    faults = list(polygon_faults(*problem, nest))
    faults += ["some pieces are left over"] * any(nest.unplaced)
    if instance.optimum is not None and not nest.bound <= instance.optimum <= len(nest.sheets):
        faults.append(
            f"{len(nest.sheets)} sheets, bound {nest.bound:g}: the optimum is not between"
        )
    if faults:
        raise NestError(faults)


def measured(instance: Instance, budget: Budget) -> Measured:
    """Nest an instance once, prove the nest and return what came of it."""
    started, cpu = time.perf_counter(), time.process_time()
    nest = nest_parts(instance.items, instance.sheets, TOUCHING, budget)
    wall, cpu = time.perf_counter() - started, time.process_time() - cpu
    prove(instance, nest)
    shares = fills(instance, nest)
    return Measured(
        instance=instance.name,
        budget=_title(budget),
        seed=budget.seed,
        optimum=instance.optimum,
        sheets=len(nest.sheets),
        bound=nest.bound,
        fills=shares,
        fullness=fullness(shares),
        evaluations=nest.evaluations,
        wall_seconds=round(wall, 3),
        cpu_seconds=round(cpu, 3),
    )


def row(runs: Sequence[Measured]) -> str:
    """Return one line about the runs of an instance with different seeds."""
    one = runs[0]
    used = " ".join(str(run.sheets) for run in runs)
    optimum = "?" if one.optimum is None else str(one.optimum)
    least = statistics.fmean(min(run.fills) for run in runs)
    return (
        f"{one.instance:9} {used:>10} {optimum:>7} {one.bound:5.0f} "
        f"{statistics.fmean(run.fullness for run in runs):7.4f} {least:8.3f} "
        f"{statistics.fmean(run.cpu_seconds for run in runs):8.1f}  proven"
    )


def means(runs: Sequence[Measured]) -> str:
    """Return a line about all runs with one budget."""
    text = f"mean F {statistics.fmean(run.fullness for run in runs):.4f}"
    above = Counter(run.sheets - run.optimum for run in runs if run.optimum is not None)
    shares = ", ".join(f"+ {more}: {count}" for more, count in sorted(above.items()))
    return f"{text}; runs by sheets above the optimum: {shares}"


def _title(budget: Budget) -> str:
    if budget.evaluations is None:
        return f"{budget.seconds:g} s"
    return f"{budget.evaluations:.0e} evaluations"


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, default=Path(__file__).parent / "data", metavar="DIR")
    parser.add_argument("--instances", default="")
    parser.add_argument("--seconds", default="10")
    parser.add_argument("--evaluations", default="")
    parser.add_argument("--workers", type=int, default=0)
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    inner = options.data / "sheets"
    folder = inner if inner.is_dir() else options.data
    names = options.instances.split(",") if options.instances else []
    paths = [folder / f"{name}.json" for name in names] or sorted(folder.glob("*.json"))
    if not paths:
        parser.error(f"{folder} holds no instances (*.json)")
    instances = [read_instance(path) for path in paths]
    nest_parts(*instances[0][1:3], TOUCHING, Budget(evaluations=400))  # loads compiled kernels
    limits = [{"evaluations": int(float(each))} for each in options.evaluations.split(",") if each]
    limits = limits or [{"seconds": float(each)} for each in options.seconds.split(",")]
    results: list[dict[str, Any]] = []
    for limit in limits:
        budgets = [
            Budget(**limit, workers=options.workers, seed=seed)
            for seed in range(1, options.seeds + 1)
        ]
        print(f"{_title(budgets[0])}:")
        print("instance      sheets optimum bound       F emptiest    s CPU")
        found: list[Measured] = []
        for instance in instances:
            runs = [measured(instance, budget) for budget in budgets]
            found.extend(runs)
            print(row(runs), flush=True)
        print(means(found), flush=True)
        results.extend(run._asdict() for run in found)
        if options.json:
            options.json.write_text(json.dumps(results, indent=1))


if __name__ == "__main__":
    main()
