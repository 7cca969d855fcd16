"""From designs and jobs to numbered parts: order, merging, outlines, copies."""

import math
from dataclasses import replace
from pathlib import Path

import pytest
from disc.designs import design, job, layer

from jobprep.disc.build_parts import build_parts, disc_parts
from jobprep.disc.part import Part
from jobprep.disc.pieces import design_pieces
from jobprep.geometry.measure import area, centroid, region_bounds
from jobprep.geometry.outline import Arc, Line, Region, moved_region, rectangle
from jobprep.geometry.shapes import ring
from jobprep.model import (
    DiscOrder,
    Dot,
    FlatBore,
    Hole,
    HubSlots,
    KeyedBore,
    LoosePart,
    Opening,
    SquareBore,
)
from jobprep.units import from_degrees, from_dial


def no_drawing(path: Path) -> Region:
    raise AssertionError(f"no drawing was to be read: {path}")


def _names(parts: tuple[Part, ...]) -> list[tuple[int, str, str, int]]:
    return [(part.number, part.name, part.film, part.quantity) for part in parts]


def test_numbers_run_disc_by_disc_front_to_back_and_clockwise_then_loose_parts() -> None:
    wheel = design(
        layer("cover"),
        layer("colour", ("amber", 60), ("green", 75.5), ("black", 180), ("none", 44.5)),
    )
    loose = LoosePart(name="washer", film="clear", copies=8, region=ring(0.0, 12.0))
    parts = build_parts(
        job(
            discs=(
                DiscOrder(design=wheel, copies=4),
                DiscOrder(design=design(layer("lone")), copies=1),
            ),
            parts=(loose,),
        ),
        no_drawing,
    )
    assert _names(parts) == [
        (1, "Wheel, cover", "clear", 4),
        (2, "Wheel, colour 1 amber", "amber", 4),
        (3, "Wheel, colour 2 green", "green", 4),
        (4, "Wheel, colour 3 black", "black", 4),
        (5, "Wheel, lone", "clear", 1),
        (6, "washer", "clear", 8),
    ]
    assert [(part.disc, part.layer, part.sector) for part in parts] == [
        (0, 1, 0),
        (0, 2, 1),
        (0, 2, 2),
        (0, 2, 3),
        (1, 1, 0),
        (None, 0, 0),
    ]


def test_a_sector_is_two_arcs_and_two_sides_with_nothing_else() -> None:
    wheel = design(layer("colour", ("amber", 60), ("green", 300), inner=30.0, gap=0.1))
    for part in disc_parts(wheel):
        kinds = sorted(type(segment).__name__ for segment in part.region.outer.segments)
        assert kinds == ["Arc", "Arc", "Line", "Line"]
        assert not part.region.holes


def test_sectors_run_clockwise_from_the_start_angle() -> None:
    wheel = design(layer("colour", ("amber", 90), ("green", 270), start=30.0))
    amber, green = disc_parts(wheel)
    middle = centroid(amber.region)
    assert math.atan2(middle.y, middle.x) == pytest.approx(from_dial(75.0))
    middle = centroid(green.region)
    assert math.atan2(middle.y, middle.x) == pytest.approx(from_dial(255.0))


def test_joint_gap_is_a_parallel_strip_where_films_meet_and_absent_beside_openings() -> None:
    wheel = design(
        layer("colour", ("amber", 90), ("green", 90), ("none", 180), inner=30.0, gap=0.4)
    )
    amber, green = disc_parts(wheel)
    box = region_bounds(amber.region)
    # Amber fills the upper right quarter: its side to green draws back from y = 0, not that at
    # the opening, x = 0.
    assert (box.x_min, box.y_min) == pytest.approx((0.0, 0.2))
    assert region_bounds(green.region).y_max == pytest.approx(-0.2)
    sides = [s for s in amber.region.outer.segments if isinstance(s, Line)]
    level = [s for s in sides if abs(s.start.y - s.end.y) < 1e-9]
    assert [s.start.y for s in level] == pytest.approx([0.2])


def test_a_negative_gap_overlaps() -> None:
    wheel = design(layer("colour", ("amber", 90), ("green", 270), inner=30.0, gap=-0.4))
    amber, _ = disc_parts(wheel)
    box = region_bounds(amber.region)
    assert (box.x_min, box.y_min) == pytest.approx((-0.2, -0.2))


def test_equal_sectors_of_one_layer_are_one_part() -> None:
    wheel = design(layer("bars", *[("black", 40), ("clear", 20)] * 6))
    black, clear = disc_parts(wheel, copies=3)
    assert black.name == "Wheel, bars 1+3+5+7+9+11 black"
    assert (black.per_disc, black.quantity) == (6, 18)
    assert black.sectors == (1, 3, 5, 7, 9, 11)
    assert clear.sectors == (2, 4, 6, 8, 10, 12)
    pieces = {piece.sector: piece for piece in design_pieces(wheel)}
    for turn, sector in zip(black.turns, black.sectors, strict=True):
        a = centroid(moved_region(black.region, turn, 0.0, 0.0))
        b = centroid(pieces[sector].region)
        assert math.dist(a, b) < 1e-9


