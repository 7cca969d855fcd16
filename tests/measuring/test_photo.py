"""Photographs of synthetic discs, one fault at a time, and files that are no photographs."""

import math
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from measuring.synthetic import OPEN, PALETTE, Scene, photograph, render
from PIL import Image

from jobprep.errors import CannotDoError, InputError
from jobprep.files.design.design import read_design
from jobprep.files.materials.library import film_library
from jobprep.files.measurements.corrections import read_corrections
from jobprep.geometry.outline import Point
from jobprep.light.difference import ciede2000
from jobprep.measuring.colour import lab_from_srgb
from jobprep.measuring.overlay import overlay_png
from jobprep.measuring.photo import fit_photo, measure_photo, prepare_photo, read_disc
from jobprep.measuring.photo_scale import setting_of
from jobprep.measuring.picture import read_picture
from jobprep.measuring.write_design import design_text
from jobprep.model.taken import Corrections, GivenHole
from jobprep.units import from_dial, to_degrees, to_dial

EDGES = [12.0, 75.5, 150.0, 210.25, 300.0]
NAMES = ["amber", "green", "black", "blue", "red"]
SCENE = Scene(
    seed=1,
    width=800,
    height=600,
    tilt=14.0,
    tilt_axis=25.0,
    distance=6.0,
    size=0.33,
    noise=2.0,
    rings=[(0.3, 1.0, EDGES, NAMES)],
)


@pytest.fixture(scope="module")
def picture(tmp_path_factory) -> Path:
    return photograph(SCENE, tmp_path_factory.mktemp("photo") / "wheel.jpg")


@pytest.fixture(scope="module")
def reading(picture):
    return read_disc(prepare_photo(picture))


@pytest.fixture(scope="module")
def found(reading):
    return fitted(reading, films=tuple(film_library().values()))


def colour_ring(measurement):
    return max(measurement.rings, key=lambda ring: len(ring.edges))


def dials(measurement) -> list[float]:
    return [to_dial(edge.direction.value) for edge in colour_ring(measurement).edges]


def test_separations_lie_where_they_are(found):
    assert dials(found.measurement) == pytest.approx(EDGES, abs=0.15)
    assert found.left_out == ()
    assert found.doubt == ""


def test_centre_bore_ring_and_hole_lie_where_they_are(found):
    centre = found.plane.from_picture(np.array(SCENE.pixel(0, 0)))
    assert np.hypot(*centre) < 0.003
    measurement = found.measurement
    assert measurement.outer_diameter.value == 120
    assert measurement.bore_diameter.value == pytest.approx(0.053 * 120, abs=0.25)
    assert colour_ring(measurement).inner_diameter.value == pytest.approx(36, abs=0.2)
    (hole,) = measurement.holes
    assert to_dial(hole.direction.value) == pytest.approx(40, abs=0.3)
    assert hole.radius.value == pytest.approx(54, abs=0.2)
    assert hole.diameter.value == pytest.approx(3.0, abs=0.25)


def test_zones_have_their_colours_and_kinds(found):
    zones = colour_ring(found.measurement).zones
    for zone, name in zip(zones, NAMES, strict=True):
        seen = lab_from_srgb(np.array(PALETTE[name]) / 255)
        assert float(ciede2000(zone.lab, seen)) < 4, name
    assert [zone.kind for zone in zones] == ["colour", "colour", "opaque", "colour", "colour"]
    assert zones[0].proposals[0].films == ("amber",)


def test_overlay_draws_on_the_photograph(found, tmp_path):
    path = tmp_path / "overlay.png"
    path.write_bytes(overlay_png(found))
    drawn = np.asarray(Image.open(path).convert("RGB")).astype(int)
    plain = np.rint(found.picture.encoded * 255).astype(int)
    assert drawn.shape == plain.shape
    changed = np.abs(drawn - plain).sum(axis=2) > 60
    assert 0.005 < changed.mean() < 0.2
    for dial in EDGES:  # each separation is drawn where it is in the picture
        angle = from_dial(dial)
        for radius in (0.5, 0.95):
            x, y = SCENE.pixel(radius * math.cos(angle), radius * math.sin(angle))
            assert changed[round(y) - 2 : round(y) + 3, round(x) - 2 : round(x) + 3].any()


