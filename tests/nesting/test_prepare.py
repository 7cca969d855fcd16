"""How much is worked out before a search begins."""

import crowds
import pytest

from jobprep.geometry import shapes
from jobprep.geometry.outline import Region, polygon, rectangle
from jobprep.nesting.fields import FieldPacker, convex_pieces
from jobprep.nesting.layout import SAMPLED
from jobprep.nesting.nest import Item, Sheet, Spacing
from jobprep.nesting.prepare import MOST_PIECES, MOST_PIECES_IN_ALL, build_shapes, sample_points
from jobprep.nesting.problem import Problem, build_problem
from jobprep.nesting.shapes import area, part_polygon


@pytest.mark.slow
def test_the_sums_of_many_rings_are_bounded_as_a_whole() -> None:
    few, many = _summed_pieces(_rings(8)), _summed_pieces(_rings(60))
    assert few and max(few) > 1  # rings against discs are summed while there is time for it
    assert max(few) <= MOST_PIECES and max(many) <= MOST_PIECES
    assert MOST_PIECES_IN_ALL / 100 < sum(many) <= MOST_PIECES_IN_ALL


def _rings(count: int) -> Problem:
    rings = [shapes.ring(4.0 + 0.3 * k, 6.0 + 0.32 * k) for k in range(count)]
    items = [Item(region=ring, quantity=1) for ring in rings]
    return build_problem(
        items, [Sheet(region=Region(rectangle(1000.0, 600.0)))], Spacing(gap=0.0, edge=0.0)
    )


def _summed_pieces(problem: Problem) -> list[int]:
    """Return, of each sum built in advance, how many pairs of convex pieces it joins."""
    built = build_shapes(problem.parts, problem.n_turns, problem.radii, FieldPacker())
    counts = [len(convex_pieces(part).starts) - 1 for part in problem.parts]
    kinds = range(len(counts))
    return [
        counts[i] * counts[j]
        for i in kinds
        for j in kinds
        for field in built.pair[i * len(counts) + j]
        if field > SAMPLED
    ]


def test_a_part_of_small_pieces_alone_can_be_prepared() -> None:
    """A spiral arm of eight turns has no convex piece of a fiftieth of its area."""
    arm = part_polygon(Region(polygon(crowds.spiral(1600))), 0.0)
    pieces = convex_pieces(arm)
    rings = [pieces.points[a:b] for a, b in zip(pieces.starts, pieces.starts[1:], strict=False)]
    assert max(area([ring]) for ring in rings) < 0.02 * area(arm)
    samples = sample_points(arm, 10.0)
    assert len(samples) >= len(arm[0]) and samples.shape[1] == 3
