"""Strobe bars: 60 f / n for f flashes a second at n r/min, and what rounding does to the speed."""

from dataclasses import replace

import pytest
from disc.designs import design, layer

from jobprep.disc.strobe import standing_rings, strobe_count
from jobprep.model import Opening
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


def test_rings_of_bars_in_a_design_know_when_they_stand() -> None:
    bars = Opening(
        angle=from_degrees(1.0),
        count=180,
        inner_diameter=80.0,
        outer_diameter=100.0,
        direction=from_dial(0.0),
    )
    plate = replace(layer("bars", film="black"), openings=(bars,))
    ring, *others = standing_rings(design(plate))
    assert not others
    assert (ring.inner_radius, ring.outer_radius, ring.bars) == (40.0, 50.0, 180)
    assert dict(ring.speeds)[100.0] == pytest.approx(from_rpm(100 / 3))
