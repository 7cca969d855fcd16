"""A sheet of paper in the picture, and a scanner, give scale, slant and white."""

import io
import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from commands import done, run
from measuring.flat_scene import FlatScene, disc, rectangle, sector
from PIL import Image

from jobprep.measuring.ellipse_fit import fit_ellipse
from jobprep.measuring.overlay import overlay_png
from jobprep.measuring.photo import measure_photo
from jobprep.measuring.photo_scale import SCANNED, SCANNER_OFF, PhotoSetting, sheet_named
from jobprep.measuring.picture import pixel_size, read_picture
from jobprep.measuring.plane_map import apply_map
from jobprep.measuring.sheet import find_sheet, rim_diameter, white_of_sheet
from jobprep.model.paper import PAPERS, side_tolerance
from jobprep.units import to_degrees, to_dial

WHITE = (236, 228, 206)
RADIUS = 60.0
VIEWS = [
    {"tilt": 0.0},
    {"tilt": 20.0, "towards": 40.0, "roll": 10.0, "light": 0.3},
    {"tilt": 28.0, "towards": 100.0, "roll": 30.0, "noise": 5.0},
    {"tilt": 15.0, "towards": 200.0, "roll": -70.0, "blur": 1.5},
]


def wheel(x: float, y: float) -> list:
    """A disc of four colours about a place, with bore and rim of truth."""
    colours = [(200, 30, 30), (30, 150, 70), (30, 60, 180), (250, 170, 20)]
    dials = [10.0, 85.0, 190.0, 290.0, 370.0]
    return [
        *(
            (sector(RADIUS, 4.0, dials[i], dials[i + 1], x, y), colours[i])
            for i in range(len(colours))
        ),
    ]


def scene(paper=(210.0, 297.0), at=(20.0, 30.0), things=(), **view) -> FlatScene:
    """A sheet of paper on a dark table with a disc on it, or over its edge."""
    on_top = things or ((disc(RADIUS, *at, bore=4.0), (30, 120, 60)),)
    return FlatScene(things=((rectangle(*paper), WHITE), *on_top), scale=1.9, **view)


def true_rim(view: FlatScene, at=(20.0, 30.0)):
    turn = np.linspace(0.0, 2.0 * math.pi, 200)
    circle = np.column_stack([at[0] + RADIUS * np.cos(turn), at[1] + RADIUS * np.sin(turn)])
    return fit_ellipse(view.seen(circle)).ellipse


def found_in(view: FlatScene, folder, name="A4"):
    picture = read_picture(view.save(folder / "sheet.png"))
    return picture, find_sheet(picture, sheet_named(name))


def test_sides_are_as_they_are_sold():
    """ISO 216: A4 is 210 by 297; from memory up to 2 mm off either way."""
    assert tuple(PAPERS["A4"]) == (210.0, 297.0)
    assert [side_tolerance(side) for side in (105, 150, 210, 297, 600, 841)] == [
        1.5, 1.5, 2.0, 2.0, 2.0, 3.0,
    ]  # fmt: skip
    assert tuple(PAPERS["Letter"]) == pytest.approx((215.9, 279.4))


@pytest.mark.slow
@pytest.mark.parametrize(
    ("view", "at"),
    [
        pytest.param(VIEWS[0], (20.0, 30.0), id="above", marks=pytest.mark.slow),
        pytest.param(VIEWS[1], (20.0, 30.0), id="slant"),
        pytest.param(VIEWS[2], (20.0, 30.0), id="noise", marks=pytest.mark.slow),
        pytest.param(VIEWS[3], (20.0, 30.0), id="blur", marks=pytest.mark.slow),
        pytest.param(VIEWS[1], (100.0, 60.0), id="over its edge"),
    ],
)
def test_corners_scale_slant_and_white_of_a_sheet(view, at, tmp_path):
    shown = scene(at=at, **view)
    picture, found = found_in(shown, tmp_path)
    assert found is not None
    truth = apply_map(shown.matrix, np.asarray(rectangle(210, 297).exterior.coords)[:4])
    for corner, off in zip(found.corners, found.offs, strict=True):
        assert np.hypot(*(truth - corner).T).min() < 2.0 * off
    rim = true_rim(shown, at)
    across = rim_diameter(found, rim, 0.0)
    assert across.value == pytest.approx(2 * RADIUS, abs=0.25)
    if at == (20.0, 30.0):  # in the middle of the picture, where the camera aims
        assert to_degrees(found.slant(np.array(rim.centre))) == pytest.approx(view["tilt"], abs=4.0)
    white, off = white_of_sheet(picture, found, rim)
    assert white / white[0] == pytest.approx(
        np.array([0.8388, 0.7758, 0.6172]) / 0.8388, abs=0.02
    )  # #ece4ce in linear light
    assert (off > 0.02) == ("light" in view)