@pytest.mark.parametrize(
    ("step", "sectors"),
    [
        (None, [(1, 2, 3)]),
        (15.0, [(1, 2, 3)]),
        (120.0, [(1, 2, 3)]),
        (45.0, [(1,), (2,), (3,)]),  # 120 degrees are no multiple
        (180.0, [(1,), (2,), (3,)]),
        (360.0, [(1,), (2,), (3,)]),
    ],
)
def test_a_film_with_a_grain_is_the_same_part_only_at_turns_that_it_allows(
    step: float | None, sectors: list[tuple[int, ...]]
) -> None:
    wheel = design(layer("bars", *[("black", 120)] * 3))
    turn = None if step is None else from_degrees(step)
    grained = replace(job().films["black"], rotation_step=turn)
    parts = disc_parts(wheel, films={"black": grained})
    assert [part.sectors for part in parts] == sectors
    ordered = job(discs=(DiscOrder(design=wheel, copies=1),))
    built = build_parts(replace(ordered, films={**ordered.films, "black": grained}), no_drawing)
    assert [part.sectors for part in built] == sectors


def test_a_hole_or_a_name_or_another_layer_keeps_sectors_apart() -> None:
    wheel = design(layer("bars", *[("black", 90)] * 4), layer("more", *[("black", 90)] * 4))
    hole = Hole(name="index", diameter=3, radius=54, direction=from_dial(10), layers=("bars",))
    parts = disc_parts(replace(wheel, holes=(hole,)))
    assert [part.sectors for part in parts] == [(1,), (2, 3, 4), (1, 2, 3, 4)]
    first = wheel.layers[0]
    named = replace(first, sectors=(replace(first.sectors[0], name="dusk"), *first.sectors[1:]))
    parts = disc_parts(design(named))
    assert [part.name for part in parts] == ["Wheel, bars 1 dusk", "Wheel, bars 2+3+4 black"]


def test_holes_go_through_all_layers_or_the_named_ones() -> None:
    wheel = replace(
        design(layer("front"), layer("back")),
        holes=(
            Hole(name="index", diameter=3, radius=54, direction=0.0),
            Hole(name="pin", diameter=2, radius=20, direction=0.0, layers=("back",)),
        ),
    )
    front, back = disc_parts(wheel)
    assert len(front.region.holes) == 2  # bore and index
    assert len(back.region.holes) == 3
    full = math.pi * (58**2 - 3**2)
    assert area(front.region) == pytest.approx(full - math.pi * 1.5**2)
    assert area(back.region) == pytest.approx(full - math.pi * (1.5**2 + 1.0))


def test_a_hole_over_a_joint_takes_its_part_of_both_sectors_as_an_arc() -> None:
    wheel = replace(
        design(layer("colour", ("amber", 180), ("green", 180), inner=30.0)),
        holes=(Hole(name="pin", diameter=4, radius=40, direction=from_dial(0.0)),),
    )
    for part in disc_parts(wheel):
        assert area(part.region) == pytest.approx(math.pi * ((58**2 - 15**2) / 2 - 2))
        arcs = [s for s in part.region.outer.segments if isinstance(s, Arc)]
        assert sorted(arc.radius for arc in arcs) == pytest.approx([2.0, 15.0, 58.0])


@pytest.mark.parametrize(
    ("bore", "cut"),
    [
        (SquareBore(side=6.0, direction=from_dial(45)), 36.0),
        (
            FlatBore(diameter=6.0, across=5.0, direction=0.0),
            # the circle less the segment beyond a flat 2 mm from its middle
            math.pi * 9 - (9 * math.acos(2 / 3) - 2 * math.sqrt(5)),
        ),
        (
            KeyedBore(diameter=6.0, key_width=2.0, key_depth=1.0, direction=0.3),
            # the circle and a key from x = 0 to 4, less what both cover
            math.pi * 9 + 2 * 4 - (9 * math.asin(1 / 3) + math.sqrt(8)),
        ),
    ],
    ids=["square", "flat", "keyed"],
)
def test_bores_take_their_own_area(bore: SquareBore | FlatBore | KeyedBore, cut: float) -> None:
    wheel = replace(design(layer("full"), layer("halves", *[("amber", 180)] * 2)), bore=bore)
    full, *halves = disc_parts(wheel)
    assert area(full.region) == pytest.approx(math.pi * 58**2 - cut)
    total = sum(area(half.region) * half.per_disc for half in halves)
    assert total == pytest.approx(math.pi * 58**2 - cut)


def test_a_layer_beyond_the_bore_does_not_see_it() -> None:
    wheel = replace(
        design(layer("colour", ("amber", 90), ("green", 270), inner=9.0)),
        bore=SquareBore(side=6.0, direction=0.0),
    )
    for part in disc_parts(wheel):
        kinds = sorted(type(segment).__name__ for segment in part.region.outer.segments)
        assert kinds == ["Arc", "Arc", "Line", "Line"]


