"""Marks lie clear of every edge, say which side is front and which leads, and shrink or go."""

import math
from dataclasses import replace

import pytest
from disc.designs import design, layer
from disc.random_designs import designs
from disc.shapely_discs import line_of, polygon_of
from hypothesis import HealthCheck, given, settings
from shapely.geometry import MultiLineString

from jobprep.disc.build_parts import disc_parts
from jobprep.disc.marks import EDGE_CLEARANCE, LEAST_HEIGHT
from jobprep.disc.part import Part
from jobprep.disc.stroke_font import number_paths
from jobprep.geometry.outline import Line, Path, Point
from jobprep.model import Design, Hole, Marks
from jobprep.units import from_dial, to_degrees

CHORD_ERROR = 1e-3
"""How far the fine chords of the reference polygons may lie off their arcs, mm."""


def _colour(*sectors: tuple[str, float], gap: float = 0.1, inner: float | None = 30.0) -> Design:
    return design(layer("colour", *sectors, inner=inner, gap=gap))


def _radii(paths: tuple[Path, ...]) -> list[float]:
    return [math.hypot(*point) for path in paths for s in path for point in (s.start, s.end)]


def _tick(part: Part) -> Line:
    segment = part.marks[0][0]
    assert isinstance(segment, Line)
    return segment


@pytest.mark.slow
@given(designs())
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_marks_keep_clear_of_every_edge(wheel: Design) -> None:
    for part in disc_parts(wheel, first_number=96):
        if part.marks:
            outline = polygon_of(part.region)
            marks = MultiLineString([line_of(mark) for mark in part.marks])
            assert outline.contains(marks)
            assert outline.boundary.distance(marks) >= EDGE_CLEARANCE - CHORD_ERROR


@given(designs())
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_tick_and_number_do_not_touch(wheel: Design) -> None:
    for part in disc_parts(wheel):
        if len(part.marks) > 1:
            tick, *number = part.marks
            for stroke in number:
                assert line_of(tick).distance(line_of(stroke)) >= EDGE_CLEARANCE - CHORD_ERROR


def test_only_sectors_are_marked() -> None:
    wheel = design(layer("cover"), layer("colour", ("amber", 90), ("green", 270), inner=30.0))
    cover, amber, green = disc_parts(wheel)
    assert cover.marks == ()
    assert len(amber.marks) == 1 + len(number_paths(2, 2.5))
    assert len(green.marks) == 1 + len(number_paths(3, 2.5))


def test_design_switches_marks_off() -> None:
    wheel = _colour(("amber", 90), ("green", 270))
    for number, tick in ((True, False), (False, True), (False, False)):
        part, _ = disc_parts(replace(wheel, marks=Marks(number=number, tick=tick)))
        strokes = len(number_paths(1, 2.5)) * number + tick
        assert len(part.marks) == strokes


def test_tick_runs_along_the_leading_side() -> None:
    amber, green = disc_parts(_colour(("amber", 90), ("green", 270), gap=0.2))
    # Amber leads at 12 o'clock: its leading side is x = 0.1, green's is y = -0.1.
    tick = _tick(amber)
    assert tick.start.x == pytest.approx(1.1)
    assert tick.end.x == pytest.approx(1.1)
    assert 0.0 < tick.start.y < tick.end.y
    tick = _tick(green)
    assert tick.start.y == pytest.approx(-1.1)
    assert tick.end.y == pytest.approx(-1.1)


def test_number_reads_right_from_the_front_with_its_foot_to_the_centre() -> None:
    # Number 6 brings an underline, drawn from the first digit to the last.
    part, *_ = disc_parts(_colour(("amber", 90), ("green", 270)), first_number=6)
    underline = part.marks[-1][0]
    middle = Point(
        (underline.start.x + underline.end.x) / 2, (underline.start.y + underline.end.y) / 2
    )
    direction = math.atan2(middle.y, middle.x)
    reading = math.atan2(underline.end.y - underline.start.y, underline.end.x - underline.start.x)
    # Seen from the front with the rim up, text runs clockwise.
    assert to_degrees(direction - reading) == pytest.approx(90.0)
    others = _radii(part.marks[1:-1])
    assert min(others) > math.hypot(*middle)


def test_marks_hide_under_the_hub_where_there_is_room() -> None:
    wheel = replace(_colour(("amber", 90), ("green", 270), inner=None), hub_diameter=24.0)
    for part in disc_parts(wheel):
        assert max(_radii(part.marks)) <= 12.0 + 0.1


def test_marks_shrink_before_they_are_left_out() -> None:
    heights = {}
    for inner in (100.0, 111.0, 115.0):
        part, *_ = disc_parts(_colour(("amber", 90), ("green", 270), inner=inner))
        heights[inner] = _tick(part).end.y - _tick(part).start.y if part.marks else 0.0
    assert heights[100.0] == pytest.approx(2.5, rel=1e-3)
    assert LEAST_HEIGHT <= heights[111.0] < 2.5
    assert heights[115.0] == 0.0


def test_a_number_goes_round_a_hole_in_its_way() -> None:
    wheel = _colour(("amber", 90), ("green", 270))
    (before, _), hole = (
        disc_parts(wheel),
        Hole(name="pin", diameter=3, radius=17.0, direction=from_dial(45)),
    )
    after, _ = disc_parts(replace(wheel, holes=(hole,)))
    assert len(after.marks) == len(before.marks)
    assert after.marks[1:] != before.marks[1:]


def test_copies_of_one_part_carry_one_number() -> None:
    (part,) = disc_parts(_colour(*[("amber", 60)] * 6), first_number=7)
    assert part.per_disc == 6
    assert len(part.marks) == 1 + len(number_paths(7, 2.5))
