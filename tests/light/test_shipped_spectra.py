"""The curves that ship: invented, marked so, smooth, and of the colour of their films."""

import numpy as np
import pytest
from invented_spectra import COLOUR, written
from light import colour_oracle as oracle

from jobprep.files.materials.library import film_library, shipped_materials
from jobprep.light.difference import ciede2000
from jobprep.light.grid import WAVELENGTHS
from jobprep.light.transmission import has_spectrum, total
from jobprep.light.tristimulus import seen
from jobprep.measuring.colour import lab_from_hex
from jobprep.model.spectrum import DAYLIGHT

FILMS = film_library()
CURVED = sorted(name for name, film in FILMS.items() if film.transmission is not None)


def test_every_film_that_passes_light_has_a_curve() -> None:
    assert all(has_spectrum(film) for film in FILMS.values())
    assert {"amber", "blue", "clear", "diffusion", "green", "red", "violet"} <= set(CURVED)


@pytest.mark.parametrize("name", CURVED)
def test_a_curve_has_the_colour_of_its_film(name: str) -> None:
    """By the package, and by colour-science with its own observer, daylight and difference."""
    film = FILMS[name]
    assert float(ciede2000(seen(total(film), DAYLIGHT).lab, lab_from_hex(film.colour))) < 0.1
    light = oracle.illuminant("D65")
    xyz = oracle.xyz(oracle.distribution(WAVELENGTHS, total(film)), light)
    bare = oracle.xyz(oracle.distribution(WAVELENGTHS, np.ones(401)), light)
    assert oracle.difference(oracle.lab(xyz, bare), np.array(lab_from_hex(film.colour))) < 0.1


@pytest.mark.parametrize("name", CURVED)
def test_a_curve_is_smooth_and_marked_as_invented(name: str) -> None:
    transmission = FILMS[name].transmission
    assert transmission is not None
    assert transmission.source == "invented"
    values = np.array(transmission.curve.values)
    assert np.abs(np.diff(values)).max() < 0.2  # in 10 nm: no edge of any real film is sought
    assert 0.0 < values.min() and values.max() < 0.97
    text = (shipped_materials() / "films" / f"{name}.csv").read_text(encoding="utf-8")
    assert text.splitlines()[0].startswith(f"# Total transmission of {name}: INVENTED")


def test_the_curves_are_those_that_their_program_gives() -> None:
    """Its search ends within a few parts in 10,000, whatever the library's version."""
    texts = written(shipped_materials() / "films")
    assert sorted(path.stem for path in texts) == CURVED
    for path, text in texts.items():
        colour = COLOUR.search(path.with_suffix(".toml").read_text(encoding="utf-8"))
        assert colour and colour[1] in text
        kept = np.loadtxt(path, delimiter=",", skiprows=3)
        again = np.loadtxt(text.splitlines(), delimiter=",", skiprows=3)
        assert kept == pytest.approx(again, abs=5e-4)
