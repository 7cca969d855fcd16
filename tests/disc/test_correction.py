"""Proposed corrections balance a disc when it is computed again, or say why they cannot."""

import math
from dataclasses import replace

import pytest
from disc.designs import FILMS, design, job, layer
from disc.random_designs import designs
from hypothesis import HealthCheck, given, settings

from jobprep.disc.build_parts import build_parts, disc_parts
from jobprep.disc.checks import check_job
from jobprep.disc.correction import (
    Correction,
    correct_with_dot,
    correct_with_hole,
    correct_with_sector,
    propose_corrections,
)
from jobprep.disc.facts import disc_facts
from jobprep.disc.features import hole_region
from jobprep.geometry.distance import clearance
from jobprep.geometry.outline import Region
from jobprep.model import Beam, Design, DiscOrder, Hole, Machine, MachineWindow
from jobprep.units import from_dial, from_rpm, to_dial

COVERED = replace(
    design(
        layer("cover", outer=120.0),
        layer("colour", ("amber", 90), ("green", 180), ("none", 90), inner=30.0),
    ),
    angular_speed=from_rpm(600.0),
    balance_grade=16.0,
)
OPEN = replace(
    design(layer("colour", ("amber", 300), ("none", 60), start=30.0)),
    angular_speed=from_rpm(600.0),
    balance_grade=16.0,
)
"""One layer whose gap lies just where a weight would have to go, at the top."""


def _holds(found: Correction, wheel: Design) -> None:
    """A correction's claim is true when its design is computed again from scratch."""
    assert found.design is not None
    assert found.after is not None
    facts = disc_facts(found.design, FILMS)
    assert facts.mass == found.after
    assert found.before == disc_facts(wheel, FILMS).mass
    if found.is_enough:
        assert facts.balance is not None
        assert facts.balance.is_within


def test_a_dot_balances_opposite_the_heavy_side() -> None:
    found = correct_with_dot(COVERED, FILMS, "clear")
    _holds(found, COVERED)
    assert found.is_enough
    assert found.design is not None
    (dot,) = found.design.dots
    assert found.before.heavy_direction is not None
    turned = to_dial(dot.direction) - to_dial(found.before.heavy_direction)
    assert abs(turned) == pytest.approx(180.0, abs=0.001)
    # The colour's gap is at the top left: the weight belongs there.
    assert 270.0 <= to_dial(dot.direction) <= 360.0
    moment = dot.count * FILMS["clear"].areal_mass * math.pi / 4 * dot.diameter**2 * dot.radius
    assert moment == pytest.approx(found.before.unbalance, rel=1e-3)


def test_where_there_is_no_film_two_dots_share_the_work() -> None:
    found = correct_with_dot(OPEN, FILMS, "clear")
    _holds(found, OPEN)
    assert found.is_enough
    assert found.design is not None
    first, second = found.design.dots
    assert (first.diameter, first.radius) == (second.diameter, second.radius)
    for dot in (first, second):
        assert 30.0 < to_dial(dot.direction) < 330.0
    assert to_dial(first.direction) + to_dial(second.direction) == pytest.approx(360.0, abs=0.01)


def test_dots_lie_on_film_clear_of_holes_and_joints() -> None:
    blocked = replace(
        COVERED,
        holes=tuple(
            Hole(name=f"pin {radius}", diameter=3, radius=radius, direction=from_dial(315.0))
            for radius in range(20, 60, 6)
        ),
    )
    for wheel in (COVERED, OPEN, blocked):
        found = correct_with_dot(wheel, FILMS, "black")
        assert found.design is not None
        regions = [part.region for part in disc_parts(wheel)]
        for dot in found.design.dots:
            assert any(clearance(hole_region(dot), region) >= 0.5 for region in regions)


def test_a_dot_keeps_out_of_the_beam_where_it_can() -> None:
    lit = replace(COVERED, beam=Beam(width=6.0, radius=52.0))
    found = correct_with_dot(lit, FILMS, "black")
    assert found.design is not None
    for dot in found.design.dots:
        assert abs(dot.radius - 52.0) >= (6.0 + dot.diameter) / 2.0


def test_a_dot_keeps_out_of_the_machines_windows_where_it_can() -> None:
    """The windows let light through from 46 to 56 mm; a dot is stuck further in or out."""
    window = MachineWindow(name="gate", direction=from_dial(90.0), radius=51.0, diameter=10.0)
    lit = replace(COVERED, machine=Machine(sensor=from_dial(0.0), windows=(window,)))
    found = correct_with_dot(lit, FILMS, "black")
    assert found.design is not None
    assert found.design.dots
    for dot in found.design.dots:
        assert abs(dot.radius - 51.0) >= (10.0 + dot.diameter) / 2.0
    # Without the windows it lies there, so that this asks for something.
    bare = correct_with_dot(COVERED, FILMS, "black")
    assert bare.design is not None
    assert any(abs(dot.radius - 51.0) < (10.0 + dot.diameter) / 2.0 for dot in bare.design.dots)


