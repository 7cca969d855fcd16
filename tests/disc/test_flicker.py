"""Flashes within any one second, against WCAG 2.2, the IES's measures and plain wheels."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import pytest
from disc.designs import FILMS, design, film, layer
from hypothesis import given
from hypothesis import strategies as st

from jobprep.disc.facts import disc_facts
from jobprep.disc.flashing import Flashing, Glow, flashing, most_in_a_second
from jobprep.disc.flicker import glow_of
from jobprep.disc.machine_checks import check_machine
from jobprep.model import Beam, Design, Film, Hole, Machine, MachineWindow
from jobprep.units import TURN, from_dial, from_rpm


def _turning(wheel: Design, rpm: float) -> Design:
    return replace(wheel, angular_speed=from_rpm(rpm))


def _found(wheel: Design, rpm: float, films: dict[str, Film] = FILMS) -> list[Flashing]:
    return [each.flashing for each in disc_facts(_turning(wheel, rpm), films).flicker]


def _warnings(wheel: Design, rpm: float, films: dict[str, Film] = FILMS) -> list[str]:
    facts = disc_facts(_turning(wheel, rpm), films)
    return [each.message for each in check_machine(facts) if "one second" in each.message]


def _steps(*levels: float) -> list[Glow]:
    """Return a turn of equal steps of grey light."""
    width = TURN / len(levels)
    return [
        Glow(at, (level, level, level))
        for index, level in enumerate(levels)
        for at in (index * width, (index + 1) * width)
    ]


def _count(*levels: float) -> float:
    return len(flashing(_steps(*levels), TURN).changes) / 2.0


def test_five_blades_bunched_in_half_a_second() -> None:
    """At 30 r/min five in a quarter of a turn: five flashes in some second, 2.5 in the mean."""
    bunch = [("black", 9.0), ("none", 9.0)] * 5
    (found,) = _found(design(layer("mask", *bunch, ("none", 270.0))), 30.0)
    assert found.most == 5.0
    assert found.is_hazardous
    # 18 degrees of 2 s are .1 s: 10 Hz; the bunch comes back every 2 s.
    assert found.frequencies == pytest.approx((0.5, 1 / 1.6, 2.5, 10.0), rel=0.03)
    (warning,) = _warnings(design(layer("mask", *bunch, ("none", 270.0))), 30.0)
    assert "up to 5 times in one second" in warning
    assert "10 Hz" in warning


@pytest.mark.parametrize(("rpm", "warns"), [(1200.0, True), (1800.0, True), (1860.0, False)])
def test_some_people_react_up_to_60_hz(rpm: float, warns: bool) -> None:
    """Two even blades: 40 and 60 Hz warn, 62 Hz is told by its percent flicker and index alone."""
    wheel = design(layer("mask", ("black", 90), ("none", 90), ("black", 90), ("none", 90)))
    (found,) = _found(wheel, rpm)
    assert found.is_hazardous == bool(_warnings(wheel, rpm)) == warns
    assert found.frequencies == pytest.approx((rpm / 30.0,))
    assert (found.percent_flicker, found.flicker_index) == pytest.approx((100.0, 0.5))


def test_blades_under_half_the_window() -> None:
    """Dips to about 50 % at 10 Hz, today's "steady, duty 100 %"."""
    window = MachineWindow(name="gate", direction=from_dial(0.0), radius=40.0, size=(4.0, 20.0))
    wheel = replace(
        design(layer("blade", ("black", 180), ("none", 180), inner=80.0)),
        machine=Machine(sensor=from_dial(0.0), windows=(window,)),
    )
    (found,) = _found(wheel, 600.0)
    assert found.frequencies == pytest.approx((10.0,))
    assert found.percent_flicker == pytest.approx(100.0 / 3.0, abs=2.0)
    assert found.is_hazardous
    (duty,) = disc_facts(_turning(wheel, 600.0), FILMS).duty
    assert duty.share == pytest.approx(0.75, abs=0.01)


