"""What is said of pieces that nothing holds, or too little, and that the way out is one."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from disc.designs import FILMS, design, layer

from jobprep.disc.facts import disc_facts
from jobprep.disc.hold_checks import check_hold
from jobprep.errors import Finding
from jobprep.model import Design, Dot, Layer, Opening
from jobprep.units import from_degrees, from_dial, from_rpm

FRONT, BACK = layer("front", outer=120.0), layer("back", outer=120.0)
HALVES = (("amber", 180.0), ("green", 180.0))


def colour(inner: float | None = 30.0) -> Layer:
    return layer("colour", *HALVES, inner=inner)


def wheel_of(
    *layers: Layer, hub: float | None = 24.0, rpm: float | None = 600.0, bore: float = 6.0
) -> Design:
    omega = None if rpm is None else from_rpm(rpm)
    return replace(design(*layers, bore=bore), hub_diameter=hub, angular_speed=omega)


def said(wheel: Design) -> list[Finding]:
    return list(check_hold(wheel, disc_facts(wheel, FILMS).hold))


def test_a_piece_that_nothing_holds_is_an_error_at_speed_and_else_a_caution() -> None:
    (found,) = said(wheel_of(colour(), BACK))
    assert found.is_error
    assert found.place.field == "layer[1].inner_diameter"
    assert found.message.startswith(
        "nothing holds sectors 1, 2: the layer begins 15 mm from the centre, the hub reaches 12 mm,"
        " and at 600 r/min 0."
    )
    assert found.message.endswith(
        " N would throw it. Way out: inner_diameter at most 22 or a clear cover in front of it,"
        " held under the hub"
    )
    (found,) = said(wheel_of(colour(), BACK, rpm=None))
    assert not found.is_error
    assert "r/min" not in found.message
    assert found.message.startswith("nothing holds sectors 1, 2")


def test_a_piece_held_by_covers_alone_is_a_caution_at_speed() -> None:
    (found,) = said(wheel_of(FRONT, colour(), BACK))
    assert not found.is_error
    assert "the covers alone hold sectors 1, 2" in found.message
    assert "kPa" in found.message
    assert "test it behind a guard; better: inner_diameter at most 22" in found.message
    assert said(wheel_of(FRONT, colour(), BACK, rpm=None)) == []


def test_what_reaches_well_under_the_hub_is_passed_and_an_edge_is_told() -> None:
    assert said(wheel_of(FRONT, colour(22.0), BACK)) == []
    (found,) = said(wheel_of(FRONT, colour(23.0), BACK))
    assert not found.is_error
    assert found.message == (
        "the hub holds sectors 1, 2 by an edge of 0.5 mm; better: inner_diameter at most 22"
    )


@pytest.mark.parametrize(
    ("layers", "hub", "bore"),
    [
        ((colour(), BACK), 24.0, 6.0),
        ((FRONT, colour()), 24.0, 6.0),
        ((colour(),), 24.0, 6.0),
        ((colour(),), None, 6.0),
        ((colour(30.003),), None, 6.0),
        ((colour(None),), None, 6.0),
        ((colour(),), 7.0, 6.0),
        ((layer("ring", inner=31.27, outer=100.0),), 24.35, 6.0),
    ],
)
def test_the_way_out_is_one(layers: tuple[Layer, ...], hub: float | None, bore: float) -> None:
    """Each proposal, done as it says, leaves nothing to say."""
    wheel = wheel_of(*layers, hub=hub, bore=bore)
    message = next(each.message for each in said(wheel) if each.is_error)
    ways, covers = message.split("Way out: ")[1].rsplit(" or ", 1)
    name, value = re.fullmatch(
        r"(inner_diameter|hub_diameter) at (?:most|least) ([\d.]+)", ways
    ).groups()  # type: ignore[union-attr]
    if name == "hub_diameter":
        mended = replace(wheel, hub_diameter=float(value))
        if mended.hub_diameter is not None and hub is not None:  # the hub itself was too narrow
            inner = 8.0
            layers = tuple(replace(each, inner_diameter=inner) for each in wheel.layers)
            mended = replace(mended, layers=layers)
    else:
        loose = [number for number in range(len(layers)) if layers[number].inner_diameter]
        changed = list(layers)
        for number in loose:
            changed[number] = replace(changed[number], inner_diameter=float(value))
        mended = replace(wheel, layers=tuple(changed))
    assert said(mended) == []
    if "both sides" in covers:
        covered = (FRONT, *layers, BACK)
    elif "in front" in covers:
        covered = (FRONT, *layers)
    else:
        covered = (*layers, BACK)
    assert not any(each.is_error for each in said(replace(wheel, layers=covered)))


def test_what_openings_part_from_the_hub_needs_film_in_between() -> None:
    cut = Opening(
        angle=from_degrees(120.0), count=1, inner_diameter=21.0, outer_diameter=27.0, direction=0.0
    )
    sectors = layer("colour", ("amber", 60.0), ("green", 300.0), inner=20.0)
    cut = replace(cut, direction=from_dial(-30.0))
    (found,) = said(wheel_of(replace(sectors, openings=(cut,))))
    assert "nothing holds sector 1 in part: what is cut out of the layer parts it" in found.message
    assert "Way out: film left between it and the hub or clear covers on both" in found.message


def test_a_patch_on_a_loose_piece_is_told_by_itself() -> None:
    dot = Dot(name="weight", film="clear", diameter=8.0, radius=40.0, direction=0.0)
    held = replace(wheel_of(FRONT, colour(20.0)), dots=(dot,))
    assert said(held) == []
    loose = replace(wheel_of(FRONT, colour()), dots=(dot,))
    assert [each.place.field for each in said(loose)] == ["layer[2].inner_diameter", "dot[1]"]