def test_design_of_the_photograph_reads_back(found, tmp_path):
    path = tmp_path / "design.toml"
    path.write_text(design_text(found.measurement).text, encoding="utf-8")
    design = read_design(path, film_library())
    layer = max(design.layers, key=lambda each: len(each.sectors))
    widths = [to_degrees(sector.angle) for sector in layer.sectors]
    truth = np.diff([*EDGES, EDGES[0] + 360])
    assert widths == pytest.approx(list(truth), abs=0.2)


def test_the_same_picture_gives_the_same_numbers(picture, found):
    again = measure_photo(picture, 120.0)
    assert [e.direction for e in colour_ring(again.measurement).edges] == [
        e.direction for e in colour_ring(found.measurement).edges
    ]


def test_a_reading_that_is_kept_gives_the_same_with_one_correction_after_the_other(
    picture, reading
):
    taken_in = Corrections(diameter=120.0, add_edges=(math.radians(250.0),))
    fit_photo(reading, taken_in)
    for corrections in (
        replace(taken_in, remove_edges=(math.radians(150.0),), zero=0.1, remove_holes=True),
        Corrections(diameter=120.0),
    ):
        fitted = fit_photo(reading, corrections).measurement
        assert fitted == measure_photo(picture, corrections=corrections).measurement


def test_corrections_override_what_was_found(picture):
    rim = [SCENE.pixel(math.cos(a), math.sin(a)) for a in np.linspace(0, 5.5, 8)]
    corrected = measure_photo(
        picture,
        corrections=Corrections(
            diameter=100.0,
            rim=tuple(rim),
            zero=math.radians(12.0),
            remove_edges=(math.radians(150.0),),
            add_edges=(math.radians(250.0), math.radians(75.0)),
            remove_holes=True,
        ),
    )
    assert corrected.measurement.outer_diameter.value == 100
    assert corrected.measurement.holes == ()
    found_dials = dials(corrected.measurement)
    assert 138.0 not in [round(each) for each in found_dials]
    (given,) = [edge for edge in colour_ring(corrected.measurement).edges if "given" in edge.doubt]
    assert to_dial(given.direction.value) == pytest.approx(238.0, abs=1e-6)
    assert to_degrees(given.direction.uncertainty) == pytest.approx(0.5, abs=0.01)


def test_a_marked_white_becomes_white(reading, found):
    corrected = fitted(reading, white=Point(*SCENE.pixel(0.2, 0.0))).measurement
    assert found.measurement.rings[0].zones[0].lab.lightness < 93
    assert corrected.rings[0].zones[0].lab == pytest.approx((100, 0, 0), abs=1.0)


def test_an_open_sector_on_a_grainy_table_makes_no_others(tmp_path):
    scene = replace(
        SCENE,
        background="wood",
        background_colour=(150, 110, 75),
        rings=[(0.3, 1.0, EDGES, ["amber", "green", OPEN, "blue", "red"])],
    )
    measurement = measure_photo(photograph(scene, tmp_path / "a.jpg"), 120.0).measurement
    assert dials(measurement) == pytest.approx(EDGES, abs=0.3)
    assert colour_ring(measurement).zones[2].kind == "clear"


def test_one_plain_colour_has_no_sectors(tmp_path):
    scene = replace(SCENE, rings=[(0.3, 1.0, [0.0], ["green"])], tilt=0.0)
    measurement = measure_photo(photograph(scene, tmp_path / "a.jpg"), 120.0).measurement
    assert all(ring.edges == () for ring in measurement.rings)


def test_glare_on_the_bore_does_not_move_the_centre(tmp_path):
    scene = replace(SCENE, bore=0.08, glare=(0.0, -0.03, 0.1))
    found = measure_photo(photograph(scene, tmp_path / "a.jpg"), 120.0)
    assert np.hypot(*found.plane.from_picture(np.array(scene.pixel(0, 0)))) < 0.004
    assert dials(found.measurement) == pytest.approx(EDGES, abs=0.3)


