"""Measure strip nesting against the published instances of ESICUP.

    python tests/benchmarks/nesting.py --instances albano,fu --seconds 1,5,20 \
        --workers 2 --seeds 3 --json results.json

``--evaluations`` instead of ``--seconds`` gives figures that do not depend on the machine's load.

The strips are those of ``data/`` here, whose page says where they come from, or of ``--data DIR``:
``DIR/irregular/NAME.json`` holds one instance each: ``strip_height``, ``allowed_rotations_deg``,
``total_area``, ``items`` with ``id``, ``demand`` and ``outline``, and ``best_known`` with the best
published ``density`` in percent. Density is total area / (strip height x used length); pieces may
touch. Every nest is proven, by ``nesting/check.py`` and by polygons on an integer grid that share
no code with it; the run ends with an error at the first that is not. The results hold the final
placements: item id, rotation in degrees anticlockwise about the item's own origin, then
translation x, y.
"""

from __future__ import annotations

import argparse
import json
import math
import statistics
import sys
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parent.parent))

from nesting_strip import Strip, nest_strip, prove_strip

from jobprep.geometry.outline import Region, polygon
from jobprep.nesting.nest import Budget, Item


def read_instance(path: Path) -> tuple[dict[str, Any], list[Item]]:
    """Read an instance and return it with its items."""
    data = json.loads(path.read_text())
    angles = sorted(data["allowed_rotations_deg"])
    step = 360.0 / len(angles)
    if angles != [k * step for k in range(len(angles))]:
        raise ValueError(f"{path.name}: rotations must be evenly spaced from 0, not {angles}")
    items = [
        Item(
            region=Region(polygon(each["outline"])),
            quantity=each["demand"],
            rotation_step=math.radians(step),
        )
        for each in data["items"]
    ]
    return data, items


def measured(data: dict[str, Any], items: list[Item], budget: Budget) -> dict[str, Any]:
    """Nest an instance once and return what came of it."""
    cpu = time.process_time()
    started = time.perf_counter()
    strip = nest_strip(items, data["strip_height"], budget)
    wall = time.perf_counter() - started
    cpu = time.process_time() - cpu
    prove_strip(items, data["strip_height"], strip)
    density = 100.0 * data["total_area"] / (data["strip_height"] * strip.length)
    best = (data.get("best_known") or {}).get("density")
    return {
        "instance": data["name"],
        "seconds": None if budget.evaluations else budget.seconds,
        "evaluations": strip.evaluations,
        "seed": budget.seed,
        "wall_seconds": round(wall, 3),
        "cpu_seconds": round(cpu, 3),
        "length": strip.length,
        "density": round(density, 4),
        "ratio": round(density / best, 5) if best else None,
        "sheets": 1,
        "evaluations_per_second": round(strip.evaluations / wall),
        "placements": placements(data, strip),
    }


def placements(data: dict[str, Any], strip: Strip) -> list[dict[str, Any]]:
    """Return the placements in a form anyone can check."""
    return [
        {
            "id": data["items"][placed.item]["id"],
            "rotation_deg": math.degrees(placed.angle),
            "x": placed.x,
            "y": placed.y,
        }
        for placed in strip.placements
    ]


def main() -> None:
    """Run the benchmark."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, default=Path(__file__).parent / "data", metavar="DIR")
    parser.add_argument("--instances", default="")
    parser.add_argument("--seconds", default="")
    parser.add_argument("--evaluations", default="")
    parser.add_argument("--workers", type=int, default=0)
    parser.add_argument("--seeds", type=int, default=3)
    parser.add_argument("--json", type=Path)
    options = parser.parse_args()
    inner = options.data / "irregular"
    folder = inner if inner.is_dir() else options.data
    names = (
        options.instances.split(",")
        if options.instances
        else sorted(path.stem for path in folder.glob("*.json"))
    )
    if not names:
        parser.error(f"{folder} holds no instances (*.json)")
    warm_up()
    results: list[dict[str, Any]] = []
    budgets = [
        (f"{each} evaluations", {"evaluations": int(float(each))})
        for each in options.evaluations.split(",")
        if each
    ] or [(f"{each} s", {"seconds": float(each)}) for each in (options.seconds or "1,5").split(",")]
    for title, limit in budgets:
        ratios = []
        for name in names:
            data, items = read_instance(folder / f"{name}.json")
            runs = [
                measured(data, items, Budget(**limit, workers=options.workers, seed=seed))
                for seed in range(1, options.seeds + 1)
            ]
            results.extend(runs)
            print(f"{name:10} {title:>8}: {row(runs)}", flush=True)
            if runs[0]["ratio"] is not None:
                ratios.append(statistics.mean(run["ratio"] for run in runs))
            if options.json:
                options.json.write_text(json.dumps(results, indent=1))
        if ratios:
            mean = statistics.mean(ratios)
            print(f"mean over {len(ratios)} instances, {title}: {mean:.4f} of the best published")


def row(runs: list[dict[str, Any]]) -> str:
    """Return one line about the runs of an instance with different seeds."""
    density = statistics.mean(run["density"] for run in runs)
    cpu = statistics.mean(run["cpu_seconds"] for run in runs)
    wall = statistics.mean(run["wall_seconds"] for run in runs)
    text = f"density {density:6.2f} %, {wall:5.1f} s ({cpu:5.1f} s CPU), proven"
    if runs[0]["ratio"] is None:
        return text
    ratios = [run["ratio"] for run in runs]
    return f"{text}, of the best published {statistics.mean(ratios):.4f} (least {min(ratios):.4f})"


def warm_up() -> None:
    """Load all compiled kernels, so that the first instance is not charged for it."""
    square = Region(polygon([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]))
    nest_strip(
        [Item(region=square, quantity=2, rotation_step=math.tau)],
        1.5,
        Budget(evaluations=400),
    )


if __name__ == "__main__":
    main()
