"""Films near a colour in a lamp: pairs against each pair alone, metamers, how the work grows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobprep.errors import CannotDoError
from jobprep.files.materials.library import film_library, lamp_library
from jobprep.films import near_light
from jobprep.films.choice import choose_films, choose_like
from jobprep.films.near_light import nearest_in
from jobprep.light.difference import ciede2000
from jobprep.light.grid import WAVELENGTHS
from jobprep.light.metamerism import metamers
from jobprep.light.transmission import stacked
from jobprep.light.tristimulus import seen
from jobprep.measuring.colour import Lab, lab_from_hex, nearest_films
from jobprep.model import Film
from jobprep.model.spectrum import DAYLIGHT, Spectrum, Transmission

FILMS = dict(film_library())
LAMPS = lamp_library()
PASSING = [film for film in FILMS.values() if film.light == "passes"]


def grey(name: str, values: np.ndarray) -> Film:
    curve = Spectrum(tuple(WAVELENGTHS), tuple(map(float, values)))
    return replace(FILMS["amber"], name=name, transmission=Transmission(curve=curve))


def without_spectra() -> list[Film]:
    return [replace(film, transmission=None) for film in FILMS.values()]


@given(st.sampled_from(["#f29a0c", "#673d21", "#204060", "#101010", "#f0f0f0", "#0a8040"]))
def test_without_spectra_the_films_are_those_of_their_channels(colour: str) -> None:
    lab = lab_from_hex(colour)
    found = nearest_in(lab, without_spectra(), 30)
    expected = nearest_films(lab, without_spectra(), 30)
    names = [tuple(film.name for film in each.films) for each in found]
    assert names == [each.films for each in expected]
    assert [each.difference for each in found] == pytest.approx(
        [each.difference for each in expected], abs=1e-9
    )
    blocking = {name for name, film in FILMS.items() if film.light == "blocks"}
    assert not any(
        each.is_spectral for each in found if not {f.name for f in each.films} & blocking
    )


@pytest.mark.parametrize("lamp", sorted(LAMPS))
def test_each_stack_has_the_colour_of_its_product_of_spectra_in_the_lamp(lamp: str) -> None:
    light = LAMPS[lamp]
    lab = lab_from_hex("#673d21")
    found = nearest_in(lab, list(FILMS.values()), 200, light)
    assert any(len(each.films) == 2 for each in found)
    for each in found:
        if each.is_spectral:
            own = seen(stacked(each.films), light).lab
            assert each.lab == pytest.approx(own, abs=1e-9)
            assert each.difference == pytest.approx(float(ciede2000(lab, own)), abs=1e-9)


def test_a_stack_of_spectra_differs_from_one_of_channels() -> None:
    """Multiplied by channels, saturated films come out as another colour."""
    pair = [FILMS["violet"], FILMS["yellow"]]
    lab = Lab(*seen(stacked(pair), DAYLIGHT).lab)
    (best,) = nearest_in(lab, pair, 1)
    assert (best.difference, best.is_spectral) == (pytest.approx(0.0, abs=1e-6), True)
    (flat,) = nearest_in(lab, [replace(film, transmission=None) for film in pair], 1)
    assert flat.difference > 3.0


def test_a_film_without_a_spectrum_keeps_its_colour_and_says_so() -> None:
    plain = replace(FILMS["red"], name="plain", transmission=None)
    found = nearest_in(lab_from_hex(plain.colour), [plain, FILMS["clear"]], 9, LAMPS["halogen"])
    by_names = {tuple(film.name for film in each.films): each for each in found}
    assert by_names["plain",].difference == pytest.approx(0.0, abs=1e-6)
    assert not by_names["plain",].is_spectral
    assert by_names["clear",].is_spectral
    assert not any(each.is_spectral for names, each in by_names.items() if "plain" in names)


def test_films_that_block_are_never_seen_by_the_light_they_do_not_pass() -> None:
    found = nearest_in(lab_from_hex("#141414"), [FILMS["black"], FILMS["mirror"]], 2)
    assert [each.films[0].name for each in found] == ["black", "mirror"]
    assert found[0].difference == pytest.approx(0.0, abs=1e-6)


def test_nothing_comes_near_where_there_are_no_films() -> None:
    assert nearest_in(Lab(50.0, 0.0, 0.0), [], 3) == ()


def test_5000_stacks_take_one_product_of_matrices_and_two_differences(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What grows with the stacks is a fixed number of array operations, no call for each stack."""
    calls: list[str] = []
    for name in ("pair_tristimulus", "tristimulus", "lab_of", "ciede2000", "lab_from_linear"):
        original = getattr(near_light, name)

        def counted(*given: object, name: str = name, original: object = original) -> object:
            calls.append(name)
            return original(*given)  # type: ignore[operator]

        monkeypatch.setattr(near_light, name, counted)
    random = np.random.default_rng(3)
    for count in (10, 100):
        films = [grey(f"f{n:03}", random.uniform(0.0, 1.0, 401)) for n in range(count)]
        calls.clear()
        assert len(nearest_in(Lab(30.0, 5.0, 5.0), films, 5, LAMPS["halogen"])) == 5
        assert sorted(calls) == [
            *("ciede2000", "ciede2000", "lab_from_linear", "lab_of", "lab_of"),
            *("pair_tristimulus", "tristimulus"),
        ]