def test_an_eccentric_bore_is_measured_and_does_not_move_the_centre(tmp_path):
    scene = replace(SCENE, bore_offset=(0.012, 0.0), tilt=0.0, rings=[(0.0, 1.0, EDGES, NAMES)])
    found = measure_photo(photograph(scene, tmp_path / "a.jpg"), 120.0)
    off = found.measurement.concentricity
    assert off.offset.value == pytest.approx(0.72, abs=0.1)
    assert off.direction == pytest.approx(0.0, abs=0.15)
    assert dials(found.measurement) == pytest.approx(EDGES, abs=0.3)
    assert any("eccentric bore" in text for text in found.measurement.warnings)


def test_a_faint_clear_border_is_found_or_pointed_at(tmp_path):
    scene = replace(
        SCENE, background_colour=(235, 235, 232), tilt=0.0, rings=[(0.3, 0.967, EDGES, NAMES)]
    )
    found = measure_photo(photograph(scene, tmp_path / "a.jpg"), 120.0)
    rim = np.array(scene.pixel(1.0, 0.0))
    assert np.hypot(*found.plane.from_picture(rim)) == pytest.approx(1.0, abs=0.005) or any(
        "a faint circle lies 3." in text for text in found.measurement.warnings
    )
    assert dials(found.measurement) == pytest.approx(EDGES, abs=0.3)


def test_a_glare_spot_is_neither_edge_nor_hole(tmp_path):
    scene = replace(SCENE, glare=(0.4, 0.5, 0.1), hole=None, rings=[(0.3, 1.0, EDGES, NAMES)])
    measurement = measure_photo(photograph(scene, tmp_path / "a.jpg"), 120.0).measurement
    assert dials(measurement) == pytest.approx(EDGES, abs=0.3)
    assert measurement.holes == ()
    assert any("no index hole was seen" in text for text in measurement.warnings)


def test_without_a_diameter_lengths_are_pixels_and_that_is_said(reading):
    measurement = fit_photo(reading).measurement
    assert measurement.scale is None
    assert any("lengths are pixels" in text for text in measurement.warnings)
    with pytest.raises(CannotDoError, match="no scale"):
        design_text(measurement)


def test_a_picture_without_a_disc_is_refused(tmp_path):
    noise = np.random.default_rng(1).normal(120, 20, (300, 400, 3)).clip(0, 255)
    path = tmp_path / "table.png"
    Image.fromarray(noise.astype(np.uint8)).save(path)
    with pytest.raises(CannotDoError, match=r"no disc was found.*rim = \[\["):
        measure_photo(path)


@pytest.mark.parametrize(("tag", "turn"), [(3, 180), (6, 270), (8, 90)])
def test_exif_orientation_is_honoured(tmp_path, tag, turn):
    # TIFF 6.0 / EXIF 2.3: 3 = turned by 180, 6 = to be turned 90 clockwise, 8 = 90 anticlockwise
    upright = render(replace(SCENE, jpeg=0, width=300, height=200))
    stored = upright.rotate(-turn, expand=True)
    exif = Image.Exif()
    exif[0x0112] = tag
    path = tmp_path / "turned.png"
    stored.save(path, exif=exif)
    read = read_picture(path)
    assert read.shape == (200, 300)
    assert np.rint(read.encoded * 255).astype(int) == pytest.approx(np.asarray(upright), abs=1)


@pytest.mark.parametrize("mode", ["L", "RGBA", "P", "CMYK", "I;16"])
def test_picture_modes_become_rgb(tmp_path, mode):
    grey = np.tile(np.arange(200, dtype=np.uint8), (120, 1))
    image = Image.fromarray(grey)
    if mode == "I;16":
        image = Image.fromarray(grey.astype(np.uint16) * 257)
    elif mode == "P":
        image = image.quantize(256)
    elif mode != "L":
        image = image.convert("RGB").convert(mode)
    path = tmp_path / "picture.tif"
    image.save(path)
    read = np.rint(read_picture(path).encoded * 255)
    assert read.shape == (120, 200, 3)
    assert read[..., 1] == pytest.approx(grey.astype(float), abs=4)


