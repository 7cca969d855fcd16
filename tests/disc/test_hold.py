"""What holds each piece: closed forms, shapely as an oracle, and where "held" must not be said."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import pytest
import shapely
from disc.designs import FILMS, design, layer
from disc.random_designs import designs
from disc.shapely_discs import CHORDS, disc, polygon_of
from hypothesis import given
from shapely.geometry.base import BaseGeometry

from jobprep.disc.hold import BY_HAND, MOST, Hold, disc_hold
from jobprep.disc.mass import piece_bodies
from jobprep.model import Design, Dot, FlatBore, HubSlots, Layer, Opening
from jobprep.units import from_degrees, from_dial, from_rpm

GRID = 1e-9
"""What shapes are rounded to, mm: shapely fails on sides that nearly lie on one another."""
COVERS = layer("front", outer=120.0), layer("back", outer=120.0)
QUARTERS = (("amber", 90.0), ("green", 90.0), ("red", 90.0), ("black", 90.0))


def holds_of(wheel: Design) -> tuple[Hold, ...]:
    return disc_hold(wheel, piece_bodies(wheel, FILMS))


def ways(wheel: Design, layer_number: int) -> set[str]:
    return {hold.by for hold in holds_of(wheel) if hold.piece.layer == layer_number}


def wheel_of(*layers: Layer, hub: float | None = 24.0, bore: float | None = 6.0) -> Design:
    return replace(design(*layers, bore=bore), hub_diameter=hub)


def colour(inner: float | None, gap: float = 0.0) -> Layer:
    return layer("colour", *QUARTERS, inner=inner, gap=gap)


def test_area_under_the_hub_is_that_of_a_quarter_ring() -> None:
    """pi (R² - r²) / 4, less a strip of half the gap along both sides."""
    found = [hold for hold in holds_of(wheel_of(colour(20.0))) if hold.piece.sector == 1]
    (hold,) = found
    assert hold.by == "hub"
    assert hold.grip.area == pytest.approx(math.pi * (12.0**2 - 10.0**2) / 4.0, rel=1e-12)
    (hold, *_) = holds_of(wheel_of(colour(20.0, gap=0.2)))

    def beside(radius: float) -> float:
        """Return the area of a quarter disc less both strips: a square corner cut off."""
        half = 0.1
        angle = math.pi / 2.0 - 2.0 * math.asin(half / radius)
        reach = math.sqrt(radius**2 - half**2)
        return radius**2 * angle / 2.0 - half * (reach - half)

    assert hold.grip.area == pytest.approx(beside(12.0) - beside(10.0), rel=1e-9)


def test_area_between_covers_is_that_of_the_piece_inside_both() -> None:
    narrow = layer("front", outer=100.0)
    wheel = wheel_of(narrow, colour(30.0), COVERS[1])
    hold = next(each for each in holds_of(wheel) if each.piece.layer == 2)
    assert hold.by == "covers"
    assert hold.grip.area == pytest.approx(math.pi * (50.0**2 - 15.0**2) / 4.0, rel=1e-12)


def test_pull_is_mass_times_radius_times_angular_speed_squared() -> None:
    """Centroid of a quarter ring: 4 sqrt(2) (R³ - r³) / (3 pi (R² - r²)) (handbooks)."""
    wheel = replace(wheel_of(colour(20.0)), angular_speed=from_rpm(600.0))
    hold = next(each for each in holds_of(wheel) if each.piece.film == "amber")
    amber = FILMS["amber"]
    area = math.pi * (58.0**2 - 10.0**2) / 4.0
    mass = area * amber.thickness * amber.density  # g
    radius = 4.0 * math.sqrt(2.0) * (58.0**3 - 10.0**3) / (3.0 * math.pi * (58.0**2 - 10.0**2))
    force = mass * 1e-3 * radius * 1e-3 * (600.0 * math.tau / 60.0) ** 2  # kg, m, rad/s
    assert hold.pull == pytest.approx(force, rel=1e-9)
    assert hold.pressure == pytest.approx(force / hold.grip.area, rel=1e-12)
    assert holds_of(wheel_of(colour(20.0)))[0].pull is None


@pytest.mark.parametrize("inner", [24.0, 24.0 - BY_HAND, 30.0])
def test_an_overlap_without_glue_holds_nothing(inner: float) -> None:
    """The sectors lie on a held cover all over, but no glue, no hub and no second cover."""
    assert ways(wheel_of(colour(inner), COVERS[1]), 1) == {"nothing"}
    assert ways(wheel_of(colour(22.0), COVERS[1]), 1) == {"hub"}


def test_a_cover_on_one_side_only_holds_nothing() -> None:
    assert ways(wheel_of(COVERS[0], colour(30.0)), 2) == {"nothing"}
    assert ways(wheel_of(colour(30.0), COVERS[1]), 1) == {"nothing"}
    assert ways(wheel_of(COVERS[0], colour(30.0), COVERS[1]), 2) == {"covers"}


def test_two_covers_on_the_same_side_hold_nothing() -> None:
    assert ways(wheel_of(COVERS[0], COVERS[1], colour(30.0)), 3) == {"nothing"}


def test_covers_that_nothing_holds_hold_nothing() -> None:
    loose = replace(COVERS[0], inner_diameter=28.0)
    assert ways(wheel_of(loose, colour(30.0), COVERS[1]), 2) == {"nothing"}
    assert ways(wheel_of(loose, colour(30.0), replace(loose, name="back")), 2) == {"nothing"}
    # A ring round the hub, with room to slip, is not pinned by it either.
    assert ways(wheel_of(loose), 1) == {"nothing"}


def test_covers_between_covers_hold_in_turn() -> None:
    """Layer 3 lies in front of a ring that only covers hold."""
    ring = layer("ring", inner=40.0, outer=118.0)
    wheel = wheel_of(COVERS[0], colour(44.0), ring, COVERS[1])
    assert ways(wheel, 2) == {"covers"}
    assert ways(wheel, 3) == {"covers"}


def test_a_piece_of_which_most_sticks_out_of_the_covers_is_loose() -> None:
    sector = math.pi * (58.0**2 - 15.0**2)
    edge = math.sqrt(15.0**2 + MOST * sector / math.pi)
    for diameter, by in ((2.0 * edge + 0.1, "covers"), (2.0 * edge - 0.1, "nothing")):
        narrow = layer("front", outer=diameter)
        assert ways(wheel_of(narrow, colour(30.0), COVERS[1]), 2) == {by}


def test_a_sector_over_an_open_place_of_a_cover_is_loose() -> None:
    window = Opening(
        angle=from_degrees(90.0),
        count=1,
        inner_diameter=28.0,
        outer_diameter=118.0,
        direction=from_dial(0.0),
    )
    wheel = wheel_of(replace(COVERS[0], openings=(window,)), colour(30.0), COVERS[1])
    found = {hold.piece.sector: hold.by for hold in holds_of(wheel) if hold.piece.layer == 2}
    assert found == {1: "nothing", 2: "covers", 3: "covers", 4: "covers"}


def test_what_goes_round_the_bore_is_pinned_on_the_axle() -> None:
    assert ways(wheel_of(COVERS[0], hub=None), 1) == {"pin"}
    flat = FlatBore(diameter=8.0, across=7.2, direction=0.0)
    assert ways(replace(wheel_of(COVERS[0], hub=None), bore=flat), 1) == {"pin"}
    assert ways(wheel_of(COVERS[0], hub=None, bore=None), 1) == {"nothing"}
    wide = replace(COVERS[0], inner_diameter=7.0)
    assert ways(wheel_of(wide, hub=None), 1) == {"nothing"}
    assert ways(wheel_of(colour(None), hub=None), 1) == {"nothing"}
    # An opening from the bore to the rim leaves a fork, which slips off.
    slit = Opening(angle=from_degrees(30.0), count=1, inner_diameter=2.0, direction=0.0)
    assert ways(wheel_of(replace(COVERS[0], openings=(slit,)), hub=None), 1) == {"nothing"}


def test_a_tab_pins_what_goes_all_round_its_slot() -> None:
    slots = HubSlots(
        count=2, circle_diameter=40.0, length=5.0, width=2.0, direction=from_dial(45.0)
    )
    wheel = replace(wheel_of(colour(30.0), hub=None), hub_slots=(slots,))
    found = {hold.piece.sector: hold.by for hold in holds_of(wheel)}
    assert found == {1: "pin", 2: "nothing", 3: "pin", 4: "nothing"}
    # A slot across the joint is open to both sides.
    across = replace(wheel, hub_slots=(replace(slots, direction=from_dial(90.0)),))
    assert ways(across, 1) == {"nothing"}


def test_what_openings_part_from_the_hub_is_loose() -> None:
    ring = Opening(
        angle=from_degrees(350.0), count=1, inner_diameter=30.0, outer_diameter=34.0, direction=0.0
    )
    bridged = replace(COVERS[0], openings=(ring,))
    assert ways(wheel_of(bridged), 1) == {"hub"}
    parted = replace(
        COVERS[0],
        openings=(
            replace(ring, angle=from_degrees(179.0), direction=0.0),
            replace(ring, angle=from_degrees(183.0), direction=from_degrees(181.5)),
        ),
    )
    assert sorted(hold.by for hold in holds_of(wheel_of(parted))) == ["hub", "nothing"]


def dotted(wheel: Design, **changes: object) -> Hold:
    dot = Dot(name="dot", film="clear", diameter=8.0, radius=40.0, direction=from_dial(45.0))
    wheel = replace(wheel, dots=(replace(dot, **changes),))  # type: ignore[arg-type]
    return holds_of(wheel)[-1]


def test_a_chain_of_glue_holds_as_far_as_its_end_is_held() -> None:
    on_held = dotted(wheel_of(COVERS[0], colour(20.0)), count=3)
    assert on_held.by == "glue"
    assert on_held.dot == "dot"
    assert on_held.grip.area == pytest.approx(16.0 * math.pi, rel=1e-9)
    assert dotted(wheel_of(COVERS[0], colour(30.0))).by == "nothing"
    # It lies on the film next to it, whatever lies beneath that.
    assert dotted(wheel_of(COVERS[0], layer("plate", inner=30.0))).by == "nothing"


def test_a_patch_over_a_joint_counts_what_lies_on_held_sectors() -> None:
    """Half on a sector that reaches under the hub, half on one that an opening parts from it."""
    off = Opening(
        angle=from_degrees(91.0),
        count=1,
        inner_diameter=21.0,
        outer_diameter=26.0,
        direction=from_dial(89.5),
    )
    wheel = wheel_of(replace(colour(20.0), openings=(off,)))
    hold = dotted(wheel, direction=from_dial(90.0))
    assert hold.by == "glue"
    assert hold.grip.area == pytest.approx(8.0 * math.pi, rel=1e-6)


def test_a_patch_in_an_open_place_is_stuck_on_what_lies_behind() -> None:
    open_ = layer("colour", ("none", 90.0), ("green", 270.0), inner=20.0)
    assert dotted(wheel_of(COVERS[0], open_, COVERS[1]), layer="colour").by == "glue"
    loose = replace(COVERS[1], inner_diameter=30.0)
    assert dotted(wheel_of(COVERS[0], open_, loose), layer="colour").by == "nothing"


def film_of(shape: BaseGeometry) -> BaseGeometry:
    """Return a shape without the lines along which others only touch: shapely refuses a mix."""
    return shapely.MultiPolygon(
        [each for each in shapely.get_parts(shape) if isinstance(each, shapely.Polygon)]
    )


@pytest.mark.slow
@given(designs())
def test_areas_are_those_that_shapely_finds(wheel: Design) -> None:
    """Random layers, openings, holes and gaps; chords of both sides differ by 4e-7 of an area."""
    assert wheel.hub_diameter is not None
    zone = disc(0.0, 0.0, wheel.hub_diameter / 2.0)
    holds = [hold for hold in holds_of(wheel) if not hold.dot]
    shapes = [polygon_of(hold.piece.region) for hold in holds]
    slack = 1e-5 * wheel.outer_diameter**2

    @cache
    def held_beyond(layer: int, sign: int) -> BaseGeometry:
        """Return what is held in the layers in front of one (-1), or behind it (1)."""
        others = (
            shape
            for hold, shape in zip(holds, shapes, strict=True)
            if hold.is_held and sign * (hold.piece.layer - layer) > 0
        )
        return shapely.union_all([*others], grid_size=GRID)

    for hold, shape in zip(holds, shapes, strict=True):
        if hold.by == "hub":
            assert hold.grip.area == pytest.approx(shape.intersection(zone).area, abs=slack)
        elif hold.by != "pin":
            within = disc(0.0, 0.0, wheel.hub_diameter / 2.0 - BY_HAND)
            assert shape.intersection(within).area < slack
        front, back = (held_beyond(hold.piece.layer, sign) for sign in (-1, 1))
        within_both = film_of(shape.intersection(front, grid_size=GRID))
        between = within_both.intersection(back, grid_size=GRID).area
        if hold.by == "covers":
            assert hold.grip.area == pytest.approx(between, abs=slack)
            assert between >= MOST * shape.area - slack
        elif hold.by == "nothing":
            assert between < MOST * shape.area + slack
    assert CHORDS == 4096
