"""Small holes in a sheet (defects, bites of earlier jobs) keep their distance from every part."""

import pytest

from jobprep.geometry.outline import Region, moved_contour, rectangle, reversed_contour
from jobprep.geometry.shapes import ring
from jobprep.nesting.check import check_nest
from jobprep.nesting.nest import Budget, Item, Sheet, Spacing
from jobprep.nesting.search import nest_parts


@pytest.mark.parametrize("seed", range(1, 21))
def test_a_defect_smaller_than_a_part_is_never_covered(seed: int) -> None:
    """A hole wholly inside a part crosses no edge of it; the part was placed right over it."""
    defect = reversed_contour(moved_contour(rectangle(4.0, 4.0), 0.0, 55.0 + seed, 48.0))
    sheets = [Sheet(region=Region(rectangle(150.0, 100.0), (defect,)))]
    items = [
        Item(region=ring(0.0, 20.0), quantity=3),
        Item(region=ring(0.0, 9.0), quantity=4),
    ]
    spacing = Spacing(gap=1.2, edge=3.0)
    nest = nest_parts(items, sheets, spacing, Budget(evaluations=20_000, seed=seed))
    check_nest(items, sheets, spacing, nest)
    assert nest.unplaced == (0, 0)
