"""Leads lie in the scrap, touch nobody, and the parts come out nominal all the same."""

import math

import pytest
import shapely
from cutting.sheets import (
    CONCAVE_CORNERS,
    CUTTER,
    FILM,
    hole,
    less,
    placed,
    points_along,
    polygon_of,
    sheet_of,
    sheets,
    slot,
    stray_area,
)
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.cutting.along import is_closed
from jobprep.cutting.leads import LeadRule, Led, add_leads
from jobprep.cutting.plan import Operation, PlacedPart
from jobprep.cutting.plan_cuts import plan_cuts
from jobprep.cutting.tabs import TabRule, add_tabs
from jobprep.geometry.measure import path_length
from jobprep.geometry.outline import Point, Region, circle, moved_region, rectangle

SHEET = moved_region(Region(rectangle(400.0, 400.0)), 0.0, -10.0, -10.0)
RULE = LeadRule(lead_in=1.0, overcut=0.3, lead_out=0.5)


def cut_with_leads(
    parts: list[PlacedPart], rule: LeadRule = RULE, kerf: float = 0.12, sheet: Region = SHEET
) -> Led:
    return add_leads(plan_cuts(parts, kerf, CUTTER, FILM, 0).cuts, parts, sheet, kerf, rule)


@settings(max_examples=12, deadline=None)
@given(parts=sheets, kerf=st.sampled_from((0.0, 0.12, 0.4)))
def test_leads_touch_no_part_and_nothing_outside_the_sheet(
    parts: list[PlacedPart], kerf: float
) -> None:
    led = cut_with_leads(parts, kerf=kerf)
    assert led.left_out == 0
    material = shapely.union_all([polygon_of(part.region) for part in parts])
    for cut in led.cuts:
        if cut.operation is Operation.MARK:
            continue
        path = shapely.LineString(points_along(cut.strokes[0]))
        slot = path.buffer(max(kerf / 2.0 - 1e-3, 1e-6))
        if kerf > 0.0:
            assert not slot.intersects(material.buffer(-1e-3))
        else:
            assert path.intersection(material.buffer(-1e-3)).length < 1e-6
        assert polygon_of(SHEET).contains(slot)


@settings(max_examples=12, deadline=None)
@given(parts=sheets)
def test_finished_parts_stay_nominal(parts: list[PlacedPart]) -> None:
    kerf = 0.12
    left = polygon_of(SHEET)
    for cut in cut_with_leads(parts, kerf=kerf).cuts:
        if cut.operation is not Operation.MARK:
            left = less(left, slot(cut.strokes, kerf))
    pieces = list(shapely.get_parts(left))
    for part in parts:
        nominal = polygon_of(part.region)
        (piece,) = [each for each in pieces if each.contains(nominal.representative_point())]
        assert stray_area(piece, nominal) < CONCAVE_CORNERS


def test_a_path_is_as_long_as_its_contour_its_leads_and_its_overcut() -> None:
    part = placed(Region(circle(Point(50.0, 50.0), 20.0)))
    (cut,) = cut_with_leads([part]).cuts
    (path,) = cut.strokes
    assert path_length(path) == pytest.approx(math.tau * 20.06 + 1.0 + 0.3 + 0.5, abs=1e-5)
    assert path[0].end == pytest.approx(path[1].start)
    centre = Point(50.0, 50.0)
    assert math.dist(path[0].start, centre) > 20.5
    assert math.dist(path[-1].end, centre) > 20.3
    # the overcut runs on over the start
    assert math.dist(path[-1].start, path[1].start) == pytest.approx(0.3, abs=1e-4)


def test_in_a_hole_the_leads_lie_in_the_hole() -> None:
    part = placed(Region(circle(Point(50.0, 50.0), 20.0), (hole(50.0, 50.0, 6.0),)))
    inner = cut_with_leads([part]).cuts[0].strokes[0]
    assert math.dist(inner[0].start, (50.0, 50.0)) < 5.5
    assert math.dist(inner[-1].end, (50.0, 50.0)) < 5.8


def test_leads_lean_the_way_the_beam_goes() -> None:
    part = placed(Region(circle(Point(50.0, 50.0), 20.0)))
    (path,) = cut_with_leads([part]).cuts[0].strokes
    x, y = path[1].start
    along = (-(y - 50.0), x - 50.0)  # anticlockwise round the disc
    lead_in, lead_out = path[0], path[-1]
    for lead in (lead_in, lead_out):
        forward = (lead.end.x - lead.start.x) * along[0] + (lead.end.y - lead.start.y) * along[1]
        assert forward > 0.0


def test_a_lead_gets_shorter_where_a_neighbour_is_near_and_goes_where_there_is_no_room() -> None:
    kerf = 0.12
    for gap, shortened, left_out in ((5.0, 0, 0), (0.62, 4, 0), (0.2, 0, 4)):
        # a ring of film round a disc leaves a slit of one width to the disc
        disc = placed(Region(circle(Point(50.0, 50.0), 20.0)), 1)
        frame = placed(Region(rectangle(100.0, 100.0), (hole(50.0, 50.0, 20.0 + gap),)), 2, "frame")
        rule = LeadRule(lead_in=0.8, lead_out=0.8)
        led = cut_with_leads([disc, frame], rule, kerf)
        assert (led.shortened, led.left_out) == (shortened, left_out)


def test_a_lead_stays_on_the_sheet() -> None:
    part = placed(moved_region(Region(rectangle(20.0, 20.0)), 0.0, 0.3, 0.3))
    sheet = Region(rectangle(20.6, 20.6))
    led = cut_with_leads([part], LeadRule(lead_in=5.0, lead_out=0.0), 0.12, sheet)
    assert led.left_out == 1
    assert is_closed(led.cuts[0].strokes[0])


def test_without_a_rule_nothing_changes_and_tabs_and_marks_are_left_alone() -> None:
    parts = sheet_of(["nested", "sector"], 2)
    planned = plan_cuts(parts, 0.12, CUTTER, FILM, 0).cuts
    assert cut_with_leads(parts, LeadRule()).cuts == planned
    tabbed = add_tabs(planned, parts, 0.12, TabRule(count=2, width=0.5)).cuts
    led = add_leads(tabbed, parts, SHEET, 0.12, RULE).cuts
    for before, after in zip(tabbed, led, strict=True):
        if before.operation is Operation.MARK or len(before.strokes) > 1:
            assert after == before
        else:
            assert path_length(after.strokes[0]) > path_length(before.strokes[0])
