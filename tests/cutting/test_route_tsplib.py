"""Closed tours against the published optima of TSPLIB instances, where the files are at hand.

G. Reinelt, TSPLIB - a traveling salesman problem library, ORSA Journal on Computing 3 (1991)
376-384. ``JOBPREP_BENCH_DATA`` names a folder with ``tsp/*.json``, each with ``coords`` and
``optimum``; distances are rounded to whole numbers (EUC_2D).
"""

import json
import math
import os
from pathlib import Path

import pytest

from jobprep.cutting.route import Visit, shortest_route
from jobprep.geometry.outline import Point

DATA = os.environ.get("JOBPREP_BENCH_DATA")
FILES = sorted(Path(DATA, "tsp").glob("*.json")) if DATA else []

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(not FILES, reason="JOBPREP_BENCH_DATA names no folder with tsp/*.json"),
]


@pytest.mark.parametrize("file", FILES, ids=[file.stem for file in FILES])
def test_tours_come_within_five_percent_of_the_optimum(file: Path) -> None:
    instance = json.loads(file.read_text(encoding="utf-8"))
    cities = [Point(*city) for city in instance["coords"]]
    legs = shortest_route([[Visit(city, city)] for city in cities[1:]], cities[0], cities[0])
    tour = [cities[0], *(cities[leg.stop + 1] for leg in legs)]
    assert sorted(tour) == sorted(cities)
    length = sum(
        math.floor(math.dist(a, b) + 0.5) for a, b in zip(tour, tour[1:] + tour[:1], strict=True)
    )
    assert instance["optimum"] <= length <= 1.05 * instance["optimum"]
