"""Random edits of shapes and places are refused, or shapely finds nothing wrong with them."""

from __future__ import annotations

import copy
import random
from pathlib import Path
from typing import Any

import pytest
import shapely
from case_files import Tables
from recorded.lanterns import text_of
from shapely.affinity import rotate, translate
from virtual_cut import nominal_polygon

from jobprep.errors import InputError
from jobprep.runs.recorded_run import recorded_run

FACTS = ("parts", "sheets", "placements")
STEPS = (-60.0, -3.0, -0.5, 0.1, 1.0, 5.0, 90.0)


def numbers_of(value: Any, keys: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Return the ways to all numbers in a value."""
    if isinstance(value, dict):
        return [way for key, each in value.items() for way in numbers_of(each, (*keys, key))]
    if isinstance(value, list):
        return [way for key, each in enumerate(value) for way in numbers_of(each, (*keys, key))]
    return [keys] if isinstance(value, int | float) and not isinstance(value, bool) else []


SEEDS = (0, *(pytest.param(seed, marks=pytest.mark.slow) for seed in range(1, 16)))


@pytest.mark.parametrize("seed", SEEDS)
def test_what_is_proven_of_an_edited_record_is_right(shop: Path, values: Tables, seed: int) -> None:
    """Any number of its shapes and places is changed: refused, or shapely finds nothing wrong."""
    chance = random.Random(seed)
    ways = numbers_of({key: values[key] for key in FACTS})
    accepted = 0
    for _ in range(25):
        changed = copy.deepcopy(values)
        *first, last = chance.choice(ways)
        table: Any = changed
        for key in first:
            table = table[key]
        step = chance.choice(STEPS)
        table[last] += round(step) or 1 if isinstance(table[last], int) else step
        path = shop / "run" / "run.toml"
        path.write_text(text_of(changed))
        try:
            found = recorded_run(path).record
        except InputError:
            continue
        accepted += 1
        shapes = {part.number: nominal_polygon(part.region) for part in found.parts}
        sheets = [nominal_polygon(sheet.region) for sheet in found.sheets]
        placed: list[list[shapely.Polygon]] = [[] for _ in sheets]
        for each in found.placements:
            turned = rotate(shapes[each.part], each.angle, origin=(0, 0), use_radians=True)
            placed[each.sheet].append(translate(turned, each.x, each.y))
        for sheet, own in zip(sheets, placed, strict=True):
            assert all(shape.is_valid and sheet.covers(shape.buffer(1.0)) for shape in own)
            tree = shapely.STRtree(own)
            near = tree.query(own, predicate="dwithin", distance=1.31)
            assert all(a == b for a, b in zip(*near, strict=True))
    assert accepted