def test_large_pictures_are_reduced_and_that_is_said(tmp_path):
    path = tmp_path / "large.jpg"
    Image.new("RGB", (1600, 1200), "white").save(path)
    picture = read_picture(path, working_pixels=480_000)
    assert picture.shape == (600, 800)
    assert picture.reduction == pytest.approx(0.5)
    assert picture.warnings == ("the picture of 1.9 megapixels was reduced to 0.5 for measuring",)


def test_files_that_are_no_pictures_get_one_sentence(tmp_path):
    path = tmp_path / "a.jpg"
    with pytest.raises(InputError, match="no such file"):
        read_picture(path)
    path.write_text("not a picture")
    with pytest.raises(InputError, match="is not a JPEG, PNG or TIFF picture"):
        read_picture(path)
    Image.new("RGB", (200, 200)).save(path, "GIF")
    with pytest.raises(InputError, match="is not a JPEG, PNG or TIFF picture"):
        read_picture(path)
    Image.new("RGB", (50, 200)).save(path, "PNG")
    with pytest.raises(InputError, match="is only 50 × 200 pixels"):
        read_picture(path)
    Image.effect_noise((300, 300), 80).save(path, "JPEG")
    path.write_bytes(path.read_bytes()[:3000])
    with pytest.raises(InputError, match="cannot be read"):
        read_picture(path)


def test_the_missing_extra_is_said(monkeypatch, tmp_path):
    monkeypatch.setitem(sys.modules, "PIL", None)
    with pytest.raises(CannotDoError, match=r"pip install 'jobprep\[photo\]'"):
        measure_photo(tmp_path / "a.jpg")


def fitted(reading, films=(), **known):
    return fit_photo(reading, Corrections(diameter=120.0, **known), films)


def test_a_held_separation_stays_where_it_is_put_and_an_added_one_goes_to_its_edge(reading):
    beside = math.radians(152.0)
    away = (math.radians(150.0),)
    held = fitted(reading, remove_edges=away, hold_edges=(beside,)).measurement
    added = fitted(reading, remove_edges=away, add_edges=(beside,)).measurement
    assert dials(held)[2] == pytest.approx(152.0, abs=1e-9)
    assert dials(added)[2] == pytest.approx(150.0, abs=0.15)
    (edge,) = [
        each for each in colour_ring(held).edges if abs(to_dial(each.direction.value) - 152.0) < 0.1
    ]
    assert edge.doubt == ""
    assert to_degrees(edge.direction.uncertainty) >= 0.5
    assert [dials(held)[index] for index in (0, 1, 3, 4)] == pytest.approx(
        [dials(added)[index] for index in (0, 1, 3, 4)], abs=1e-9
    )


def test_a_person_who_is_sure_takes_the_doubt_of_one_edge_alone(reading):
    doubted = {"add_edges": (math.radians(250.0), math.radians(270.0))}
    unsure = fitted(reading, **doubted).measurement
    sure = fitted(reading, **doubted, sure_edges=(math.radians(250.0),)).measurement

    def doubts(measurement):
        return [
            round(to_dial(each.direction.value))
            for each in colour_ring(measurement).edges
            if each.doubt
        ]

    assert doubts(unsure) == [250, 270]
    assert doubts(sure) == [270]


def test_a_given_bore_is_the_circle_through_its_points(reading):
    """Through points of the true circle of another bore, mapped as the scene's camera sees it."""
    at = [
        Point(*SCENE.pixel(0.1 * math.cos(angle), 0.1 * math.sin(angle)))
        for angle in np.linspace(0.0, 5.5, 7)
    ]
    bore = fitted(reading, bore=tuple(at)).measurement.bore_diameter
    assert bore.value == pytest.approx(12.0, abs=0.1)
    assert abs(bore.value - 12.0) < 2.0 * bore.uncertainty
    with pytest.raises(InputError, match=r"bore: .*give three or more points all round"):
        fitted(reading, bore=(Point(300, 300), Point(310, 310), Point(320, 320)))


