"""The plan of a sheet: everything once, in a right order, from good starts, by a short way."""

import math
from dataclasses import replace
from random import Random

import pytest
from cutting.sheets import CUTTER, FILM, HOOK, TICK, hole, placed, sheet_of, sheets
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.cutting.kerf import tool_paths
from jobprep.cutting.motion import HOME
from jobprep.cutting.plan import Cut, CutPlan, Operation, PlacedPart
from jobprep.cutting.plan_cuts import plan_cuts
from jobprep.cutting.precedence import releases
from jobprep.cutting.starts import possible_starts, start_point
from jobprep.errors import CannotDoError
from jobprep.geometry.measure import bounds, contour_contains, path_length, signed_area
from jobprep.geometry.outline import Contour, Path, Point, Region, circle

KERF = 0.12


def plan(parts: list[PlacedPart], kerf: float = KERF, kicks_per_stop: int = 1) -> CutPlan:
    return plan_cuts(parts, kerf, CUTTER, FILM, kicks_per_stop)


def travel(strokes: list[Path]) -> float:
    place, length = HOME, 0.0
    for stroke in strokes:
        length += math.dist(place, stroke[0].start)
        place = stroke[-1].end
    return length


def strokes_of(cuts: tuple[Cut, ...]) -> list[Path]:
    return [stroke for cut in cuts for stroke in cut.strokes]


def key(path: Path) -> tuple[float, ...]:
    """What stays of a closed path wherever it begins."""
    return tuple(round(value, 6) for value in (*bounds(path), path_length(path)))


def encloses(outside: Path, inside: Path) -> bool:
    return outside is not inside and contour_contains(Contour(outside), inside[0].start)


@settings(max_examples=20, deadline=None)
@given(parts=sheets, kerf=st.sampled_from((0.0, 0.12, 0.4)))
def test_every_contour_is_cut_once_and_every_mark_drawn_once(
    parts: list[PlacedPart], kerf: float
) -> None:
    cuts = plan(parts, kerf).cuts
    wanted = []
    for index, part in enumerate(parts):
        paths = tool_paths(part, kerf)
        wanted.append((index, Operation.CUT_OUTER, key(paths.outer.segments)))
        wanted += [(index, Operation.CUT_INNER, key(path.segments)) for path in paths.holes]
    done = [
        (cut.part, cut.operation, key(cut.strokes[0]))
        for cut in cuts
        if cut.operation is not Operation.MARK
    ]
    assert sorted(done) == sorted(wanted)
    marked = [cut for cut in cuts if cut.operation is Operation.MARK]
    assert sorted(cut.part for cut in marked) == [i for i, part in enumerate(parts) if part.marks]
    for cut in marked:
        drawn = sorted(path_length(stroke) for stroke in cut.strokes)
        assert drawn == pytest.approx(sorted(map(path_length, parts[cut.part].marks)))


@settings(max_examples=20, deadline=None)
@given(parts=sheets)
def test_marks_come_first_and_nothing_is_cut_after_its_piece_has_dropped(
    parts: list[PlacedPart],
) -> None:
    cuts = plan(parts).cuts
    operations = [cut.operation for cut in cuts]
    first_cut = next(i for i, each in enumerate(operations) if each is not Operation.MARK)
    assert Operation.MARK not in operations[first_cut:]
    strokes = [cut.strokes[0] for cut in cuts[first_cut:]]
    for earlier, outside in enumerate(strokes):
        for later in strokes[earlier + 1 :]:
            assert not encloses(outside, later)


