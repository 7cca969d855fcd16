"""Strobe bars: 60 f / n for f flashes a second at n r/min, and what rounding does to the speed."""

from dataclasses import replace

import pytest
from disc.designs import FILMS, design, layer

from jobprep.disc.rings import design_circles
from jobprep.disc.strobe import (
    StandingRing,
    flash_rates,
    standing_rates,
    standing_rings,
    stands_under,
    strobe_count,
)
from jobprep.model import Design, Hole, Machine, Opening
from jobprep.units import from_degrees, from_dial, from_rpm


@pytest.mark.parametrize(
    ("speed", "mains", "bars"),
    [
        (100 / 3, 50, 180),
        (100 / 3, 60, 216),
        (45, 50, 133),
        (45, 60, 160),
        (78, 50, 77),
        (78, 60, 92),
        (50 / 3, 50, 360),
        (50 / 3, 60, 432),
    ],
)
def test_bar_counts(speed: float, mains: float, bars: int) -> None:
    """60 f / n, rounded (arithmetic); lamps flash twice per mains period."""
    assert strobe_count(from_rpm(speed), 2 * mains).bars == bars


@pytest.mark.parametrize(
    ("speed", "mains", "true_speed"),
    [(45, 50, 45.112782), (78, 50, 77.922078), (78, 60, 78.260870)],
)
def test_true_speed_of_a_rounded_count(speed: float, mains: float, true_speed: float) -> None:
    """60 f / bars (arithmetic): 133 bars stand at 6000 / 133 = 45.112782 r/min."""
    assert strobe_count(from_rpm(speed), 2 * mains).true_speed == pytest.approx(
        from_rpm(true_speed), abs=5e-7
    )


def test_45_rpm_at_50_hz_does_not_come_out_whole() -> None:
    assert strobe_count(from_rpm(45), 100).exact == pytest.approx(133.3333, abs=5e-5)


@pytest.mark.parametrize(
    ("speed", "at_50", "at_60"),
    [(100 / 3, 4.0, 10 / 3), (45, 5.4, 4.5), (78, 9.36, 7.8), (16, 1.92, 1.6)],
)
def test_pitch_at_one_flash_per_period(speed: float, at_50: float, at_60: float) -> None:
    """6 n / f degrees a bar (arithmetic), one flash per mains period."""
    for mains, pitch in ((50, at_50), (60, at_60)):
        assert 360 / strobe_count(from_rpm(speed), mains).exact == pytest.approx(pitch)


def test_one_flash_per_period_stands_with_half_the_bars() -> None:
    """60 f / n (arithmetic): 3000 / 33.33 = 90 bars, with two flashes a period 180."""
    assert strobe_count(from_rpm(100 / 3), 50).bars == 90
    assert strobe_count(from_rpm(100 / 3), 100).bars == 180


def _rings(wheel: Design) -> tuple[StandingRing, ...]:
    return standing_rings(wheel.machine, design_circles(wheel, FILMS))


def _rates(wheel: Design, omega: float) -> tuple[float, ...]:
    return standing_rates(wheel.machine, design_circles(wheel, FILMS), omega)


def _round_holes(count: int, *, last: float = 0.0) -> Design:
    """Return black film with round holes, 6 mm wide at 40 mm; the last is turned by degrees."""
    holes = tuple(
        Hole(
            name=f"hole {index}",
            diameter=6.0,
            radius=40.0,
            direction=from_dial(360.0 * index / count + (last if index == count - 1 else 0.0)),
        )
        for index in range(count)
    )
    return replace(design(layer("chopper", film="black")), holes=holes)


def test_a_ring_of_round_holes_stands_as_bars_do() -> None:
    """60 f / N (arithmetic): twelve holes under 100 flashes a second at 500 r/min."""
    (ring,) = _rings(_round_holes(12))
    assert (ring.inner_radius, ring.outer_radius) == pytest.approx((37.0, 43.0))
    assert ring.bars == 12
    assert dict(ring.speeds)[100.0] == pytest.approx(from_rpm(500))
    assert 100.0 in _rates(_round_holes(12), from_rpm(500))
    assert _rates(_round_holes(12), from_rpm(437)) == ()


def test_a_hole_out_of_place_breaks_the_pattern_of_round_holes() -> None:
    crooked = _round_holes(12, last=2.0)
    assert _rings(crooked) == ()
    assert 100.0 not in _rates(crooked, from_rpm(500))
    assert 100.0 in _rates(crooked, from_rpm(6000))  # a whole turn a flash


def test_what_black_film_hides_does_not_move_for_light_but_may_for_the_eye() -> None:
    """Tints before black: no light passes, yet a lamp in front shows them; both may stand."""
    tints = layer("tints", *[("amber", 45), ("red", 45)] * 4)
    assert _rates(design(tints, layer("mask", film="black")), from_rpm(1500)) == (50.0, 100.0)


def test_rings_of_bars_in_a_design_know_when_they_stand() -> None:
    bars = Opening(
        angle=from_degrees(1.0),
        count=180,
        inner_diameter=80.0,
        outer_diameter=100.0,
        direction=from_dial(0.0),
    )
    plate = replace(layer("bars", film="black"), openings=(bars,))
    ring, *others = _rings(design(plate))
    assert not others
    assert (ring.inner_radius, ring.outer_radius) == pytest.approx((40.0, 50.0))
    assert ring.bars == 180
    assert dict(ring.speeds)[100.0] == pytest.approx(from_rpm(100 / 3))


def test_a_disc_without_repeats_stands_at_a_whole_turn_a_flash() -> None:
    """360 n / (60 f) mod 360 / N near 0 with N = 1: 3000 r/min under 50 flashes a second."""
    wheel = design(layer("mask", ("black", 100), ("none", 260)))
    assert _rates(wheel, from_rpm(3000)) == (50.0,)
    assert _rates(wheel, from_rpm(2500)) == ()
    assert _rates(design(layer("cover")), from_rpm(3000)) == ()


@pytest.mark.parametrize(
    ("speed", "stands"), [(1500, True), (3000, True), (2250, False), (50, False)]
)
def test_several_repeats_may_pass_from_flash_to_flash(speed: float, stands: bool) -> None:
    """Four blades under 100 flashes a second: 1500 r/min is one a flash, 3000 two, 2250 1 1/2."""
    assert stands_under(4, from_rpm(speed), 100.0) == stands


def test_rates_are_those_of_the_users_mains_and_lamp() -> None:
    assert flash_rates() == (50.0, 100.0, 60.0, 120.0)
    assert flash_rates(Machine(sensor=0.0)) == flash_rates()
    assert flash_rates(Machine(sensor=0.0, mains=50.0)) == (50.0, 100.0)
    assert flash_rates(Machine(sensor=0.0, mains=50.0, flashes=(240.0,))) == (50.0, 100.0, 240.0)
    assert flash_rates(Machine(sensor=0.0, flashes=())) == ()
