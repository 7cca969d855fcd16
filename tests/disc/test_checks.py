"""What the checks of a job say, and what they let pass."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import crowds
import pytest
from disc.designs import design, job, layer

from jobprep.disc.build_parts import build_parts
from jobprep.disc.checks import check_job
from jobprep.disc.part_checks import check_part
from jobprep.errors import Finding, Source
from jobprep.geometry.outline import Point as P
from jobprep.geometry.outline import Region, circle, polygon, rectangle
from jobprep.geometry.shapes import rounded_rectangle
from jobprep.model import (
    Beam,
    Design,
    DiscOrder,
    Dot,
    Hole,
    HubSlots,
    LoosePart,
    Opening,
    Original,
    SquareBore,
)
from jobprep.units import from_degrees, from_dial, from_rpm


def no_drawing(path: Path) -> Region:
    raise AssertionError(f"no drawing was to be read: {path}")


def _check(wheel: Design) -> tuple[Finding, ...]:
    one = job(discs=(DiscOrder(design=wheel, copies=1),))
    return check_job(one, build_parts(one, no_drawing))


def _said(findings: tuple[Finding, ...]) -> list[tuple[str, str, str]]:
    return [(f.severity, f.place.field, f.message) for f in findings]


def _fields(findings: tuple[Finding, ...], severity: str) -> list[str]:
    return [f.place.field for f in findings if f.severity == severity]


def _hole(radius: float, angle: float = 45.0, diameter: float = 3.0, **more: object) -> Hole:
    return replace(
        Hole(name="index", diameter=diameter, radius=radius, direction=from_dial(angle)), **more
    )


WHEEL = replace(
    design(
        layer("cover", outer=120.0),
        layer("colour", ("amber", 90), ("green", 180), ("none", 90), inner=30.0, gap=0.1),
    ),
    hub_diameter=36.0,
)


def test_a_sound_design_passes_without_a_word() -> None:
    assert _check(replace(WHEEL, holes=(_hole(52.0),))) == ()


def test_findings_stand_at_their_line() -> None:
    source = Source(file="wheel.toml", lines={"hole[1]": 7, "hole[1].radius": 10})
    findings = _check(replace(WHEEL, holes=(_hole(60.0),), source=source))
    assert str(findings[0]) == (
        "wheel.toml:10: hole[1].radius: reaches 61.5 mm from the centre, not below the rim, 60 mm"
    )


@pytest.mark.parametrize(
    ("radius", "message"),
    [
        (59.0, "reaches 60.5 mm from the centre, not below the rim, 60 mm"),
        (58.5, "reaches 60 mm from the centre, not below the rim, 60 mm"),
        (70.0, "reaches 71.5 mm from the centre, not below the rim, 60 mm"),
        (4.0, "begins 2.5 mm from the centre, not beyond the bore, 3 mm"),
        (1.0, "begins -0.5 mm from the centre, not beyond the bore, 3 mm"),
    ],
)
def test_a_hole_that_breaks_rim_or_bore_is_an_error(radius: float, message: str) -> None:
    findings = _check(replace(design(layer("cover", outer=120.0)), holes=(_hole(radius),)))
    assert ("error", "hole[1].radius", message) in _said(findings)
    assert findings[0].is_error


def test_the_corner_of_a_square_bore_counts() -> None:
    wheel = replace(design(layer("cover")), bore=SquareBore(side=6.0, direction=0.0))
    assert _fields(_check(replace(wheel, holes=(_hole(5.5),))), "error") == ["hole[1].radius"]
    assert _fields(_check(replace(wheel, holes=(_hole(7.0),))), "error") == []


def test_a_hole_across_a_joint_is_a_caution() -> None:
    findings = _check(replace(WHEEL, holes=(_hole(40.0, angle=90.5),)))
    assert _fields(findings, "error") == []
    (joint,) = [f for f in findings if f.place.field == "hole[1].angle"]
    assert joint.message.startswith(
        'the hole lies across the joint of amber and green in layer "colour"'
    )


def test_a_hole_on_the_far_side_of_the_centre_is_not_across_the_joint() -> None:
    """The joint runs from the centre one way only."""
    assert _check(replace(WHEEL, holes=(_hole(52.0, angle=225.0),))) == ()
    assert _check(replace(WHEEL, holes=(_hole(40.0, angle=315.0),))) == ()


def test_a_hole_into_a_sectors_open_side_or_a_layers_edge_is_a_notch() -> None:
    side = _check(replace(WHEEL, holes=(_hole(40.0, angle=0.5),)))
    assert _fields(side, "caution") == ["hole[1].angle"]
    assert "notch into a sector's side" in side[0].message
    outer = _check(replace(WHEEL, holes=(_hole(57.5, angle=45),)))
    assert 'notch into the outer edge of layer "colour"' in outer[0].message
    inner = _check(replace(WHEEL, holes=(_hole(15.5, angle=135),)))
    assert any('notch into the inner edge of layer "colour"' in f.message for f in inner)


def test_a_hole_that_cuts_nothing_is_told() -> None:
    hole = _hole(20.0, angle=315.0, layers=("colour",))
    assert _said(_check(replace(WHEEL, holes=(hole,)))) == [
        ("caution", "hole[1]", "the hole lies where no layer has film, so it cuts nothing")
    ]


def test_holes_that_meet_are_told_only_in_a_layer_they_share() -> None:
    first, second = _hole(40.0), _hole(40.0, angle=48.0, name="pin")
    findings = _check(replace(WHEEL, holes=(first, second)))
    assert ("caution", "hole[2].radius", '"pin" runs into "index", hole[1]') in _said(findings)
    apart = (
        replace(first, layers=("cover",)),
        replace(second, layers=("colour",)),
    )
    assert _check(replace(WHEEL, holes=apart)) == ()


def test_nothing_vanishes_under_the_kerf() -> None:
    """The smallest opening a beam of 0.2 mm leaves is 0.2 mm wide."""
    tiny = _check(replace(WHEEL, holes=(_hole(40.0, diameter=0.2),)))
    assert _fields(tiny, "error") == ["hole[1].diameter"] * 2  # clear and amber, it is not in green
    assert "vanishes under the kerf of 0.2 mm" in tiny[0].message
    small = _check(replace(WHEEL, holes=(_hole(40.0, diameter=0.4),)))
    assert _fields(small, "error") == []
    assert set(_fields(small, "caution")) == {"hole[1].diameter"}


def test_slots_and_openings_narrower_than_the_kerf_are_errors() -> None:
    slots = HubSlots(count=3, circle_diameter=20, length=6, width=0.15, direction=0.0)
    assert "hub_slot[1].width" in _fields(_check(replace(WHEEL, hub_slots=(slots,))), "error")
    slit = Opening(
        angle=from_degrees(0.2),
        count=4,
        inner_diameter=60.0,
        outer_diameter=100.0,
        direction=0.0,
    )
    mask = design(replace(layer("mask", film="black"), openings=(slit,)))
    assert "layer[1].opening[1].degrees" in _fields(_check(mask), "error")


def test_slots_that_break_edges_or_each_other_are_errors() -> None:
    good = HubSlots(count=3, circle_diameter=20, length=6, width=2, direction=0.0)
    assert _check(replace(WHEEL, hub_slots=(good,))) == ()
    for change, field in (
        ({"circle_diameter": 7.0}, "circle_diameter"),
        ({"circle_diameter": 119.0}, "circle_diameter"),
        ({"length": 25.0}, "length"),
        ({"length": 1.0}, "length"),
    ):
        findings = _check(replace(WHEEL, hub_slots=(replace(good, **change),)))
        assert f"hub_slot[1].{field}" in _fields(findings, "error")


def test_a_slot_across_a_joint_is_told() -> None:
    slots = HubSlots(count=4, circle_diameter=40, length=6, width=2, direction=from_dial(91.0))
    said = _said(_check(replace(WHEEL, hub_slots=(slots,))))
    assert [(severity, field) for severity, field, _ in said] == [("caution", "hub_slot[1].angle")]
    turned = replace(slots, direction=from_dial(45.0))
    assert _check(replace(WHEEL, hub_slots=(turned,))) == ()


def test_a_layer_that_falls_to_pieces_is_told() -> None:
    slit = Opening(
        angle=from_degrees(60), count=3, inner_diameter=2, outer_diameter=None, direction=0.0
    )
    blades = design(replace(layer("blades", film="black"), openings=(slit,)))
    assert _said(_check(replace(blades, hub_diameter=20.0))) == [
        ("caution", "layer[1]", "this layer falls into 3 pieces, each cut and laid by itself")
    ]


def test_a_corner_radius_that_does_not_fit_is_an_error() -> None:
    window = Opening(
        angle=from_degrees(20),
        count=1,
        inner_diameter=60,
        outer_diameter=100,
        direction=0.0,
        corner_radius=6.0,
    )
    mask = design(replace(layer("mask", film="black"), openings=(window,)))
    assert _fields(_check(mask), "error") == ["layer[1].opening[1].corner_radius"]


def test_sectors_of_which_nothing_is_left_are_errors() -> None:
    wheel = design(layer("colour", ("amber", 1), ("green", 179), ("red", 180), inner=30.0, gap=3.0))
    assert "layer[1].sector[1]" in _fields(_check(wheel), "error")


def test_a_sector_too_narrow_to_hold_is_an_error_and_a_narrow_tip_a_caution() -> None:
    """Films here hold in strips of at least 1 mm."""
    thin = design(layer("colour", ("amber", 0.9), ("green", 359.1), inner=60.0))
    findings = _check(thin)
    assert ("error", "layer[1].sector[1]") in [(f.severity, f.place.field) for f in findings]
    assert any("nowhere 1 mm wide" in f.message for f in findings)
    tip = design(layer("colour", ("amber", 8), ("green", 352)), bore=6.0)
    (caution,) = [f for f in _check(tip) if "tip or tongue" in f.message]
    assert caution.place.field == "layer[1].sector[1]"


def test_a_web_between_hole_and_edge_is_measured() -> None:
    findings = _check(replace(WHEEL, holes=(_hole(58.0, layers=("cover",)),)))
    assert _said(findings) == [
        (
            "caution",
            "layer[1]",
            "part 1 has a web of 0.5 mm; the least that holds in clear is 1 mm",
        )
    ]


def test_a_neck_between_two_notches_is_told() -> None:
    """Two cuts from opposite sides leave 0.6 mm of a 20 mm bar."""
    bar = drawn_polygon(
        (
            (0, 0), (9, 0), (9, 9.7), (10, 9.7), (10, 0), (20, 0),
            (20, 20), (10, 20), (10, 10.3), (9, 10.3), (9, 20), (0, 20),
        )
    )  # fmt: skip
    findings = _loose(bar)
    assert [f.place.field for f in findings] == ["part[1]"]
    assert "neck narrower than 1 mm" in findings[0].message


def test_a_tongue_is_told_and_square_corners_are_not() -> None:
    tongue = drawn_polygon(
        ((0, 0), (20, 0), (20, 10), (28, 10), (28, 10.8), (20, 10.8), (20, 20), (0, 20))
    )
    assert ["tip or tongue" in f.message for f in _loose(tongue)] == [True]
    assert _loose(rounded_rectangle(20, 20, 0.0)) == ()
    assert _loose(rounded_rectangle(20, 1.2, 0.5)) == ()
    assert _loose(drawn_polygon(((0, 0), (20, 0), (0, 20)))) == ()


@pytest.mark.parametrize("width", [1e-4, 0.02, 0.1])
def test_a_hair_is_told_however_thin(width: float) -> None:
    """A ray of 0.1 mm at its foot has less area than two square corners lose."""
    side = [(0, 0), (20, 0), (20, 10 - width / 2), (26, 10), (20, 10 + width / 2)]
    ray = drawn_polygon((*side, (20, 20), (0, 20)))
    assert ["tip or tongue" in f.message for f in _loose(ray)] == [True]
    strip = drawn_polygon((*side[:3], (26, 10 - width / 2), (26, 10 + width / 2), *side[4:],
                           (20, 20), (0, 20)))  # fmt: skip
    assert ["tip or tongue" in f.message for f in _loose(strip)] == [True]


def test_a_star_of_hair_thin_rays_has_tongues() -> None:
    """A beam would leave film between them, so a knife is asked, whose kerf is 0."""
    one = job(
        parts=(
            LoosePart(
                name="star", film="clear", copies=1, region=drawn_polygon(crowds.star(10_000))
            ),
        )
    )
    (part,) = build_parts(one, no_drawing)
    (found,) = check_part("part[1]", part, one.films["clear"], 0.0)
    assert "tip or tongue narrower than 1 mm" in found.message


@pytest.mark.parametrize("sides", [3, 4, 5, 12, 100, 1000])
def test_polygons_and_their_teeth_are_no_tongues(sides: int) -> None:
    """Corners of 60 degrees and more; 0.1 mm up and down between them loses less than the web."""
    angles = [math.tau * i / sides for i in range(sides)]
    corners = [((50 + 0.1 * (i % 2)) * math.cos(a), (50 + 0.1 * (i % 2)) * math.sin(a))
               for i, a in enumerate(angles)]  # fmt: skip
    assert _loose(drawn_polygon(tuple(corners))) == ()


def test_an_outline_that_would_take_too_long_is_refused_at_its_field(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("jobprep.geometry.offset.MOST_CROSSINGS", 750)
    monkeypatch.setattr("jobprep.geometry.offset.MOST_WORK", 3_000)
    rough = [(x / 7.0, y / 7.0) for x, y in crowds.rough(1_500)]
    (refused,) = _loose(drawn_polygon(rough))
    assert refused.is_error and refused.place.field == "part[1]"
    assert refused.message.startswith("part 1: an outline has too many edges")


def test_a_hole_of_a_drawn_part_that_vanishes_is_an_error() -> None:
    def drawn(radius: float) -> tuple[Finding, ...]:
        plate = Region(rectangle(20, 20), (circle(P(10, 10), radius, clockwise=True),))
        return _loose(plate)

    assert _fields(drawn(0.09), "error") == ["part[1]"]
    assert _fields(drawn(0.5), "error") == []


def test_gaps_that_show_and_overlaps_are_told() -> None:
    wide = replace(WHEEL, layers=(WHEEL.layers[0], replace(WHEEL.layers[1], joint_gap=0.4)))
    assert _fields(_check(wide), "caution") == ["layer[2].joint_gap"]
    overlap = replace(WHEEL, layers=(WHEEL.layers[0], replace(WHEEL.layers[1], joint_gap=-0.4)))
    assert "overlap by 0.4 mm" in _check(overlap)[0].message


def test_marks_without_room_and_marks_in_the_light_are_told() -> None:
    bars = design(layer("bars", *[("black", 1.5), ("clear", 1.5)] * 120, inner=90.0))
    said = [f.message for f in _check(bars)]
    assert "part 1 has no room for its number; label it when it drops" in said
    lit = replace(WHEEL, beam=Beam(width=4.0, radius=17.0))
    assert any("stand in the light beam" in f.message for f in _check(lit))


def test_a_turning_disc_gets_its_cautions() -> None:
    turning = replace(
        WHEEL,
        angular_speed=from_rpm(600.0),
        balance_grade=6.3,
        original=Original(mass=1.0, thickness=0.3),
    )
    said = {f.place.field: f.message for f in _check(turning)}
    assert "out of balance" in said["balance_grade"]
    assert said["original.mass_g"].startswith("the copy's mass is 2.")
    assert said["original.thickness_mm"].endswith("0.125 mm less")
    spin = [f.message for f in _check(turning) if f.place.field == "speed_rpm"]
    assert any("behind a guard" in message for message in spin)
    assert any("flashes up to 10 times in one second (10 Hz found)" in message for message in spin)


def test_red_flashes_are_called_out() -> None:
    red = replace(
        design(layer("colour", ("red", 180), ("black", 180), inner=30.0)),
        angular_speed=from_rpm(600.0),
    )
    assert any(
        "saturated red flashes up to 10 times in one second" in f.message for f in _check(red)
    )


def test_an_unsafe_claim_is_never_made() -> None:
    turning = replace(WHEEL, angular_speed=from_rpm(600.0), balance_grade=4000.0)
    assert not any(" safe" in f.message.lower() for f in _check(turning))


def test_bars_that_look_still_are_told() -> None:
    bars = Opening(
        angle=from_degrees(1.0),
        count=180,
        inner_diameter=90.0,
        outer_diameter=100.0,
        direction=from_dial(0.0),
    )
    plate = replace(layer("bars", film="black"), openings=(bars,))
    findings = _check(replace(design(plate), angular_speed=from_rpm(100 / 3)))
    assert any("lamps that flash at 50, 100 Hz" in f.message for f in findings)


def test_dots_are_checked_at_their_own_field() -> None:
    dots = (
        Dot(name="small", film="black", diameter=0.8, radius=40, direction=0.0),
        Dot(name="good", film="black", diameter=5.0, radius=40, direction=1.0),
    )
    findings = _check(replace(design(layer("cover")), dots=dots))
    assert _fields(findings, "error") == ["dot[1]"]


def test_the_same_design_twice_is_told_once() -> None:
    wheel = replace(WHEEL, holes=(_hole(40.0, angle=90.5),))
    once = job(discs=(DiscOrder(design=wheel, copies=1),))
    twice = job(discs=(DiscOrder(design=wheel, copies=1), DiscOrder(design=wheel, copies=2)))
    joint = [f for f in check_job(twice, build_parts(twice, no_drawing)) if "joint" in str(f)]
    assert len(joint) == len(
        [f for f in check_job(once, build_parts(once, no_drawing)) if "joint" in str(f)]
    )


def _loose(region: Region) -> tuple[Finding, ...]:
    one = job(parts=(LoosePart(name="plate", film="clear", copies=1, region=region),))
    return check_job(one, build_parts(one, no_drawing))


def drawn_polygon(points: Sequence[tuple[float, float]]) -> Region:
    return Region(polygon(tuple(points)))
