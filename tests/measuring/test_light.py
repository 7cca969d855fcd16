"""White balance, one pass of light or two, and how far a colour is to be trusted."""

import numpy as np
import pytest
from measuring.synthetic import Scene, photograph

from jobprep.cli import measurement as shown
from jobprep.files.materials.library import film_library
from jobprep.geometry.outline import Point
from jobprep.light.difference import ciede2000
from jobprep.measuring.colour import (
    FilmMatch,
    Lab,
    hex_from_lab,
    lab_from_hex,
    lab_from_linear,
    linear_from_lab,
)
from jobprep.measuring.light import (
    CAMERA_OFF,
    TWO_PASSES,
    TWO_PASSES_OFF,
    UNBALANCED_OFF,
    UNSAID,
    Lighting,
    film_colour,
    light_warnings,
)
from jobprep.measuring.measurement import ColourZone
from jobprep.measuring.photo import measure_photo
from jobprep.measuring.photo_scale import PhotoSetting
from jobprep.model.taken import Corrections

AMBER = np.array([0.9, 0.42, 0.05])
"""What a film lets through, channel by channel."""
LAMP = np.array([0.8, 0.66, 0.41])
"""A warm lamp, as paper shows it."""
NONE = np.zeros(3)


@pytest.mark.parametrize(("way", "passes"), [("behind", 1), ("paper", 2)])
def test_the_light_is_undone_in_closed_form(way, passes):
    """Behind a film white is lit once through it, T; on paper twice, T²."""
    found = film_colour(LAMP * AMBER**passes, NONE, Lighting(way=way, white=LAMP))
    assert found.lab == pytest.approx(lab_from_linear(AMBER))
    other = "paper" if way == "behind" else "behind"
    wrong = film_colour(LAMP * AMBER**passes, NONE, Lighting(way=other, white=LAMP))
    assert ciede2000(wrong.lab, found.lab) > 10.0


def test_what_is_known_is_in_the_uncertainty():
    one = film_colour(AMBER, NONE, Lighting(way="behind", white=np.ones(3)))
    assert one.off == pytest.approx(CAMERA_OFF)
    two = film_colour(AMBER**2, NONE, Lighting(way="paper", white=np.ones(3)))
    assert two.off == pytest.approx(np.hypot(CAMERA_OFF, TWO_PASSES_OFF))
    uneven = film_colour(AMBER, NONE, Lighting(way="behind", white=np.ones(3), white_off=0.1))
    noisy = film_colour(AMBER, AMBER * 0.1, Lighting(way="behind", white=np.ones(3)))
    unknown = film_colour(AMBER, NONE, Lighting(way="behind"))
    assert one.off < uneven.off < unknown.off
    assert one.off < noisy.off < unknown.off


def test_two_uncertainties_hold_the_truth_under_an_unknown_balance():
    """Any cast of half a stop either way, in each channel by itself."""
    random = np.random.default_rng(3)
    inside = 0
    for _ in range(400):
        through = random.uniform(0.05, 0.95, 3)
        cast = np.exp(random.uniform(-1, 1, 3) * UNBALANCED_OFF * np.sqrt(3.0))
        found = film_colour(through * cast, NONE, Lighting(way="behind"))
        inside += float(ciede2000(found.lab, lab_from_linear(through))) <= 2.0 * found.off
    assert inside >= 380


def test_what_was_not_said_is_asked_for():
    assert light_warnings(Lighting()) == (UNSAID,)
    assert light_warnings(Lighting(way="behind", white=LAMP)) == ()
    assert light_warnings(Lighting(way="paper", white=LAMP)) == (TWO_PASSES,)
    (said,) = light_warnings(Lighting(way="behind"))
    assert "white = [x, y]" in said


FILMS = film_library()
NAMES = ["amber", "green", "violet", "yellow"]
EDGES = [20.0, 110.0, 200.0, 290.0]


def on_paper(name: str) -> str:
    """What a film looks like on paper: its colour seen twice, under the lamp."""
    through = linear_from_lab(lab_from_hex(FILMS[name].colour))
    return hex_from_lab(lab_from_linear(LAMP * np.clip(through, 0, 1) ** 2))


def test_a_disc_on_paper_under_a_warm_lamp_shows_its_films(tmp_path):
    """In a stated grey a fifth as bright as the paper as well."""
    paper = np.array([int(hex_from_lab(lab_from_linear(LAMP))[i : i + 2], 16) for i in (1, 3, 5)])
    scene = Scene(
        seed=4, width=800, height=600, size=0.33, noise=1.5, blur=0.8,
        background_colour=tuple(map(int, paper)),
        rings=[(0.3, 1.0, EDGES, [on_paper(name) for name in NAMES])],
    )  # fmt: skip
    photo = photograph(scene, tmp_path / "wheel.png")
    films = tuple(FILMS.values())
    corrections = Corrections(white=Point(30.0, 30.0))
    found = measure_photo(photo, 120.0, corrections, films, PhotoSetting(light="paper")).measurement
    assert TWO_PASSES in found.warnings
    zones = max(found.rings, key=lambda ring: len(ring.edges)).zones
    for zone, name in zip(zones, NAMES, strict=True):
        truth = lab_from_hex(FILMS[name].colour)
        assert float(ciede2000(zone.lab, truth)) <= 2.0 * zone.lab_off < 8.0
        assert zone.proposals[0].films == (name,)
    raw = measure_photo(photo, 120.0, films=films).measurement
    assert UNSAID in raw.warnings
    zone = max(raw.rings, key=lambda ring: len(ring.edges)).zones[0]
    assert float(ciede2000(zone.lab, lab_from_hex(FILMS["amber"].colour))) > 8.0


def test_none_near_is_said_and_only_then():
    near = FilmMatch(films=("red",), lab=Lab(40, 50, 30), difference=9.0)
    far = FilmMatch(films=("red",), lab=Lab(40, 50, 30), difference=22.0)

    def words(*matches):
        return shown._zone_remark(ColourZone(kind="colour", lab=Lab(50, 0, 0), proposals=matches))

    assert "none near: red (ΔE 22)" in words(far)
    assert "none near" not in words(near)
    assert "none near" not in words(near, far)
    assert "none near" not in shown._zone_remark(ColourZone())
