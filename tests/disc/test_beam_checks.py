"""What no beam can make of a part: said by name, width and place, never cut in silence."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from disc.designs import design, layer

from jobprep.disc.beam_checks import CutPart, beam_losses, left_by_beam
from jobprep.disc.build_parts import disc_parts
from jobprep.disc.part import Part
from jobprep.errors import CannotDoError, Finding, Source
from jobprep.geometry.outline import Contour, Point, Region, circle, polygon, rectangle
from jobprep.geometry.shapes import rounded_rectangle
from jobprep.model import Design, FlatBore, Hole, HubSlots, KeyedBore, Opening, SquareBore
from jobprep.units import from_degrees, from_dial

KERF = 0.3
COMB = ((0, 0), (20, 0), (20, 30), (10.2, 30), (10.2, 10), (10, 10), (10, 30), (0, 30))
"""A plate with a slot 0.2 mm wide and 20 mm deep."""


def loose(outer: Contour, *holes: Contour) -> Part:
    return Part(number=1, name="comb", film="clear", quantity=1, region=Region(outer, holes))


def losses(part: Part, kerf: float = KERF) -> list[tuple[str, str, str]]:
    return told(beam_losses("part[1]", part, kerf, None))


def told(found: object) -> list[tuple[str, str, str]]:
    return [
        (finding.severity, finding.place.field, finding.message)
        for finding in found  # type: ignore[attr-defined]
    ]


def losses_of(disc: Design, kerf: float = KERF) -> list[tuple[str, str, str]]:
    found: dict[Finding, None] = {}
    for part in disc_parts(disc):
        path = f"layer[{part.layer}]" + (f".sector[{part.sector}]" if part.sector else "")
        found |= dict.fromkeys(beam_losses(path, part, kerf, disc))
    return told(found)


def square_hole(side: float, x: float = 5.0, y: float = 5.0) -> Contour:
    return polygon(((x, y), (x, y + side), (x + side, y + side), (x + side, y)))


# Outlines.


def test_a_slot_narrower_than_the_kerf_is_refused_with_its_width_and_place() -> None:
    depth = math.hypot(0.1, 20.0 + math.sqrt(0.1505**2 - 0.1**2)) - 0.1505
    assert losses(loose(polygon(COMB))) == [
        (
            "error",
            "part[1]",
            "the outline of part 1 narrows to 0.2 mm at (10.1, 30), and film "
            f"{depth:.2f} mm deep would be left standing there: the kerf of 0.3 mm in clear needs "
            "more than 0.301 mm",
        )
    ]


@pytest.mark.parametrize(
    ("kerf", "is_refused"), [(0.05, False), (0.198, False), (0.2, True), (0.21, True)]
)
def test_a_slot_just_as_wide_as_the_kerf_is_refused(kerf: float, is_refused: bool) -> None:
    """A slot of exactly one kerf, or a thousandth more, has no two sides to its cut."""
    said = [severity for severity, *_ in losses(loose(polygon(COMB)), kerf)]
    assert said == (["error"] if is_refused else [])


def test_all_narrow_places_count_and_the_deepest_is_told() -> None:
    corners: list[tuple[float, float]] = [(0, 0), (20, 0)]
    for x, depth in ((15.0, 5.0), (10.0, 9.0), (5.0, 7.0)):
        corners += [(x + 0.1, 30), (x + 0.1, 30 - depth), (x, 30 - depth), (x, 30)]
    corners[2:2] = [(20, 30)]
    ((_, _, message),) = losses(loose(polygon([*corners, (0, 30)])))
    assert "narrows to 0.1 mm at (10.05, 30), and film 8.99 mm deep" in message
    assert message.endswith("needs more than 0.301 mm; 2 more places too")


def test_a_hollow_that_the_beam_does_not_get_into_is_refused_however_shallow() -> None:
    neck = ((20, 4.9), (19.8, 4.9), (19.8, 4.7), (19.4, 4.7), (19.4, 5.3), (19.8, 5.3))
    plate = polygon(((0, 0), (20, 0), *neck, (19.8, 5.1), (20, 5.1), (20, 10), (0, 10)))
    assert losses(loose(plate)) == [
        (
            "error",
            "part[1]",
            "the outline of part 1 narrows to 0.2 mm at (20, 5), where the beam does not get "
            "through to what lies behind: the kerf of 0.3 mm in clear needs more than 0.301 mm",
        )
    ]


def test_a_narrow_arm_of_a_hole_is_refused() -> None:
    """A slot 5 mm wide with an arm 0.25 mm wide and 4 mm long."""
    hole = polygon(((5, 2), (5, 8), (10, 8), (10, 5.25), (14, 5.25), (14, 5), (10, 5), (10, 2)))
    ((severity, field, message),) = losses(loose(rectangle(20, 10), hole))
    assert (severity, field) == ("error", "part[1]")
    assert "narrows to 0.25 mm at (10, 5.12)" in message or "at (10, 5.13)" in message


@pytest.mark.parametrize("width", [0.1, 0.3, 0.301])
def test_a_hole_no_wider_than_the_kerf_is_refused(width: float) -> None:
    plate = loose(rectangle(20, 10), circle(Point(5, 5), width / 2.0, clockwise=True))
    assert losses(plate) == [
        (
            "error",
            "part[1]",
            f"a hole in part 1, {width:g} mm wide, at (5, 5), vanishes under the kerf of 0.3 mm in "
            "clear; it must be wider than 0.301 mm",
        )
    ]


def test_a_round_hole_wider_than_the_kerf_passes_without_a_word() -> None:
    assert losses(loose(rectangle(20, 10), circle(Point(5, 5), 0.152, clockwise=True))) == []


def test_all_lost_holes_count() -> None:
    holes = [square_hole(0.2, x) for x in (2.0, 5.0, 8.0)]
    ((_, _, message),) = losses(loose(rectangle(20, 10), *holes))
    assert message.startswith("a hole in part 1, 0.2 mm wide, at (2.1, 5.1), vanishes under")
    assert message.endswith("; 2 more holes too")


def test_a_slanted_narrow_hole_is_as_wide_as_its_slot() -> None:
    slot = [(0.0, 0.0), (3.0, 3.0), (3.0 + 0.1, 3.0 - 0.1), (0.1, -0.1)]
    hole = polygon((5 + x, 5 + y) for x, y in slot)
    ((_, _, message),) = losses(loose(rectangle(20, 10), hole))
    assert f"{0.1 * math.sqrt(2.0):.3f} mm wide" in message


def notch(degrees: float) -> Part:
    half = 3.0 * math.tan(math.radians(degrees / 2.0))
    rim = ((10 + half, 10), (10, 7), (10 - half, 10))
    return loose(polygon(((0, 0), (20, 0), (20, 10), *rim, (0, 10))))


@pytest.mark.parametrize(
    ("degrees", "said"),
    [(90, []), (61, []), (59, ["caution"]), (30, ["caution"]), (24, ["caution"]), (22, ["error"])],
)
def test_film_standing_in_a_notch_is_told_from_half_a_kerf_and_refused_from_two(
    degrees: float, said: list[str]
) -> None:
    """Half a kerf stands in a corner of 60 degrees, two in one of 23: kerf/2 (1/sin(a/2) - 1)."""
    assert [severity for severity, *_ in losses(notch(degrees))] == said


def test_film_standing_in_a_corner_is_told_with_its_depth_and_place() -> None:
    depth = 0.1505 * (1.0 / math.sin(math.radians(15.0)) - 1.0)
    assert losses(notch(30)) == [
        (
            "caution",
            "part[1]",
            "the kerf of 0.3 mm in clear leaves film standing in a narrow corner of part 1, "
            f"{depth:.2f} mm deep, at (10, 7)",
        )
    ]


def test_several_such_corners_are_told_once() -> None:
    """Teeth 6 mm deep and 4 mm apart: notches of 36.9 degrees; a star's are blunt."""
    teeth = [(28.0 - 2.0 * i, 10.0 if i % 2 == 0 else 4.0) for i in range(11)]
    ((severity, _, message),) = losses(loose(polygon([(0, 0), (30, 0), (30, 10), *teeth, (0, 10)])))
    assert severity == "caution"
    assert "in 5 narrow corners of part 1, at most 0.33 mm deep, at (" in message
    star = [
        (radius * math.cos(i * math.pi / 7), radius * math.sin(i * math.pi / 7))
        for i, radius in enumerate((10.0, 6.0) * 7)
    ]
    assert losses(loose(polygon(star))) == []