@pytest.mark.slow
def test_the_sheets_tolerance_holds_the_truth(tmp_path):
    """Sheets off by up to what their standard allows, both sides by themselves."""
    random = np.random.default_rng(5)
    inside = 0
    for seed in range(5):
        paper = (210.0 + random.uniform(-2, 2), 297.0 + random.uniform(-2, 2))
        shown = scene(paper, seed=seed, tilt=float(random.uniform(0, 20)))
        _, found = found_in(shown, tmp_path)
        across = rim_diameter(found, true_rim(shown), 0.0)
        assert 0.3 < across.uncertainty < 0.6
        inside += abs(across.value - 2 * RADIUS) <= 2.0 * across.uncertainty
    assert inside == 5


@pytest.mark.parametrize(
    ("bend", "at"),
    [
        (0.02, (20.0, 30.0)),
        pytest.param(-0.02, (-30.0, 70.0), marks=pytest.mark.slow),
        pytest.param(0.01, (0.0, 0.0), marks=pytest.mark.slow),
    ],
)
def test_a_lens_that_bends_lines_is_made_straight(bend, at, tmp_path):
    """One or two per cent at the side of the picture: more than a phone's leaves."""
    shown = scene(at=at, bend=bend, tilt=10.0, towards=30.0)
    _, found = found_in(shown, tmp_path, "210x297")
    across = rim_diameter(found, true_rim(shown, at), 0.0)
    assert abs(across.value - 2 * RADIUS) <= 2.0 * across.uncertainty < 0.8
    assert found.lens.k * 500.0**2 == pytest.approx(bend, abs=0.2 * abs(bend))


@pytest.mark.slow
def test_measured_sides_are_worth_more(tmp_path):
    shown = scene((211.6, 295.5), tilt=12.0)
    _, sold = found_in(shown, tmp_path)
    _, measured = found_in(shown, tmp_path, "211.6x295.5")
    rim = true_rim(shown)
    rough, fine = rim_diameter(sold, rim, 0.0), rim_diameter(measured, rim, 0.0)
    assert fine.uncertainty < 0.4 * rough.uncertainty
    assert abs(fine.value - 2 * RADIUS) <= 2.0 * fine.uncertainty


@pytest.mark.slow
def test_another_sheet_is_noticed_and_naming_it_works(tmp_path):
    shown = scene(tuple(PAPERS["Letter"]), tilt=10.0)
    _, found = found_in(shown, tmp_path)
    with pytest.raises(ValueError, match="is it another sheet"):
        rim_diameter(found, true_rim(shown), 0.0)
    _, letter = found_in(shown, tmp_path, "Letter")
    assert rim_diameter(letter, true_rim(shown), 0.0).value == pytest.approx(120.0, abs=0.25)


@pytest.mark.slow
@pytest.mark.parametrize(
    "shown",
    [
        FlatScene(things=((disc(RADIUS, bore=4.0), (30, 120, 60)),)),
        FlatScene(things=((rectangle(210, 297, 150, 0), WHITE),), scale=2.4),
        FlatScene(things=((disc(120.0), WHITE),)),
    ],
    ids=["no sheet", "cut off", "round"],
)
def test_no_sheet_is_made_up(shown, tmp_path):
    _, found = found_in(shown, tmp_path)
    assert found is None