@settings(max_examples=20, deadline=None)
@given(parts=sheets, kerf=st.sampled_from((0.0, 0.12)))
def test_travel_is_no_longer_than_unsorted_or_nearest_neighbour(
    parts: list[PlacedPart], kerf: float
) -> None:
    cuts = plan(parts, kerf).cuts
    mark_strokes = strokes_of(tuple(cut for cut in cuts if cut.operation is Operation.MARK))
    cut_strokes = strokes_of(cuts)[len(mark_strokes) :]
    start = mark_strokes[-1][-1].end if mark_strokes else HOME
    planned = travel(strokes_of(cuts)) - travel(mark_strokes)

    # as given, each contour from the nearest of its starts
    free = releases(parts)
    starts = {}
    for id in free:
        paths = tool_paths(parts[id.part], kerf)
        path = paths.outer if id.hole is None else paths.holes[id.hole]
        offered = possible_starts(path, kerf, hole=id.hole is not None)
        starts[id] = [start_point(path, each) for each in offered]
    left = set(free)
    place, nearest = start, 0.0
    while left:
        may = [id for id in left if not any(free[other] == id for other in left)]
        step, id, point = min(
            ((math.dist(place, point), id, point) for id in may for point in starts[id]),
            key=lambda each: each[0],
        )
        nearest, place = nearest + step, point
        left.remove(id)
    assert planned <= nearest + 1e-9
    assert len(cut_strokes) == len(free)

    unsorted, place = 0.0, start
    for index, part in enumerate(parts):
        for number in (*range(len(part.region.holes)), None):
            points = next(p for id, p in starts.items() if id == (index, number))
            point = min(points, key=lambda each: math.dist(place, each))
            unsorted, place = unsorted + math.dist(place, point), point
    if all(free_by is None or free_by.hole is None for free_by in free.values()):
        assert planned <= unsorted + 1e-9  # a part in a hole may make this order impossible


def test_the_same_parts_give_the_same_plan() -> None:
    parts = sheet_of(["nested", "sector", "plate"], 1)
    assert plan(parts) == plan(parts)


def test_shuffled_parts_give_a_valid_plan_of_about_the_same_travel() -> None:
    parts = sheet_of(["sector", "plate", "nested", "ring", "plate", "sector"], 5)
    lengths = []
    for seed in range(3):
        mixed = list(parts)
        Random(seed).shuffle(mixed)
        plans = plan(mixed, kicks_per_stop=10)
        assert len(plans.cuts) == len(plan(parts).cuts)
        lengths.append(plans.motion.travel_length)
    assert max(lengths) < 1.05 * min(lengths)


def test_a_row_is_cut_along_the_row_however_it_is_listed() -> None:
    # six discs in a row: the only short way is along it, each at its nearest points
    parts = [placed(Region(circle(Point(100.0 + 20.0 * i, 0.0), 5.0)), i) for i in range(6)]
    cuts = plan(parts, 0.0).cuts
    assert [cut.part for cut in cuts] == [0, 1, 2, 3, 4, 5]
    assert [cut.part for cut in plan(parts[::-1], 0.0).cuts] == [5, 4, 3, 2, 1, 0]


def test_outer_paths_run_anticlockwise_and_holes_clockwise() -> None:
    for cut in plan(sheet_of(["plate", "ring"], 2)).cuts:
        turns = signed_area(Contour(cut.strokes[0]))
        assert (turns > 0.0) == (cut.operation is Operation.CUT_OUTER)


def test_marks_of_one_part_stay_together_and_strokes_join_up() -> None:
    parts = [
        placed(Region(circle(Point(20.0, 20.0), 9.0)), marks=(TICK, HOOK)),
        placed(Region(circle(Point(60.0, 20.0), 9.0))),
    ]
    (mark, *_) = plan(parts).cuts
    assert mark.operation is Operation.MARK
    assert mark.part == 0
    assert travel(list(mark.strokes)) <= travel([TICK, HOOK]) + 1e-9


def test_motion_belongs_to_the_cuts() -> None:
    planned = plan(sheet_of(["plate", "nested"], 3))
    strokes = strokes_of(planned.cuts)
    home = math.hypot(*strokes[-1][-1].end)
    assert planned.motion.travel_length == pytest.approx(travel(strokes) + home)
    assert planned.motion.pierces == sum(
        1 for cut in planned.cuts if cut.operation is not Operation.MARK
    )
    assert planned.kerf == KERF


def test_no_parts_are_no_cuts() -> None:
    assert plan([]).cuts == ()


def test_a_film_without_a_cutting_speed_is_refused() -> None:
    cutter = replace(CUTTER, cut_speed={"card": 20.0})
    with pytest.raises(CannotDoError, match="the cutter bench has no cutting speed for amber"):
        plan_cuts(
            [placed(Region(circle(Point(9.0, 9.0), 5.0), (hole(9, 9, 2),)))], 0.1, cutter, FILM
        )