def test_ordinary_inside_corners_pass_without_a_word() -> None:
    cross = ((0, 2), (2, 2), (2, 0), (4, 0), (4, 2), (6, 2), (6, 4), (4, 4), (4, 6), (2, 6), (2, 4))
    assert (
        losses(
            loose(
                polygon([*cross, (0, 4)]),
            )
        )
        == []
    )
    assert losses(loose(rectangle(20, 20), square_hole(4.0))) == []


def test_a_knife_without_a_kerf_cuts_any_slot() -> None:
    assert losses(loose(polygon(COMB), square_hole(0.01)), 0.0) == []


# Features of designs.


def wheel(**features: object) -> Design:
    bare = design(layer("cover"), layer("colour", ("amber", 180), ("green", 180), inner=40.0))
    return replace(bare, **features)


def test_a_narrow_key_is_refused_by_name_width_and_place() -> None:
    bore = KeyedBore(diameter=6.0, key_width=0.25, key_depth=1.2, direction=from_dial(30.0))
    assert losses_of(wheel(bore=bore)) == [
        (
            "error",
            "bore.key_width",
            "the key of the bore, 0.25 mm wide, at 30°, vanishes under the kerf of 0.3 mm in clear;"
            " it must be wider than 0.301 mm",
        )
    ]