def test_hub_slots_are_cut_evenly_round_the_bore() -> None:
    slots = HubSlots(count=3, circle_diameter=20, length=6, width=2, direction=from_dial(0))
    (full,) = disc_parts(replace(design(layer("full")), hub_slots=(slots,)))
    assert len(full.region.holes) == 4
    each = 4.0 * 2.0 + math.pi
    assert area(full.region) == pytest.approx(math.pi * (58**2 - 9) - 3 * each)


def test_openings_are_windows_or_reach_the_rim() -> None:
    window = Opening(
        angle=from_degrees(40),
        count=3,
        inner_diameter=60,
        outer_diameter=100,
        direction=from_dial(0),
    )
    (full,) = disc_parts(design(replace(layer("mask"), openings=(window,))))
    assert len(full.region.holes) == 4
    window_area = from_degrees(40) * (50**2 - 30**2) / 2
    assert area(full.region) == pytest.approx(math.pi * (58**2 - 9) - 3 * window_area)
    to_rim = replace(window, outer_diameter=None)
    (blades,) = disc_parts(design(replace(layer("mask"), openings=(to_rim,))))
    assert len(blades.region.holes) == 1
    assert area(blades.region) == pytest.approx(
        math.pi * (58**2 - 9) - 3 * from_degrees(40) * (58**2 - 30**2) / 2
    )


def test_the_first_opening_begins_at_its_angle_and_runs_clockwise() -> None:
    window = Opening(
        angle=from_degrees(90),
        count=1,
        inner_diameter=60,
        outer_diameter=100,
        direction=from_dial(0),
    )
    (full,) = disc_parts(design(replace(layer("mask"), openings=(window,))))
    hole = next(h for h in full.region.holes if len(h.segments) == 4)
    xs = [segment.start.x for segment in hole.segments]
    ys = [segment.start.y for segment in hole.segments]
    assert min(xs) == pytest.approx(0.0, abs=1e-9)
    assert min(ys) == pytest.approx(0.0, abs=1e-9)


def test_window_corners_are_rounded_and_rim_corners_stay_sharp() -> None:
    window = Opening(
        angle=from_degrees(40),
        count=1,
        inner_diameter=60,
        outer_diameter=100,
        direction=from_dial(0),
        corner_radius=2.0,
    )
    (full,) = disc_parts(design(replace(layer("mask"), openings=(window,))))
    hole = next(h for h in full.region.holes if len(h.segments) > 2)
    assert sum(isinstance(s, Arc) and s.radius == pytest.approx(2.0) for s in hole.segments) == 4
    to_rim = replace(window, outer_diameter=None)
    (blade,) = disc_parts(design(replace(layer("mask"), openings=(to_rim,))))
    round_corners = [
        s
        for s in blade.region.outer.segments
        if isinstance(s, Arc) and s.radius == pytest.approx(2.0)
    ]
    assert len(round_corners) == 2


def test_a_layer_cut_right_through_falls_into_parts_of_their_own() -> None:
    slit = Opening(
        angle=from_degrees(60),
        count=3,
        inner_diameter=2,
        outer_diameter=None,
        direction=from_dial(0),
    )
    (blade,) = disc_parts(design(replace(layer("blades", film="black"), openings=(slit,))))
    assert blade.name == "Wheel, blades, piece 1+2+3"
    assert (blade.per_disc, blade.quantity) == (3, 3)
    assert area(blade.region) == pytest.approx(from_degrees(60) * (58**2 - 9) / 2)


def test_gaps_wider_than_a_sector_leave_no_part() -> None:
    wheel = design(layer("colour", ("amber", 1), ("green", 179), ("red", 180), inner=30.0, gap=3.0))
    assert [part.film for part in disc_parts(wheel)] == ["green", "red"]


def test_counterweight_dots_are_parts_of_their_disc() -> None:
    dot = Dot(name="weight", film="black", diameter=5, radius=40, direction=0.0, count=2)
    *_, part = disc_parts(replace(design(layer("cover")), dots=(dot,)), copies=4)
    assert (part.name, part.film, part.quantity, part.per_disc) == ("Wheel, weight", "black", 8, 2)
    assert area(part.region) == pytest.approx(math.pi * 2.5**2)


def test_loose_parts_are_read_from_drawings_or_taken_as_they_are() -> None:
    loose = (
        LoosePart(name="ring", film="clear", copies=2, region=ring(3.25, 12.0)),
        LoosePart(name="drawn", film="clear", copies=2, drawing=Path("plate.svg")),
    )
    seen: list[Path] = []

    def read(path: Path) -> Region:
        seen.append(path)
        return Region(rectangle(4.0, 3.0))

    parts = build_parts(job(parts=loose), read)
    assert seen == [Path("plate.svg")]
    assert [part.name for part in parts] == ["ring", "drawn"]
    assert [area(part.region) for part in parts] == pytest.approx([math.pi * (144 - 3.25**2), 12.0])
