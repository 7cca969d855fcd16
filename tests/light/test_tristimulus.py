"""Colours of light against colour-science, and against what the standards print."""

import numpy as np
import pytest
from light import colour_oracle as oracle

from jobprep.light.grid import WAVELENGTHS, data_columns, on_grid
from jobprep.light.lamps import illuminant_power, power
from jobprep.light.tristimulus import (
    chromaticity_of,
    lab_of,
    pair_tristimulus,
    seen,
    tristimulus,
    weights,
    white,
)
from jobprep.model.spectrum import DAYLIGHT, Lamp, Spectrum

ILLUMINANTS = ("A", "D65", "FL11")
RELATIVE = 1e-6


def lamp(name: str) -> Lamp:
    return Lamp(name=name, title=name, illuminant=name)


def random_curve(random: np.random.Generator) -> Spectrum:
    """Return a curve at uneven wavelengths, some nm to some tens of nm apart."""
    inner = np.sort(random.uniform(380.0, 780.0, int(random.integers(5, 90))))
    at = np.concatenate([[random.uniform(300.0, 379.0)], inner, [random.uniform(781.0, 900.0)]])
    return Spectrum(tuple(at), tuple(random.uniform(0.0, 1.0, len(at))))


@pytest.mark.parametrize("name", ILLUMINANTS)
def test_200_random_spectra_agree_with_colour_science(name: str) -> None:
    random = np.random.default_rng(25)
    light, own = oracle.illuminant(name), lamp(name)
    bare = oracle.xyz(oracle.distribution(WAVELENGTHS, np.ones(401)), light)
    assert white(own) == pytest.approx(bare, rel=RELATIVE)
    for _ in range(200):
        curve = random_curve(random)
        # The library is given the curve at every nm by numpy, which test_on_grid holds apart.
        values = np.interp(WAVELENGTHS, curve.wavelengths, curve.values)
        xyz = oracle.xyz(oracle.distribution(WAVELENGTHS, values), light)
        found = seen(on_grid(curve), own)
        assert found.xyz == pytest.approx(tuple(xyz), rel=RELATIVE)
        assert found.lab == pytest.approx(tuple(oracle.lab(xyz, bare)), rel=RELATIVE, abs=1e-7)
        assert found.chromaticity == pytest.approx(tuple(oracle.chromaticity(xyz)), rel=RELATIVE)


def test_on_grid_runs_straight_between_uneven_wavelengths() -> None:
    curve = Spectrum((380.0, 400.0, 405.0, 780.0), (0.0, 1.0, 0.5, 0.5))
    values = dict(zip(WAVELENGTHS, on_grid(curve), strict=True))
    assert [values[nm] for nm in (380.0, 390.0, 400.0, 402.0, 405.0, 600.0)] == pytest.approx(
        [0.0, 0.5, 1.0, 0.8, 0.5, 0.5]
    )


# x, y of CIE 15, tables T.3 and T.8 (2 degrees).
PRINTED = {
    "A": (0.44758, 0.40745),
    "D50": (0.34567, 0.35851),
    "D55": (0.33243, 0.34744),
    "D65": (0.31272, 0.32903),
    "D75": (0.29903, 0.31488),
    "FL2": (0.3721, 0.3751),
    "FL7": (0.3129, 0.3292),
    "FL11": (0.3805, 0.3769),
    "LED-B1": (0.4560, 0.4078),
    "LED-B2": (0.4357, 0.4012),
    "LED-B3": (0.3756, 0.3723),
    "LED-B4": (0.3422, 0.3502),
    "LED-B5": (0.3118, 0.3236),
    "E": (1 / 3, 1 / 3),
}


@pytest.mark.parametrize("name", PRINTED)
def test_illuminants_have_the_chromaticity_that_the_standard_prints(name: str) -> None:
    x, y, z = weights(lamp(name))[::5].sum(axis=0)  # printed are sums over the table's 5 nm
    assert (x / (x + y + z), y / (x + y + z)) == pytest.approx(PRINTED[name], abs=6e-5)
    assert white(lamp(name))[1] == pytest.approx(1.0, abs=1e-12)


def test_every_illuminant_shipped_is_in_that_list() -> None:
    assert {"A", "E", *data_columns("illuminants.csv")} - {"nm"} == set(PRINTED)


def test_the_observer_is_that_of_the_library() -> None:
    columns = data_columns("observer.csv")
    assert columns["nm"] == pytest.approx(WAVELENGTHS)
    for axis, name in enumerate(("x", "y", "z")):
        theirs = oracle.OBSERVER.values[20:421, axis]
        assert columns[name] == pytest.approx(theirs, rel=1e-9, abs=1e-12)
    assert columns["y"].max() == 1.0 and columns["nm"][columns["y"].argmax()] == 555.0


@pytest.mark.parametrize("kelvin", [1800.0, 2856.0, 3200.0])
def test_a_filament_shines_by_plancks_law(kelvin: float) -> None:
    own = power(Lamp(name="bulb", title="bulb", filament=kelvin))
    assert own == pytest.approx(oracle.filament(kelvin), rel=1e-9)


def test_illuminant_a_is_a_filament_of_2856_kelvin() -> None:
    own = power(Lamp(name="bulb", title="bulb", filament=2855.54))
    assert own == pytest.approx(illuminant_power("A"), rel=1e-4)


def test_the_bare_lamp_is_white_and_no_light_has_no_chromaticity() -> None:
    for name in ILLUMINANTS:
        assert seen(np.ones(401), lamp(name)).lab == pytest.approx((100.0, 0.0, 0.0), abs=1e-9)
    dark = seen(np.zeros(401), DAYLIGHT)
    assert dark.chromaticity is None and dark.lab == pytest.approx((0.0, 0.0, 0.0), abs=1e-12)
    assert chromaticity_of((1.0, 1.0, 1.0)) == pytest.approx((4 / 19, 9 / 19))


def test_all_pairs_at_once_are_each_pair_alone() -> None:
    films = np.random.default_rng(5).uniform(0.0, 1.0, (7, 401))
    found = pair_tristimulus(films, lamp("A"))
    for first in range(7):
        for second in range(7):
            alone = tristimulus(films[first] * films[second], lamp("A"))
            assert found[first, second] == pytest.approx(alone, rel=1e-12)


def test_a_lamp_without_visible_light_is_refused() -> None:
    dark = Lamp(name="dark", title="dark", spectrum=Spectrum((380.0, 780.0), (0.0, 0.0)))
    with pytest.raises(ValueError, match="no visible light"):
        weights(dark)


def test_lab_of_a_grey_film_is_the_same_in_every_lamp() -> None:
    for name in ILLUMINANTS:
        grey = lab_of(0.184187 * white(lamp(name)), lamp(name))
        assert grey == pytest.approx([50.0, 0.0, 0.0], abs=1e-4)  # Y of L* 50: CIE 15