def test_a_key_too_shallow_for_the_depth_of_two_kerfs_is_refused_as_well() -> None:
    bore = KeyedBore(diameter=6.0, key_width=0.25, key_depth=0.3, direction=0.0)
    assert [field for _, field, _ in losses_of(wheel(bore=bore))] == ["bore.key_width"]


@pytest.mark.parametrize(
    ("bore", "field", "words"),
    [
        (SquareBore(side=0.3, direction=0.0), "square", "the bore, 0.3 mm wide, in the disc's"),
        (
            FlatBore(diameter=0.4, across=0.28, direction=0.0),
            "flat",
            "the bore across its flat, 0.28 mm wide, in the disc's centre, vanishes under",
        ),
        (
            KeyedBore(diameter=0.3, key_width=0.29, key_depth=3.0, direction=0.0),
            "diameter",
            "the bore, 0.3 mm wide",
        ),
    ],
)
def test_a_narrow_bore_is_refused(bore: object, field: str, words: str) -> None:
    severity, path, message = losses_of(wheel(bore=bore))[0]
    assert (severity, path) == ("error", f"bore.{field}")
    assert message.startswith(words)


def test_a_narrow_hole_is_refused_in_the_films_that_it_goes_through() -> None:
    hole = Hole(name="index", diameter=0.301, radius=40.0, direction=from_dial(45.0))
    assert losses_of(wheel(holes=(hole,))) == [
        (
            "error",
            "hole[1].diameter",
            'the hole "index", 0.301 mm wide, 40 mm from the centre at 45°, vanishes under the kerf'
            f" of 0.3 mm in {film}; it must be wider than 0.301 mm",
        )
        for film in ("clear", "amber")
    ]
    assert losses_of(wheel(holes=(replace(hole, diameter=0.302),))) == []


def test_a_hole_that_some_layer_does_not_have_is_no_loss_there() -> None:
    hole = Hole(name="pin", diameter=0.2, radius=40.0, direction=0.0, layers=("cover",))
    ((_, _, message),) = losses_of(wheel(holes=(hole,)))
    assert "in clear;" in message


def test_narrow_hub_slots_are_refused_once() -> None:
    slots = HubSlots(count=6, circle_diameter=20.0, length=4.0, width=0.25, direction=0.0)
    assert losses_of(wheel(hub_slots=(slots,))) == [
        (
            "error",
            "hub_slot[1].width",
            "a hub slot, 0.25 mm wide, on a circle of 20 mm, vanishes under the kerf of 0.3 mm in"
            " clear; it must be wider than 0.301 mm",
        )
    ]