def test_a_relief_hole_balances_an_index_hole() -> None:
    index = Hole(name="index", diameter=6, radius=54, direction=from_dial(10.0))
    wheel = replace(
        design(layer("cover", outer=120.0)),
        holes=(index,),
        angular_speed=from_rpm(600),
        balance_grade=1,
    )
    found = correct_with_hole(wheel, FILMS)
    _holds(found, wheel)
    assert found.is_enough
    assert found.design is not None
    relief = found.design.holes[-1]
    assert (relief.name, to_dial(relief.direction)) == ("relief", pytest.approx(190.0))
    assert relief.diameter**2 * relief.radius == pytest.approx(6**2 * 54, rel=1e-3)
    one = job(discs=(DiscOrder(design=found.design, copies=1),))
    assert not [f for f in check_job(one, build_parts(one, _no_drawing)) if f.is_error]


def test_a_balanced_disc_is_left_alone() -> None:
    wheel = replace(design(layer("cover")), angular_speed=from_rpm(600.0), balance_grade=6.3)
    for found in propose_corrections(wheel, FILMS, "clear"):
        assert found.design is wheel
        assert found.is_enough
        assert "nothing to correct" in found.message


def test_holes_too_large_for_the_disc_are_refused_with_the_reason() -> None:
    found = correct_with_hole(OPEN, FILMS)
    assert found.design is None
    assert found.message == "no place on the heavy side holds relief holes as large as needed"


def test_a_clear_sector_fills_the_open_arc() -> None:
    wheel = replace(
        design(layer("mask", ("black", 180), ("none", 180), inner=20.0)),
        angular_speed=from_rpm(600.0),
        balance_grade=16.0,
    )
    found = correct_with_sector(wheel, FILMS, "clear")
    _holds(found, wheel)
    # Black and clear of one weight balance fully.
    assert found.is_enough
    assert found.after is not None
    assert found.after.unbalance == pytest.approx(0.0, abs=1e-9)
    assert 'sector 2 of layer "mask"' in found.message


def test_many_open_sectors_are_named_together() -> None:
    pairs = [("black", 20), ("none", 20)] * 4 + [("black", 10), ("none", 10)] * 10
    wheel = replace(design(layer("mask", *pairs)), angular_speed=from_rpm(600.0), balance_grade=0.4)
    found = correct_with_sector(wheel, FILMS, "clear")
    assert "fill all 14 open sectors with clear" in found.message


def test_only_the_open_sectors_that_help_are_filled() -> None:
    wheel = replace(
        design(layer("mask", ("black", 90), ("none", 90), ("black", 30), ("none", 150))),
        angular_speed=from_rpm(600.0),
        balance_grade=16.0,
    )
    found = correct_with_sector(wheel, FILMS, "clear")
    assert found.after is not None
    everything = replace(
        wheel,
        layers=(
            replace(
                wheel.layers[0],
                sectors=tuple(
                    replace(each, film="clear") if each.film == "none" else each
                    for each in wheel.layers[0].sectors
                ),
            ),
        ),
    )
    assert found.after.unbalance <= disc_facts(everything, FILMS).mass.unbalance + 1e-9


def test_a_weight_does_what_filling_leaves() -> None:
    found = correct_with_sector(COVERED, FILMS, "clear")
    _holds(found, COVERED)
    assert found.is_enough
    assert found.design is not None
    assert found.design.layers[1].sectors[2].film == "clear"
    assert found.design.dots
    assert found.message.startswith('fill sector 3 of layer "colour" with clear and stick ')


def test_without_open_sectors_there_is_nothing_to_fill() -> None:
    lopsided = Hole(name="index", diameter=6, radius=50, direction=0.0)
    wheel = replace(design(layer("cover")), holes=(lopsided,))
    found = correct_with_sector(wheel, FILMS, "clear")
    assert found.design is None
    assert found.message == "the disc has no open sector to fill"


def test_filling_what_would_make_it_worse_is_not_proposed() -> None:
    # The right half is the heavy one, and the only gap lies there.
    wheel = replace(
        design(
            layer("mask", ("black", 180), ("amber", 180)),
            layer("colour", ("none", 20), ("amber", 340), start=80.0),
        ),
        angular_speed=from_rpm(600.0),
        balance_grade=6.3,
    )
    found = correct_with_sector(wheel, FILMS, "clear")
    assert found.design is None
    assert not found.is_enough
    assert (
        found.message
        == "filling the open sectors with clear would not make the disc better balanced"
    )


def test_a_second_counterweight_gets_a_name_of_its_own() -> None:
    once = correct_with_dot(COVERED, FILMS, "clear").design
    assert once is not None
    heavy = replace(once, layers=(once.layers[0],))
    again = correct_with_dot(heavy, FILMS, "clear").design
    assert again is not None
    names = [dot.name for dot in again.dots]
    assert len(set(names)) == len(names) >= 2


def test_without_a_grade_the_unbalance_all_but_goes() -> None:
    found = correct_with_dot(
        replace(COVERED, angular_speed=None, balance_grade=None), FILMS, "clear"
    )
    assert found.permissible is None
    assert found.after is not None
    assert found.after.unbalance < 0.01 * found.before.unbalance


@pytest.mark.slow
@given(designs())
@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_random_discs_are_balanced_or_told_why_not(wheel: Design) -> None:
    for found in propose_corrections(wheel, FILMS, "clear"):
        assert found.message
        if found.design is None:
            assert not found.is_enough
            continue
        _holds(found, wheel)
        assert found.after is not None
        assert found.after.unbalance < found.before.unbalance or found.design is wheel
        if not found.is_enough:
            assert "permitted" in found.outcome


def _no_drawing(path: object) -> Region:
    raise AssertionError(path)