def test_holes_are_taken_out_and_in_one_by_one(reading):
    x, y = SCENE.pixel(0.9 * math.cos(from_dial(40.0)), 0.9 * math.sin(from_dial(40.0)))
    assert len(fitted(reading).measurement.holes) == 1
    assert fitted(reading, no_holes=(Point(x, y),)).measurement.holes == ()
    assert len(fitted(reading, no_holes=(Point(x + 60, y),)).measurement.holes) == 1
    ahead = SCENE.pixel(0.5, 0.0)
    width = 2.0 * math.dist(ahead, SCENE.pixel(0.54, 0.0))
    _, added = fitted(reading, add_holes=(GivenHole(*ahead, width),)).measurement.holes
    assert to_dial(added.direction.value) == pytest.approx(90.0, abs=0.3)
    assert added.radius.value == pytest.approx(30.0, abs=0.3)
    assert added.diameter.value == pytest.approx(4.8, rel=0.05)


def test_how_a_picture_was_taken_may_stand_in_its_corrections(tmp_path):
    path = tmp_path / "fix.toml"
    path.write_text('paper = "209.8x297.1"\nlight = "behind"\n')
    setting = setting_of(read_corrections(path))
    assert setting.sheet is not None
    assert setting.sheet.paper.height == 297.1
    assert (setting.light, setting.pixel) == ("behind", None)
    path.write_text("scan = 300\n")
    assert setting_of(read_corrections(path)).pixel == pytest.approx(25.4 / 300)
    path.write_text('paper = "A9"\nscan = 300\nadd_holes = [[1, 2, 0]]\n')
    with pytest.raises(InputError) as caught:
        read_corrections(path)
    assert [each.message for each in caught.value.problems] == [
        '"A9" is not A3, A4, A5, Letter, or WxH in mm, as 209.8x297.1',
        "give paper or scan: each gives the scale",
        "its width must be greater than 0",
    ]


def test_corrections_are_read(tmp_path):
    path = tmp_path / "fix.toml"
    path.write_text(
        "format = 1\ndiameter = 120\nzero = 90\nwhite = [3, 4]\nadd_edges = [10]\n"
        "remove_edges = [20.5]\nremove_holes = true\n"
        "rim = [[1, 2], [3, 4], [5, 6], [7, 8], [9, 10]]\n"
    )
    read = read_corrections(path)
    assert read.diameter == 120
    assert read.zero == pytest.approx(math.pi / 2)
    assert read.white == (3, 4)
    assert read.remove_edges == pytest.approx((math.radians(20.5),))
    assert len(read.rim) == 5


def test_all_mistakes_of_a_correction_file_are_said(tmp_path):
    path = tmp_path / "fix.toml"
    path.write_text(
        'format = 2\nzeero = 1\nzero = "up"\ndiameter = -1\nadd_edges = 3\nwhite = [1]\n'
        "rim = [[1, 2]]\nremove_holes = 1\n"
    )
    with pytest.raises(InputError) as caught:
        read_corrections(path)
    said = str(caught.value).replace(str(path), "fix.toml").splitlines()
    assert said == [
        "fix.toml:1: format: 2 is not 1, the format that this version reads",
        "fix.toml:2: zeero: unknown field. Did you mean zero?",
        'fix.toml:3: zero: "up" is not an angle in degrees, clockwise from 12 o\'clock',
        "fix.toml:4: diameter: -1 is not a length in mm, from 0.001 to 10000",
        "fix.toml:5: add_edges: 3 is not a list of angles in degrees",
        "fix.toml:6: white: [1] is not a point [x, y]",
        "fix.toml:7: rim: a list of 1 is not five or more pixels [[x, y], ...]",
        "fix.toml:8: remove_holes: 1 is not true or false",
    ]