def metameric_pair() -> tuple[Film, Film]:
    """Return two films of one colour in daylight: one smooth, one with what daylight cannot see.

    A wave without X, Y and Z in daylight (a metameric black, Wyszecki and Stiles) is added.
    """
    from jobprep.light.tristimulus import weights

    seen_by = weights(DAYLIGHT)
    wave = np.sin(WAVELENGTHS / 14.0)
    coefficients, *_ = np.linalg.lstsq(seen_by, wave, rcond=None)
    black = wave - seen_by @ coefficients
    base = np.full(401, 0.4)
    return grey("smooth", base), grey("wavy", base + 0.35 * black / np.abs(black).max())


def test_two_films_that_match_in_daylight_only_are_named_with_both_differences() -> None:
    pair = metameric_pair()
    (found,) = metamers([(film,) for film in pair], LAMPS["white-led"])
    assert (found.first, found.second) == (("smooth",), ("wavy",))
    assert found.in_daylight == pytest.approx(0.0, abs=1e-6)
    assert found.in_lamp > 4.0
    said = found.said(LAMPS["white-led"])
    assert said.startswith("smooth and wavy match in daylight and differ in the lamp: ΔE 0.0 in")
    assert f"ΔE {found.in_lamp:.1f} in the lamp white-led" in said


def test_films_that_match_everywhere_or_nowhere_are_no_metamers() -> None:
    smooth, _ = metameric_pair()
    twin = replace(smooth, name="twin")
    assert not list(metamers([(smooth,), (twin,)], LAMPS["white-led"]))
    assert not list(metamers([(FILMS["red"],), (FILMS["blue"],)], LAMPS["white-led"]))


def test_a_match_of_a_film_gives_both_differences_and_names_the_metamer() -> None:
    smooth, wavy = metameric_pair()
    films = {"wavy": wavy, "red": FILMS["red"], "smooth": smooth}
    found = choose_like(smooth, films, 2, LAMPS["white-led"])
    assert all("smooth" not in each.films for each in found.choices)
    wavy_choice = next(each for each in found.choices if each.films == ("wavy",))
    assert wavy_choice.in_daylight == pytest.approx(0.0, abs=1e-6)
    assert wavy_choice.difference > 4.0
    assert ("smooth",) in {each.first for each in found.metamers}
    assert not choose_like(smooth, films, 2, DAYLIGHT).metamers


def test_a_film_that_matches_only_in_daylight_is_named_though_others_are_nearer() -> None:
    smooth, wavy = metameric_pair()
    near = grey("near", np.full(401, 0.39))
    found = choose_like(smooth, {"wavy": wavy, "near": near}, 1, LAMPS["white-led"])
    assert [each.films for each in found.choices] == [("near",)]
    assert (("smooth",), ("wavy",)) in {(each.first, each.second) for each in found.metamers}


def test_a_film_without_a_spectrum_cannot_be_matched_in_a_lamp() -> None:
    plain = replace(FILMS["red"], name="plain", transmission=None)
    with pytest.raises(CannotDoError, match="plain has no spectrum"):
        choose_like(plain, FILMS, 3, LAMPS["halogen"])


def test_light_is_a_range_for_two_films_and_one_number_for_one() -> None:
    found = choose_films(lab_from_hex("#673d21"), FILMS, 50, LAMPS["halogen"])
    for each in found.choices:
        if each.transmittance is not None:
            least, most = each.transmittance
            assert (least < most) if len(each.films) == 2 else least == most
            own = seen(stacked([FILMS[name] for name in each.films]), LAMPS["halogen"]).xyz[1]
            assert least == pytest.approx(own)