@pytest.mark.parametrize("has_beam", [False, True])
def test_a_chopper_of_twelve_round_holes(has_beam: bool) -> None:
    """It flashes 12 times a turn, and light passes where its holes are."""
    holes = tuple(
        Hole(name=f"h{i}", diameter=8.0, radius=40.0, direction=from_dial(30.0 * i))
        for i in range(12)
    )
    wheel = replace(design(layer("mask", film="black")), holes=holes)
    if has_beam:
        wheel = replace(wheel, beam=Beam(width=4.0, radius=40.0))
    (found,) = _found(wheel, 50.0)
    assert found.frequencies == pytest.approx((10.0,), abs=0.01)
    assert found.is_hazardous
    duty = disc_facts(_turning(wheel, 50.0), FILMS).duty
    if not has_beam:
        # 12 holes of radius 4 in the ring from 36 to 44 mm, and the place beyond the rim is none.
        (ring,) = (each for each in duty if each.share)
        assert ring.share == pytest.approx(12 * 16 / (44**2 - 36**2), rel=0.01)


def test_a_measured_red_counts_where_the_picture_is_grey() -> None:
    films = {
        **FILMS,
        "odd": replace(film("odd", colour="#808080"), lab=(45.0, 70.0, 55.0)),
        "grey": film("grey", colour="#808080"),
    }
    wheel = design(layer("mask", ("odd", 90), ("black", 90), ("odd", 90), ("black", 90)))
    (found,) = _found(wheel, 300.0, films)
    assert found.is_red_hazardous
    assert any("saturated red" in each for each in _warnings(wheel, 300.0, films))
    plain = design(layer("mask", ("grey", 90), ("black", 90), ("grey", 90), ("black", 90)))
    assert not any("saturated red" in each for each in _warnings(plain, 300.0, films))


@pytest.mark.parametrize(("rpm", "warns"), [(180.0, False), (185.0, True)])
def test_three_flashes_a_second_are_not_more_than_three(rpm: float, warns: bool) -> None:
    """WCAG 2.2, 2.3.1; a little more than 3 Hz puts seven changes into some second."""
    wheel = design(layer("mask", ("black", 180), ("none", 180)))
    (found,) = _found(wheel, rpm)
    assert (found.most > 3.0) == warns == bool(_warnings(wheel, rpm))


@pytest.mark.parametrize("flashes", [1, 2, 3, 7, 12, 30])
def test_rates_at_the_bounds_do_not_depend_on_rounding(flashes: int) -> None:
    wheel = design(layer("mask", *[("black", 180 / flashes), ("none", 180 / flashes)] * flashes))
    assert not _found(wheel, 180.0 / flashes)[0].is_hazardous
    assert _found(wheel, 3600.0 / flashes)[0].is_hazardous


def test_uneven_blades_tell_every_frequency() -> None:
    """Two blades at 24 turns a second: 48 Hz in the mean, 24 Hz the pattern, and two spacings."""
    wheel = design(layer("mask", ("black", 60), ("none", 90), ("black", 120), ("none", 90)))
    (found,) = _found(wheel, 1440.0)
    for rate in (24.0, 48.0):
        assert any(each == pytest.approx(rate) for each in found.frequencies)
    assert found.is_hazardous


def test_dips_of_two_depths_beat() -> None:
    """Deep and shallow dips in turn at 80 Hz: the deep ones come at 40."""
    found = flashing(_steps(1.0, 0.2, 1.0, 0.6), 40.0 * TURN)
    assert found.frequencies == pytest.approx((40.0, 80.0))
    assert found.is_hazardous
    assert not flashing(_steps(1.0, 0.2, 1.0, 0.2), 40.0 * TURN).is_hazardous


def test_wcag_2_2_general_flash_thresholds() -> None:
    """Opposing changes of 10 % or more of the maximum, the darker state below 0.80."""
    assert _count(1.0, 0.79) == 1
    assert _count(1.0, 0.81) == 0
    assert _count(1.0, 0.5, 0.41, 0.5) == 1
    assert _count(1.0, 0.5, 0.39, 0.5) == 2 - 1
    # Several small steps down and up again make one pair of opposing changes.
    assert _count(1.0, 0.95, 0.85, 0.75, 0.65, 0.9) == 1
    assert _count(1.0, 0.3, 0.5, 0.3, 0.45, 0.2) == 3


def test_luminance_is_relative_to_the_lights_own_maximum() -> None:
    """A dim light flashes as a bright one does."""
    assert _count(0.01, 0.005) == _count(1.0, 0.5) == 1
    assert _count(0.0, 0.0) == 0


