"""Heat: the cooling of a thin body, crowding of an order, and orders that keep it low."""

import math
from dataclasses import replace

import pytest
from cutting.sheets import CUTTER, FILM, hole, placed, sheet_of, sheets
from hypothesis import given, settings

from jobprep.cutting.heat import REACH, SMALL_LATE, CutHeat, cooling_seconds, cut_heat
from jobprep.cutting.motion import motion, rest_to_rest
from jobprep.cutting.plan import Cut, Operation, PlacedPart
from jobprep.cutting.plan_cuts import plan_cuts
from jobprep.cutting.precedence import ContourId, releases
from jobprep.cutting.spread import spread_heat
from jobprep.geometry.outline import Point, Region, circle, moved_region, rectangle
from jobprep.geometry.shapes import annular_sector

KERF = 0.12


def contours(cuts: tuple[Cut, ...]) -> list[Cut]:
    return [cut for cut in cuts if cut.operation is not Operation.MARK]


def heat_of(cuts: tuple[Cut, ...], parts: list[PlacedPart]) -> CutHeat:
    return cut_heat(contours(cuts), parts, FILM, CUTTER)


def crowding(cuts: tuple[Cut, ...], parts: list[PlacedPart]) -> float:
    heat = heat_of(cuts, parts)
    return heat.crowding(range(len(heat.seconds)))


def fans(columns: int, rows: int) -> list[PlacedPart]:
    """Sectors side by side, every other one upside down, about 1 mm apart."""
    sector = annular_sector(14.0, 60.0, math.pi / 2.0 - 0.25, 0.5)
    return [
        placed(
            moved_region(
                sector,
                math.pi * (column % 2),
                20.0 + 19.0 * column,
                75.0 * (column % 2) + 64.0 * row,
            ),
            columns * row + column + 1,
        )
        for row in range(rows)
        for column in range(columns)
    ]


def test_film_cools_as_a_thin_body() -> None:
    # Newton's law of cooling, lumped capacity: m c / (2 h) with 1.39 g/cm³, 0.1 mm, 1.2 J/(g·K)
    # and 20 W/(m²·K) from each face: 0.139 kg/m² * 1200 / 40 = 4.17 s
    assert cooling_seconds(FILM) == pytest.approx(4.17)
    thick = replace(FILM, thickness=2.0)
    assert cooling_seconds(thick) == pytest.approx(20 * 4.17)


def test_crowding_of_two_is_nearness_faded_over_the_pause() -> None:
    parts = [
        placed(Region(circle(Point(10.0, 10.0), 5.0))),
        placed(Region(circle(Point(22.0, 10.0), 5.0)), 2),
        placed(Region(circle(Point(60.0, 10.0), 5.0)), 3),
    ]
    cuts = plan_cuts(parts, 0.0, CUTTER, FILM, 0).cuts
    heat = heat_of(cuts, parts)
    number = {cut.part: index for index, cut in enumerate(cuts)}
    nearness = 1.0 - 2.0 / REACH
    assert heat.near[number[0]] == pytest.approx({number[1]: nearness})
    assert heat.near[number[2]] == {}
    pause = heat.move_seconds(number[0], number[1])
    assert pause == pytest.approx(
        rest_to_rest(
            math.dist(heat.ends[number[0]], heat.starts[number[1]]), CUTTER.travel_speed, 1000.0
        )
    )
    expected = nearness * math.exp(-pause / cooling_seconds(FILM))
    assert heat.crowding([number[0], number[1], number[2]]) == pytest.approx(expected)
    apart = heat.crowding([number[0], number[2], number[1]])
    pause = (
        heat.move_seconds(number[0], number[2])
        + heat.seconds[number[2]]
        + heat.move_seconds(number[2], number[1])
    )
    assert apart == pytest.approx(nearness * math.exp(-pause / cooling_seconds(FILM)))


def test_a_small_part_after_its_large_neighbour_counts() -> None:
    parts = [
        placed(Region(rectangle(50.0, 50.0))),
        placed(moved_region(Region(rectangle(10.0, 10.0)), 0.0, 52.0, 0.0), 2),
    ]
    cuts = plan_cuts(parts, 0.0, CUTTER, FILM, 0).cuts
    heat = heat_of(cuts, parts)
    large, small = sorted(range(2), key=lambda index: cuts[index].part)
    slow = replace(heat, cooling=1e-6)
    assert slow.crowding([small, large]) == 0.0
    assert slow.crowding([large, small]) == pytest.approx(SMALL_LATE)


def test_sectors_side_by_side_are_cut_apart_in_time_for_little_more_time() -> None:
    parts = fans(10, 3)
    short = plan_cuts(parts, KERF, CUTTER, FILM, 2).cuts
    spread = spread_heat(short, parts, KERF, FILM, CUTTER)
    assert crowding(spread, parts) < 0.2 * crowding(short, parts)
    assert motion(spread, CUTTER, 50.0).seconds < 1.06 * motion(short, CUTTER, 50.0).seconds


def test_more_spread_buys_less_crowding_for_more_travel() -> None:
    parts = fans(8, 2)
    short = plan_cuts(parts, KERF, CUTTER, FILM, 2).cuts
    crowdings = [
        crowding(spread_heat(short, parts, KERF, FILM, CUTTER, spread), parts)
        for spread in (0.0, 0.2, 5.0)
    ]
    assert crowdings[0] > crowdings[1] > crowdings[2]


@settings(max_examples=12, deadline=None)
@given(parts=sheets)
def test_every_cut_stays_in_a_right_order(parts: list[PlacedPart]) -> None:
    planned = plan_cuts(parts, KERF, CUTTER, FILM, 0).cuts
    spread = spread_heat(planned, parts, KERF, FILM, CUTTER, 3.0)
    ids = [(cut.operation, cut.part, cut.hole) for cut in spread]
    assert sorted(map(str, ids)) == sorted(
        str((cut.operation, cut.part, cut.hole)) for cut in planned
    )
    marks = [cut for cut in planned if cut.operation is Operation.MARK]
    assert list(spread[: len(marks)]) == marks
    place = {ContourId(cut.part, cut.hole): index for index, cut in enumerate(contours(spread))}
    for id, release in releases(parts).items():
        assert release is None or place[id] < place[release]


def test_no_spread_changes_nothing_and_the_same_cuts_give_the_same_order() -> None:
    parts = sheet_of(["nested", "plate", "sector"], 4)
    planned = plan_cuts(parts, KERF, CUTTER, FILM, 0).cuts
    assert spread_heat(planned, parts, KERF, FILM, CUTTER, 0.0) == planned
    first = spread_heat(planned, parts, KERF, FILM, CUTTER)
    assert spread_heat(planned, parts, KERF, FILM, CUTTER) == first


def test_an_order_that_needs_no_spreading_keeps_its_travel() -> None:
    parts = [
        placed(
            Region(circle(Point(60.0 * n + 30.0, 30.0), 9.0), (hole(60.0 * n + 30.0, 30.0, 2.0),))
        )
        for n in range(6)
    ]
    planned = plan_cuts(parts, KERF, CUTTER, FILM, 2)
    spread = spread_heat(planned.cuts, parts, KERF, FILM, CUTTER)
    travel = motion(spread, CUTTER, 50.0).travel_length
    assert travel <= planned.motion.travel_length + 1e-6
