"""The light of windows: the product of spectra by an independent library, shares of the turn."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from light import colour_oracle as oracle
from light.lit_films import BULB, CURVES, LIT, lit, lit_beacon

from jobprep.disc.facts import disc_facts
from jobprep.disc.light_checks import check_light
from jobprep.disc.window_light import StackLight, WindowLight
from jobprep.light.grid import WAVELENGTHS
from jobprep.light.tristimulus import weights
from jobprep.model import Design, Film
from jobprep.model.spectrum import DAYLIGHT, Lamp


def lights(wheel: Design, films: dict[str, Film] = LIT) -> tuple[WindowLight, ...]:
    return disc_facts(wheel, films).window_lights


def only_lit(light: WindowLight) -> StackLight:
    (found,) = light.lit
    return found


def test_a_stack_has_the_colour_of_the_product_of_its_spectra_in_the_lamp() -> None:
    """Against colour-science, with Planck's law for the bulb and its table for daylight."""
    stack = only_lit(lights(lit_beacon())[0])
    assert (stack.films, stack.way) == (("clear", "red"), "spectra")
    through = oracle.distribution(WAVELENGTHS, CURVES["clear"] * CURVES["red"])
    bulb = oracle.distribution(WAVELENGTHS, oracle.filament(2856.0))
    every = oracle.distribution(WAVELENGTHS, np.ones(401))
    for seen, light in ((stack.in_lamp, bulb), (stack.in_daylight, oracle.illuminant("D65"))):
        assert seen is not None
        xyz = oracle.xyz(through, light)
        assert seen.xyz == pytest.approx(tuple(xyz), rel=1e-6)
        bare = oracle.xyz(every, light)
        assert seen.lab == pytest.approx(tuple(oracle.lab(xyz, bare)), rel=1e-6)
        assert seen.chromaticity == pytest.approx(tuple(oracle.chromaticity(xyz)), rel=1e-6)


def test_efficiency_is_what_passes_times_the_share_of_the_turn() -> None:
    """Red takes a third of the turn of each window; glue saves the two surfaces of one film."""
    for light in lights(lit_beacon()):
        stack = only_lit(light)
        assert stack.share == pytest.approx(1.0 / 3.0, abs=1e-3)
        least, most = light.efficiency
        assert stack.in_lamp is not None
        assert least == pytest.approx(stack.share * stack.in_lamp.xyz[1])
        assert most == pytest.approx(least * 104.0 / 96.0)  # n = 1.5


def test_more_of_a_filaments_light_than_of_daylight_passes_red_film() -> None:
    stack = only_lit(lights(lit_beacon())[0])
    assert stack.in_lamp is not None
    assert stack.in_lamp.xyz[1] > 1.3 * stack.in_daylight.xyz[1]


def test_an_open_window_passes_all_and_a_dark_one_nothing() -> None:
    wheel = lit_beacon()
    black, red = wheel.layers[1].sectors
    bare = replace(wheel.layers[1], sectors=(black, replace(red, film="none")))
    (window, _) = lights(replace(wheel, layers=(bare,)))
    stack = only_lit(window)
    assert stack.films == ()
    assert stack.transmittance == pytest.approx((1.0, 1.0))
    assert stack.in_lamp is not None
    assert stack.in_lamp.lab == pytest.approx((100.0, 0.0, 0.0), abs=1e-9)
    assert sum(each is None for each in window.stacks) == 1


def test_without_a_spectrum_of_one_film_nothing_is_said_of_the_lamp() -> None:
    films = {**LIT, "red": replace(LIT["red"], transmission=None)}
    (first, _) = lights(lit_beacon(), films)
    stack = only_lit(first)
    assert (stack.way, stack.lacking, stack.in_lamp) == ("channels", ("red",), None)
    # Clear is #ffffff, red #d00010: its luminance in sRGB (IEC 61966-2-1).
    assert stack.in_daylight.xyz[1] == pytest.approx(0.2126 * 0.63076 + 0.0722 * 0.00518, abs=1e-4)
    (caution,) = check_light(disc_facts(lit_beacon(), films))
    assert (
        "the colour of red in the lamp bulb is not known, since it has no spectrum"
        in caution.message
    )
    assert not caution.is_error
    assert not list(check_light(disc_facts(lit_beacon(), LIT)))


def test_without_a_lamp_it_is_daylight_and_no_film_needs_a_spectrum() -> None:
    (first, _) = lights(lit_beacon(lamp=None))
    assert (first.lamp, first.is_lamp_given) == (DAYLIGHT, False)
    assert only_lit(first).in_lamp == only_lit(first).in_daylight
    plain = {name: replace(film, transmission=None) for name, film in LIT.items()}
    assert not list(check_light(disc_facts(lit_beacon(lamp=None), plain)))


def test_stacks_that_match_in_one_light_only_are_named_in_a_caution() -> None:
    """A grey, and the same with a wave that has no X, Y and Z in daylight, beside each other."""
    seen_by = weights(DAYLIGHT)
    wave = np.sin(WAVELENGTHS / 14.0)
    coefficients, *_ = np.linalg.lstsq(seen_by, wave, rcond=None)
    unseen = wave - seen_by @ coefficients
    base = np.full(401, 0.4)
    films = {
        **LIT,
        "red": lit(LIT["red"], base),
        "amber": lit(LIT["amber"], base + 0.35 * unseen / np.abs(unseen).max()),
    }
    wheel = lit_beacon(Lamp(name="led", title="a LED", illuminant="LED-B3"))
    cover, colours = wheel.layers
    black, red = colours.sectors
    half = replace(red, angle=red.angle / 2.0)
    wheel = replace(
        wheel,
        layers=(cover, replace(colours, sectors=(black, half, replace(half, film="amber")))),
    )
    (caution,) = check_light(disc_facts(wheel, films))
    pair, told = caution.message.split(" match in daylight and differ in the lamp: ")
    assert sorted(pair.split(" and ")) == ["clear + amber", "clear + red"]
    by_day, in_lamp = told.split(", ")
    assert by_day == "ΔE 0.0 in daylight"
    assert float(in_lamp.split()[1]) > 4.0 and in_lamp.endswith("in the lamp led")
    same = {**films, "amber": replace(films["red"], name="amber")}
    assert not list(check_light(disc_facts(wheel, same)))


def test_no_window_no_light() -> None:
    assert lights(replace(lit_beacon(), machine=None)) == ()
    assert BULB.filament == 2856.0
