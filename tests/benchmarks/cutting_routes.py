"""Measure the travel of cutting orders: published tours, and sheets of our own.

    python tests/benchmarks/cutting_routes.py --data DIR --cells 4,16,60

``DIR/tsp/*.json`` holds TSPLIB instances (G. Reinelt, ORSA Journal on Computing 3, 1991) with
``coords`` and ``optimum``, as ``public_data.py`` makes them. The sheets are generated here; their
travel is compared with that of nearest neighbour, of ten times the search, and of an order free of
all releases.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
import time
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

import itertools

from cutting.sheets import sheet_of

from jobprep.cutting.kerf import tool_paths
from jobprep.cutting.motion import HOME
from jobprep.cutting.precedence import contour_ids, releases
from jobprep.cutting.route import KICKS_PER_STOP, Leg, Visit, shortest_route
from jobprep.cutting.starts import possible_starts, start_point
from jobprep.cutting.ways import NOTHING, Way, choose_ways, nearest_neighbour
from jobprep.geometry.outline import Point

KERF = 0.12
Stops = list[list[Visit]]


def tour_length(file: Path) -> tuple[int, int, float]:
    """Return the rounded length of a closed tour, the optimum, and the seconds it took."""
    instance = json.loads(file.read_text(encoding="utf-8"))
    cities = [Point(*city) for city in instance["coords"]]
    began = time.process_time()
    legs = shortest_route([[Visit(city, city)] for city in cities[1:]], cities[0], cities[0])
    seconds = time.process_time() - began
    tour = [cities[0], *(cities[leg.stop + 1] for leg in legs)]
    edges = zip(tour, tour[1:] + tour[:1], strict=True)
    return sum(math.floor(math.dist(a, b) + 0.5) for a, b in edges), instance["optimum"], seconds


def sheet_problem(cells: int) -> tuple[Stops, list[int | None]]:
    """Return the stops and releases of a generated sheet."""
    kinds = ["plate", "sector", "nested", "sector", "plate", "ring"]
    parts = sheet_of([kinds[cell % len(kinds)] for cell in range(cells)], cells)
    ids = contour_ids(parts)
    number = {id: index for index, id in enumerate(ids)}
    stops = []
    for id in ids:
        paths = tool_paths(parts[id.part], KERF)
        path = paths.outer if id.hole is None else paths.holes[id.hole]
        starts = possible_starts(path, KERF, hole=id.hole is not None)
        stops.append([Visit(point, point) for point in (start_point(path, s) for s in starts)])
    free = releases(parts)
    return stops, [None if (above := free[id]) is None else number[above] for id in ids]


def travel(stops: Stops, legs: Sequence[Leg]) -> float:
    """Return the travel of a route from home."""
    places = [HOME, *(stops[leg.stop][leg.visit].arrive for leg in legs)]
    return sum(math.dist(a, b) for a, b in itertools.pairwise(places))


def nearest(stops: Stops, release: Sequence[int | None]) -> float:
    """Return the travel of nearest neighbour, from the best starts for its order."""
    ways = [
        [Way(complex(*visit.arrive), complex(*visit.leave), i, False) for i, visit in enumerate(v)]
        for v in stops
    ]
    later = [NOTHING if each is None else each for each in release]
    home = complex(*HOME)
    return choose_ways(nearest_neighbour(ways, home, later), ways, home, None)[0]


def main() -> None:
    """Print one line for each tour and each sheet."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--data", type=Path, help="folder with tsp/*.json")
    parser.add_argument("--cells", default="4,16,60", help="sizes of the generated sheets")
    options = parser.parse_args()
    for file in sorted((options.data / "tsp").glob("*.json")) if options.data else ():
        length, optimum, seconds = tour_length(file)
        more = length / optimum - 1.0
        print(f"{file.stem:10} {length:7}, optimum {optimum:7}, {more:+.2%}, {seconds:.2f} s")
    for cells in map(int, options.cells.split(",")):
        stops, release = sheet_problem(cells)
        began = time.process_time()
        planned = travel(stops, shortest_route(stops, HOME, None, release))
        seconds = time.process_time() - began
        more = travel(stops, shortest_route(stops, HOME, None, release, 10 * KICKS_PER_STOP))
        freed = travel(stops, shortest_route(stops, HOME, None, None, 10 * KICKS_PER_STOP))
        print(
            f"{len(stops):5} contours: travel {planned:.0f} mm in {seconds:.2f} s;"
            f" nearest neighbour {nearest(stops, release) / planned - 1:+.1%},"
            f" searched longer {more / planned - 1:+.1%},"
            f" without releases {freed / planned - 1:+.1%}"
        )


if __name__ == "__main__":
    main()