def test_wcag_2_2_red_flash_needs_a_change_of_chromaticity() -> None:
    """More than 0.2 in u'v': from red to white it is 0.27, between two reds it is less."""

    def reds(*lights: tuple[float, float, float]) -> int:
        width = TURN / len(lights)
        glows = [
            Glow(at, light)
            for index, light in enumerate(lights)
            for at in (index * width, (index + 1) * width)
        ]
        return len(flashing(glows, TURN).red_changes)

    red = (1.0, 0.05, 0.05)
    assert reds(red, (1.0, 1.0, 1.0)) == 2
    assert reds(red, (0.0, 0.0, 0.0)) == 2
    assert reds(red, (1.0, 0.0, 0.0)) == 0
    assert reds(red, (1.0, 0.3, 0.02)) == 0
    assert reds((1.0, 1.0, 1.0), (0.0, 1.0, 0.0)) == 0


def test_sine_has_percent_flicker_100_and_index_1_over_pi() -> None:
    """IES: of 1 + sin, (2 - 0) / (2 + 0), and the area above the mean, 2, over 2 pi."""
    moments = [TURN * index / 2000 for index in range(2001)]
    glows = [Glow(at, (1 + math.sin(at),) * 3) for at in moments]  # type: ignore[arg-type]
    found = flashing(glows, TURN)
    assert found.percent_flicker == pytest.approx(100.0)
    assert found.flicker_index == pytest.approx(1.0 / math.pi, abs=1e-5)
    assert len(found.changes) == 2
    assert (found.changes[1] - found.changes[0]) == pytest.approx(math.pi, abs=0.01)


@given(
    st.lists(st.floats(0.0, 0.999), min_size=1, max_size=8, unique=True),
    st.floats(0.05, 5.0),
)
def test_most_in_a_second_is_that_of_a_slow_count(shares: Sequence[float], turn: float) -> None:
    """Slow twin: every second that begins with a change, over many turns."""
    times = sorted(share * turn for share in shares)
    all_times = [time + index * turn for index in range(int(2.0 / turn) + 3) for time in times]
    slow = max(sum(start <= time < start + 1.0 - 1e-9 for time in all_times) for start in times)
    assert abs(most_in_a_second(times, turn) - slow) <= 0


def test_a_single_film_does_not_flash() -> None:
    assert _found(design(layer("cover", film="red")), 600.0) == []


def test_red_behind_a_shutter_is_called_out() -> None:
    wheel = design(layer("mask", ("red", 180), ("black", 180)))
    assert _found(wheel, 600.0)[0].is_red_hazardous


def test_only_what_the_beam_meets_counts() -> None:
    wheel = design(layer("rim", ("black", 180), ("none", 180), inner=100.0), layer("cover"))
    assert len(_found(wheel, 600.0)) == 1
    assert _found(replace(wheel, beam=Beam(width=2, radius=30)), 600.0) == []
    assert len(_found(replace(wheel, beam=Beam(width=2, radius=55)), 600.0)) == 1


def test_films_multiply_and_black_lets_nothing_through() -> None:
    """IEC 61966-2-1: 128 of 255 decodes to 0.215861, the relative luminance of mid grey."""
    films = {**FILMS, "grey": film("grey", colour="#808080")}
    assert glow_of(("grey",), films)[1] == pytest.approx(0.215861, abs=5e-7)
    assert glow_of(("grey", "grey"), films)[1] == pytest.approx(0.215861**2, abs=5e-7)
    assert glow_of(("grey", "black"), films) == (0.0, 0.0, 0.0)
    assert glow_of((), films) == (1.0, 1.0, 1.0)


def test_duty_is_the_share_that_no_blocking_film_shades() -> None:
    wheel = replace(
        design(
            layer("colour", ("amber", 90), ("black", 90), ("none", 180), inner=30.0),
            layer("mask", ("black", 45), ("none", 315), outer=80.0, inner=30.0, start=45.0),
        ),
        hub_diameter=30.0,
    )
    found = disc_facts(_turning(wheel, 600.0), FILMS).duty
    shares = [(each.inner_radius, each.outer_radius, each.share) for each in found]
    # Inside, the mask shades half of the amber, outside black alone is dark.
    assert shares == [(15.0, 40.0, pytest.approx(0.625)), (40.0, 58.0, pytest.approx(0.75))]


def test_a_joint_is_no_flash() -> None:
    """A gap of 0.1 mm between two tints passes nothing that is as wide as a beam."""
    wheel = design(layer("colour", ("amber", 90), ("green", 270), gap=0.1))
    plain = design(layer("colour", ("amber", 90), ("green", 270)))
    (gap,), (none,) = _found(wheel, 600.0), _found(plain, 600.0)
    assert gap.most == none.most == 10.0
