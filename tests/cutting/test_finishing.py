"""Spread, shared sides, tabs and leads one after another still leave the parts right."""

import pytest
import shapely
from cutting.sheets import (
    CONCAVE_CORNERS,
    CUTTER,
    FILM,
    less,
    placed,
    polygon_of,
    sheet_of,
    slot,
    stray_area,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.cutting.leads import LeadRule, add_leads
from jobprep.cutting.plan import Cut, Operation, PlacedPart
from jobprep.cutting.plan_cuts import plan_cuts
from jobprep.cutting.shared import share_cuts
from jobprep.cutting.spread import spread_heat
from jobprep.cutting.tabs import TabRule, add_tabs
from jobprep.geometry.outline import Region, moved_region, rectangle

KERF = 0.15
SHEET = moved_region(Region(rectangle(400.0, 400.0)), 0.0, -20.0, -20.0)


def mixed_sheet(seed: int) -> list[PlacedPart]:
    """Parts of all kinds, and six tiles side by side that share their sides."""
    parts = sheet_of(["sector", "plate", "nested", "sector"], seed)
    for column in range(3):
        for row in range(2):
            x, y = 180.0 + column * (30.0 + KERF), row * (25.0 + KERF)
            region = moved_region(Region(rectangle(30.0, 25.0)), 0.0, x, y)
            parts.append(placed(region, len(parts) + 1))
    return parts


def finished(parts: list[PlacedPart], tabs: int) -> list[Cut]:
    cuts = plan_cuts(parts, KERF, CUTTER, FILM, 0).cuts
    cuts = spread_heat(cuts, parts, KERF, FILM, CUTTER)
    cuts = share_cuts(cuts, parts, KERF).cuts
    if tabs:
        cuts = add_tabs(cuts, parts, KERF, TabRule(count=tabs, width=0.5)).cuts
    rule = LeadRule(lead_in=0.8, overcut=0.3, lead_out=0.4)
    cuts = add_leads(cuts, parts, SHEET, KERF, rule).cuts
    return [cut for cut in cuts if cut.operation is not Operation.MARK]


@settings(max_examples=6, deadline=None)
@given(seed=st.integers(0, 1000))
def test_without_tabs_every_part_drops_once_and_nominal(seed: int) -> None:
    parts = mixed_sheet(seed)
    left: shapely.Geometry = polygon_of(SHEET)
    dropped: list[shapely.Geometry] = []
    for cut in finished(parts, 0):
        removed = slot(cut.strokes, KERF)
        assert all(removed.intersection(piece).area < 1e-3 for piece in dropped)
        pieces = shapely.get_parts(less(left, removed))
        left = max(pieces, key=lambda piece: piece.area)
        dropped += [piece for piece in pieces if piece is not left]
    for part in parts:
        nominal = polygon_of(part.region)
        inside = nominal.representative_point()
        (piece,) = [each for each in dropped if each.contains(inside)]
        assert stray_area(piece, nominal) < CONCAVE_CORNERS


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_with_tabs_every_part_stays_in_the_sheet(seed: int) -> None:
    parts = mixed_sheet(seed)
    left: shapely.Geometry = polygon_of(SHEET)
    for cut in finished(parts, 2):
        left = less(left, slot(cut.strokes, KERF))
    sheet = max(shapely.get_parts(left), key=lambda piece: piece.area)
    for part in parts:
        assert sheet.contains(polygon_of(part.region).representative_point())
