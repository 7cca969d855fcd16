"""Parts keep their distance from a sheet's edge, also where that is less than half the gap."""

import pytest

from jobprep.geometry.outline import Region, polygon
from jobprep.geometry.shapes import annular_sector
from jobprep.nesting.check import check_nest
from jobprep.nesting.nest import Budget, Item, Sheet, Spacing
from jobprep.nesting.search import nest_parts

NOTCHED = ((0, 0), (120, 0), (120, 50), (40, 50), (40, 130), (0, 130))


@pytest.mark.parametrize("edge", [0.0, 0.16, 0.4, 1.0, 5.0])
def test_notched_sheet_with_a_gap_of_its_own(edge: float) -> None:
    """A sheet grown by gap/2 - edge fills its notch; parts came 2 µm too near its edges there."""
    items = [Item(region=annular_sector(5.0, 30.0, 0.0, 1.2), quantity=5)]
    sheets = [Sheet(region=Region(polygon(NOTCHED))), Sheet(region=Region(polygon(NOTCHED)))]
    spacing = Spacing(gap=0.8, edge=edge)
    nest = nest_parts(items, sheets, spacing, Budget(evaluations=300))
    assert nest.unplaced == (0,)
    check_nest(items, sheets, spacing, nest)
