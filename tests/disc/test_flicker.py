"""Flashes per turn against WCAG 2.3.1 and plain wheels."""

from dataclasses import replace

import pytest
from disc.designs import FILMS, design, film, layer

from jobprep.disc.flicker import (
    Glimpse,
    count_flashes,
    count_red_flashes,
    design_flicker,
    glimpse,
    in_hazard_band,
    light_duty,
)
from jobprep.model import Beam
from jobprep.units import from_rpm


def test_one_dark_sector_at_600_rpm_flashes_at_10_hz() -> None:
    """f = n/60 x dark-to-light changes per turn."""
    wheel = design(layer("mask", ("black", 90), ("none", 270)))
    (found,) = design_flicker(wheel, FILMS, from_rpm(600))
    assert found.flashes == 1
    assert found.rate == pytest.approx(10.0)
    assert found.is_hazardous
    assert not found.is_red_hazardous


def test_two_even_blades_flash_twice_as_often() -> None:
    wheel = design(layer("mask", ("black", 90), ("none", 90), ("black", 90), ("none", 90)))
    (found,) = design_flicker(wheel, FILMS, from_rpm(1440))
    assert (found.rate, found.repeat_rate) == pytest.approx((48.0, 48.0))
    assert not found.is_hazardous


def test_uneven_blades_beat_at_the_turn() -> None:
    wheel = design(layer("mask", ("black", 80), ("none", 90), ("black", 100), ("none", 90)))
    (found,) = design_flicker(wheel, FILMS, from_rpm(1440))
    assert (found.rate, found.repeat_rate) == pytest.approx((48.0, 24.0))
    assert found.is_hazardous


@pytest.mark.parametrize("edge", [3.0, 30.0])
def test_flashes_at_an_edge_of_the_hazard_band_are_hazardous(edge: float) -> None:
    """Whatever the speed that makes them: from 60 edge / flashes r/min to radians and back."""
    for flashes in range(1, 61):
        wheel = design(
            layer("mask", *[("black", 180 / flashes), ("none", 180 / flashes)] * flashes)
        )
        (found,) = design_flicker(wheel, FILMS, from_rpm(60.0 * edge / flashes))
        assert (found.flashes, found.rate) == (flashes, pytest.approx(edge))
        assert found.is_hazardous


def test_red_behind_a_shutter_is_called_out() -> None:
    wheel = design(layer("mask", ("red", 180), ("black", 180)))
    (found,) = design_flicker(wheel, FILMS, from_rpm(600))
    assert found.red_flashes == 1
    assert found.is_red_hazardous


def test_a_single_film_does_not_flash() -> None:
    assert design_flicker(design(layer("cover", film="red")), FILMS, from_rpm(600)) == ()


def test_only_the_beams_zone_counts() -> None:
    wheel = design(
        layer("rim", ("black", 180), ("none", 180), inner=100.0),
        layer("cover"),
    )
    assert len(design_flicker(wheel, FILMS, from_rpm(600))) == 1
    assert design_flicker(replace(wheel, beam=Beam(width=2, radius=30)), FILMS, from_rpm(600)) == ()
    assert (
        len(design_flicker(replace(wheel, beam=Beam(width=2, radius=55)), FILMS, from_rpm(600)))
        == 1
    )


def _grey(*luminances: float) -> list[Glimpse]:
    return [Glimpse(luminance, False, False) for luminance in luminances]


def test_wcag_2_3_1_general_flash_thresholds() -> None:
    """WCAG 2.2: opposing changes of 10 % or more of the maximum, the darker state below 0.80."""
    assert count_flashes(_grey(1.0, 0.79)) == 1
    assert count_flashes(_grey(1.0, 0.81)) == 0
    assert count_flashes(_grey(0.5, 0.41)) == 0
    assert count_flashes(_grey(0.5, 0.39)) == 1
    # Several small steps down and up again make one pair of opposing changes.
    assert count_flashes(_grey(0.5, 0.45, 0.4, 0.35, 0.3, 0.4)) == 1
    assert count_flashes(_grey(0.5, 0.3, 0.5, 0.3, 0.45, 0.2)) == 3


def test_wcag_saturated_red() -> None:
    """WCAG 2.2: R/(R+G+B) >= 0.8 of linear values; sRGB decoding by IEC 61966-2-1."""
    assert glimpse([film("red", colour="#ff0000")]).red
    assert not glimpse([film("orange", colour="#ff9900")]).red
    assert not glimpse([]).red
    assert count_red_flashes([Glimpse(0.2, False, True), Glimpse(0.0, True, False)]) == 1
    assert count_red_flashes([Glimpse(0.2, False, True)]) == 0


def test_mid_grey_of_srgb() -> None:
    """IEC 61966-2-1: 128 of 255 decodes to 0.215861, the relative luminance of mid grey."""
    assert glimpse([film("grey", colour="#808080")]).luminance == pytest.approx(0.215861, abs=5e-7)


def test_hazard_band() -> None:
    assert [rate for rate in (2.9, 3.0, 15.0, 30.0, 30.1) if in_hazard_band(rate)] == [3, 15, 30]


def test_duty_is_the_share_that_no_blocking_film_shades() -> None:
    wheel = replace(
        design(
            layer("colour", ("amber", 90), ("black", 90), ("none", 180), inner=30.0),
            layer("mask", ("black", 45), ("none", 315), outer=80.0, inner=30.0, start=45.0),
        ),
        hub_diameter=30.0,
        angular_speed=from_rpm(600.0),
    )
    found = [(d.inner_radius, d.outer_radius, d.share) for d in light_duty(wheel, FILMS)]
    # Inside, the mask shades half of the amber, outside black alone is dark.
    assert found == [(15.0, 40.0, pytest.approx(0.625)), (40.0, 58.0, pytest.approx(0.75))]
