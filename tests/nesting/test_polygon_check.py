"""The proof of a nest and a polygon library agree on random nests, right ones and wrong ones."""

from __future__ import annotations

import math
import random
from collections import Counter
from dataclasses import replace

import pytest
from nesting_problems import varied_problem
from polygon_check import CHORD, polygon_faults

from jobprep.geometry.outline import Point, Region, circle, polygon, rectangle
from jobprep.nesting.check import nest_faults
from jobprep.nesting.nest import Budget, Item, Nest, Placement, Sheet, Spacing
from jobprep.nesting.search import nest_parts

SEEN = 4.0 * CHORD
"""What is wrong by more, mm, the polygons must see: an arc's chord in each of two parts, and the
chords of the round corners that these were grown by."""

SQUARE = Region(rectangle(10.0, 10.0))


def verdicts(seed: int) -> Counter[str]:
    """Prove a nest both ways, then with a part pushed a little; return how often each was said."""
    items, sheets, spacing = varied_problem(seed)
    nest = nest_parts(items, sheets, spacing, Budget(seconds=0.0, seed=seed))
    assert not list(nest_faults(items, sheets, spacing, nest))
    assert not list(polygon_faults(items, sheets, spacing, nest))
    if not nest.placements:
        return Counter(right=1)
    pushed = _pushed(random.Random(seed), nest)
    lenient = Spacing(gap=spacing.gap - SEEN, edge=spacing.edge - SEEN)
    is_refused = any(nest_faults(items, sheets, spacing, pushed))
    is_found = any(polygon_faults(items, sheets, spacing, pushed))
    if is_found:
        assert is_refused, "the polygons meet and the proof says nothing"
    elif min(lenient.gap, lenient.edge) > 0.0:
        assert not any(nest_faults(items, sheets, lenient, pushed)), "the proof alone refuses"
    return Counter(["right", "wrong" if is_found else "right"])


def _pushed(draw: random.Random, nest: Nest) -> Nest:
    """Move one part in any direction, by anything between far less and far more than a web."""
    number = draw.randrange(len(nest.placements))
    far, way = 10.0 ** draw.uniform(-4.0, 1.0), draw.uniform(0.0, math.tau)
    moved = nest.placements[number]
    moved = moved._replace(x=moved.x + far * math.cos(way), y=moved.y + far * math.sin(way))
    placements = (*nest.placements[:number], moved, *nest.placements[number + 1 :])
    return replace(nest, placements=placements)


def test_both_proofs_agree_on_random_nests() -> None:
    said = sum(map(verdicts, range(50)), Counter())
    assert min(said["right"] - 50, said["wrong"]) >= 10, said


@pytest.mark.slow
@pytest.mark.parametrize("hundred", range(10))
def test_both_proofs_agree_on_a_thousand_more(hundred: int) -> None:
    said = sum(map(verdicts, range(10_000 + 100 * hundred, 10_100 + 100 * hundred)), Counter())
    assert min(said["right"] - 100, said["wrong"]) >= 20, said


@pytest.mark.parametrize(
    ("x", "gap", "is_wrong"),
    [
        (10.0, 0.0, False),  # touching
        (10.0 - 5e-7, 0.0, False),
        (10.0 - 3e-6, 0.0, True),
        (12.0, 2.0, False),
        (12.0 - 3e-6, 2.0, True),
    ],
)
def test_squares_side_by_side(x: float, gap: float, is_wrong: bool) -> None:
    nest = Nest(
        sheets=(0,),
        placements=(Placement(0, 0, 0, 0.0, 5.0, 5.0), Placement(0, 1, 0, 0.0, 5.0 + x, 5.0)),
        unplaced=(0,),
    )
    items = [Item(region=SQUARE, quantity=2)]
    spacing, sheets = Spacing(gap=gap, edge=5.0), [Sheet(region=Region(rectangle(60.0, 20.0)))]
    assert any(polygon_faults(items, sheets, spacing, nest)) == is_wrong
    assert any(nest_faults(items, sheets, spacing, nest)) == is_wrong


@pytest.mark.parametrize(
    ("x", "faults"), [(40.0, 0), (30.0 - 5e-7, 0), (30.0 - SEEN, 1), (-20.0, 1), (65.1, 1)]
)
def test_the_edge_and_defects_keep_their_distance(x: float, faults: int) -> None:
    """A square 5 mm from the round edge of a defect, above it, and beyond the sheet."""
    defect = circle(Point(15.0, 30.0), 10.0, clockwise=True)
    sheet = Sheet(region=Region(polygon([(0, 0), (80, 0), (80, 60), (0, 60)]), (defect,)))
    nest = Nest(sheets=(0,), placements=(Placement(0, 0, 0, 0.0, x, 25.0),), unplaced=(0,))
    problem = [Item(region=SQUARE, quantity=1)], [sheet], Spacing(gap=0.0, edge=5.0)
    assert len(list(polygon_faults(*problem, nest))) == faults
    assert any(nest_faults(*problem, nest)) == bool(faults)