@pytest.mark.slow
def test_a_disc_on_paper_needs_no_diameter(tmp_path):
    shown = scene(things=wheel(10.0, 20.0), tilt=14.0, towards=60.0, light=0.15)
    path = shown.save(tmp_path / "wheel.png")
    setting = PhotoSetting(sheet=sheet_named("A4"), light="paper")
    photo = measure_photo(path, setting=setting)
    found = photo.measurement
    with_sheet, without = (
        np.asarray(Image.open(io.BytesIO(overlay_png(each))), dtype=float)
        for each in (photo, replace(photo, sheet=None))
    )
    drawn = np.argwhere((with_sheet != without).any(axis=2))[:, ::-1]
    corners = photo.sheet.corners  # the sheet is drawn where it lies, all round
    for place in (*corners, *(corners + np.roll(corners, 1, axis=0)) / 2.0):
        assert np.hypot(*(drawn - place).T).min() < 3.0
    across = found.outer_diameter
    assert 0.3 < across.uncertainty < 0.6
    assert abs(across.value - 2 * RADIUS) <= 2.0 * across.uncertainty
    (ring,) = [each for each in found.rings if len(each.edges) == 4]
    dials = [to_dial(edge.direction.value) for edge in ring.edges]
    steps = [after - before for before, after in itertools.pairwise(dials)]
    assert steps == pytest.approx([75.0, 105.0, 100.0], abs=0.3)
    (said,) = [each for each in found.warnings if "sheet of paper" in each]
    assert "measure them with a ruler and give them, --paper WxH" in said


@pytest.mark.slow
def test_a_sheet_tells_the_centre_that_nothing_on_the_disc_does(tmp_path):
    """Two halves seen from near and from a slant: nothing on it says where along its line."""
    halves = (
        (sector(RADIUS, 0.0, 30.0, 210.0, 20.0, 30.0), (200, 30, 30)),
        (sector(RADIUS, 0.0, 210.0, 390.0, 20.0, 30.0), (30, 60, 180)),
    )
    shown = scene(things=halves, tilt=28.0, towards=20.0, distance=420.0)
    path = shown.save(tmp_path / "halves.png")
    truth = shown.seen(np.array([[20.0, 30.0]]))[0]
    alone = measure_photo(path, 120.0)
    helped = measure_photo(path, 120.0, setting=PhotoSetting(sheet=sheet_named("A4")))

    def off(found):
        return float(np.hypot(*(found.plane.to_picture(np.zeros(2)) - truth)))

    assert "perspective" in alone.doubt and off(alone) > 3.0
    assert helped.doubt == "" and off(helped) < 0.3
    (ring,) = helped.measurement.rings
    assert all(to_degrees(edge.direction.uncertainty) < 0.1 for edge in ring.edges)


def test_a_scan_needs_no_diameter(tmp_path):
    shown = FlatScene(
        things=tuple(wheel(0.0, 0.0)), ground=(250, 250, 250), scale=100 / 25.4, width=560,
        height=560, distance=1e6, noise=1.0,
    )  # fmt: skip
    path = shown.save(tmp_path / "scan.png", dpi=(100, 100))
    assert pixel_size(path) == pytest.approx(25.4 / 100, rel=1e-4)
    told = done("measure", "photo", path, "--scan", "file", "--out", tmp_path / "disc.toml")
    assert SCANNED.split(":")[0] in " ".join(told.stdout.split())
    design = (tmp_path / "disc.toml").read_text("utf-8")
    line = next(each for each in design.splitlines() if each.startswith("outer_diameter"))
    value = float(line.split()[2])
    assert value == pytest.approx(2 * RADIUS, abs=2 * RADIUS * SCANNER_OFF)
    bare = shown.save(tmp_path / "bare.png")
    refused = run("measure", "photo", bare, "--scan", "file")
    assert refused.exit_code == 2
    assert "as --scan 600" in " ".join(refused.stderr.split())
    assert pixel_size(bare) is None


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--paper", "A7"), "is not A3, A4, A5, Letter, or WxH in mm, as 209.8x297.1"),
        (("--paper", "0x297"), "WxH in mm"),
        (("--scan", "2"), '"2" is not "file", or 25 to 10000 dots per inch'),
        (("--scan", "300", "--paper", "A4"), "give --paper or --scan"),
    ],
)
def test_what_is_no_paper_or_resolution_is_refused(words, said, tmp_path):
    photo = FlatScene(things=(), width=120, height=120).save(tmp_path / "a.png")
    refused = run("measure", "photo", photo, *words)
    assert refused.exit_code == 2
    assert said in " ".join(refused.stderr.split())
