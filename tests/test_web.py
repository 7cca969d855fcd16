"""The web is what stands between two slots, measured in the written drawings."""

import itertools
from collections import defaultdict
from pathlib import Path

import pytest
from shapely import LineString, union_all
from virtual_cut import read_cut_drawing

from jobprep import pipeline
from jobprep.errors import StockShortError
from jobprep.outputs import run_files

JOB = """\
format = 1
title = "Tide boards"
cutter = "bench-co2"
{parts}
[[stock]]
film = "clear"
size = [{width}, {height}]
[kerf]
clear = {kerf}
[nesting]
web = {web}
margin = 3
evaluations = 2000
"""
PLATES = """
[[part]]
name = "board"
film = "clear"
copies = 2
rectangle = { size = [50, 30] }
"""
RING = """
[[part]]
name = "ring"
film = "clear"
ring = {{ outer_diameter = 80, inner_diameter = {hole} }}
[[part]]
name = "lens"
film = "clear"
disc = {{ diameter = 40 }}
"""
SPARE = 0.05
"""More than the chords of the nest's polygons take, mm."""


def drawn(
    folder: Path, kerf: float, web: float | str, width: float, height: float, parts: str
) -> str:
    job = folder / "job.toml"
    quoted = f'"{web}"' if isinstance(web, str) else web
    text = JOB.format(parts=parts, kerf=kerf, web=quoted, width=width, height=height)
    job.write_text(text, encoding="utf-8")
    planned = pipeline.plan(pipeline.check(job))
    return run_files(planned, pipeline.summary_of(planned))["clear.svg"]


def standing(drawing: str, kerf: float) -> float:
    """Return the least film between the slots of two parts, mm; less than 0 where they overlap."""
    middles = defaultdict(list)
    for path in read_cut_drawing(drawing).paths:
        middles[path.title].extend(map(LineString, path.lines))
    pairs = itertools.combinations(map(union_all, middles.values()), 2)
    return min(one.distance(other) for one, other in pairs) - kerf


@pytest.mark.parametrize(("kerf", "web"), [(0.2, 1.0), (0.6, 2.5), (0.0, 1.0), (0.3, 0.0)])
def test_the_web_stands_between_the_slots_of_neighbours(
    tmp_path: Path, kerf: float, web: float
) -> None:
    """By hand: two boards in a row take 2 x 50 + 2 kerf + web + 2 (kerf + margin) mm."""
    width, height = 2 * 50 + 2 * kerf + web + 2 * (kerf + 3), 44.0
    drawing = drawn(tmp_path, kerf, web, width + SPARE, height, PLATES)
    assert standing(drawing, kerf) == pytest.approx(web, abs=SPARE + 0.001)
    with pytest.raises(StockShortError):
        drawn(tmp_path, kerf, web, width - SPARE, height, PLATES)


@pytest.mark.parametrize(("kerf", "web"), [(0.2, 1.0), (0.6, 2.5)])
def test_the_web_stands_round_a_part_in_a_hole(tmp_path: Path, kerf: float, web: float) -> None:
    """By hand: a disc of 40 mm lies in a hole of 40 + 2 (2 kerf + web) mm and no smaller one."""
    hole, side = 40 + 2 * (2 * kerf + web), 88.0
    drawing = drawn(tmp_path, kerf, web, side, side, RING.format(hole=hole + 8 * SPARE))
    assert web - 0.001 < standing(drawing, kerf) < web + 4 * SPARE + 0.001
    with pytest.raises(StockShortError):
        drawn(tmp_path, kerf, web, side, side, RING.format(hole=hole - SPARE))


def test_shared_sides_lie_one_kerf_apart(tmp_path: Path) -> None:
    """By hand: two boards take 2 x 50 + kerf + 2 (kerf + margin) mm."""
    kerf = 0.2
    width, height = 2 * 50 + kerf + 2 * (kerf + 3), 44.0
    drawing = drawn(tmp_path, kerf, "shared", width + SPARE, height, PLATES)
    assert standing(drawing, kerf) == pytest.approx(-kerf, abs=0.001)  # one cut for both
    with pytest.raises(StockShortError):
        drawn(tmp_path, kerf, "shared", width - SPARE, height, PLATES)