def opening(degrees: float, outer: float | None = 100.0, count: int = 1) -> Opening:
    return Opening(
        angle=from_degrees(degrees),
        count=count,
        inner_diameter=60.0,
        outer_diameter=outer,
        direction=from_dial(90.0),
    )


def with_opening(cut: Opening) -> Design:
    return design(replace(layer("mask", film="black"), openings=(cut,)))


@pytest.mark.parametrize("outer", [100.0, None])
def test_a_narrow_opening_is_refused_closed_or_open_to_the_rim(outer: float | None) -> None:
    """0.5 degrees at a radius of 30 mm are 0.262 mm."""
    assert losses_of(with_opening(opening(0.5, outer, 3))) == [
        (
            "error",
            "layer[1].opening[1].degrees",
            'an opening of layer "mask", 0.262 mm wide, at 90°, vanishes under the kerf of 0.3 mm'
            " in black; it must be wider than 0.301 mm",
        )
    ]
    assert losses_of(with_opening(opening(0.6, outer, 3))) == []


def test_a_flat_opening_is_refused_but_not_a_flat_step_in_the_rim() -> None:
    (found,) = losses_of(with_opening(opening(40.0, 60.5)))
    assert found[1] == "layer[1].opening[1].outer_diameter"
    step = replace(opening(40.0, None), inner_diameter=115.5)
    assert losses_of(with_opening(step)) == []


def test_a_slit_between_the_two_ends_of_one_sector_is_refused() -> None:
    """An open sector of 0.1 degrees: 0.2 mm wide at the rim."""
    slit = design(layer("colour", ("amber", 359.9), ("none", 0.1), inner=60.0))
    ((severity, field, message),) = losses_of(slit)
    assert (severity, field) == ("error", "layer[1].sector[1]")
    assert message.startswith("the outline of part 1 narrows to 0.101 mm 58 mm from the centre at")


def test_a_lost_feature_is_told_once_and_what_else_is_lost_as_well() -> None:
    bore = KeyedBore(diameter=6.0, key_width=0.25, key_depth=1.2, direction=0.0)
    hole = Hole(name="index", diameter=0.1, radius=40.0, direction=0.0)
    fields = [field for _, field, _ in losses_of(wheel(bore=bore, holes=(hole,)))]
    assert fields == ["bore.key_width", "hole[1].diameter", "hole[1].diameter"]


def test_copies_that_lie_elsewhere_are_looked_at_there() -> None:
    """Equal sectors are one part; the hole is only in the place of its second copy."""
    equal = design(layer("colour", *[("amber", 90)] * 4, inner=40.0))
    (part,) = disc_parts(equal)
    assert len(part.turns) == 4
    slots = HubSlots(count=4, circle_diameter=80.0, length=4.0, width=0.2, direction=from_dial(45))
    slotted = replace(equal, hub_slots=(slots,))
    assert [field for _, field, _ in losses_of(slotted)] == ["hub_slot[1].width"]


# One answer for many parts.


def test_what_cannot_be_made_is_refused_with_the_names_of_all_parts() -> None:
    good = loose(rounded_rectangle(20.0, 10.0, 2.0).outer)
    bad = replace(loose(polygon(COMB)), number=2)
    plate = replace(loose(rectangle(20, 10), square_hole(0.2)), number=3, name="plate")
    cuts = {f"parts[{part.number}]": CutPart(part, KERF, None) for part in (good, bad, plate)}
    with pytest.raises(CannotDoError) as caught:
        left_by_beam(Source("run.toml"), cuts)
    first, second = str(caught.value).splitlines()
    assert first.startswith("comb: the outline of part 2 narrows to 0.2 mm at (10.1, 30), and film")
    assert second.startswith("plate: a hole in part 3, 0.2 mm wide, at (5.1, 5.1), vanishes under")


def test_what_stands_in_corners_is_returned_with_its_place_in_the_source() -> None:
    (found,) = left_by_beam(Source("run.toml"), {"parts[1]": CutPart(notch(30), KERF, None)})
    assert str(found).startswith("run.toml: parts[1]: the kerf of 0.3 mm in clear leaves film")
