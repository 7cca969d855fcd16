"""The parts of a coupon on a scanner give the kerf that they were cut with."""

import json

import pytest
from commands import done, run
from measuring.flat_scene import FlatScene, rectangle

from jobprep.errors import Place
from jobprep.measuring.picture import read_picture
from jobprep.measuring.scanned_parts import scanned_kerfs, scanned_parts
from jobprep.planning.coupon import rectangles_drawn

DPI = 150
AMBER, LID = (236, 150, 30), (246, 246, 246)
FORM = 'format = 1\nfilm = "amber"\ncutter = "bench-co2"\n'


def scan(kerf: tuple[float, float], folder, scale: float = 1.0, turned: float = 2.0):
    """Two bars and four strips as they were cut, a little askew; the scanner's scale may be off."""
    places = {
        (80.0, 9.0): (0.0, 40.0),
        (9.0, 80.0): (55.0, -5.0),
        (10.0, 20.0): (-45.0, 10.0),
        (20.0, 10.0): (0.0, 15.0),
    }
    things = [
        (
            rectangle(
                (width - kerf[0]) * scale, (height - kerf[1]) * scale, x, y, turned * (-1) ** number
            ),
            AMBER,
        )
        for number, ((width, height), (x, y)) in enumerate(places.items())
    ]
    shown = FlatScene(
        things=tuple(things), ground=LID, scale=DPI / 25.4, width=780, height=640, distance=1e6,
        noise=1.0, blur=0.7,
    )  # fmt: skip
    return shown.save(folder / "coupon.png", dpi=(DPI, DPI))


@pytest.mark.slow
@pytest.mark.parametrize(("kerf", "scale"), [((0.16, 0.22), 1.0), ((0.31, 0.12), 1.004)])
def test_the_kerf_is_told_along_both_directions(kerf, scale, tmp_path):
    """Whatever the scanner's own scale: lengths of 9 to 80 mm tell it from the kerf."""
    pixel = 25.4 / DPI
    parts = scanned_parts(read_picture(scan(kerf, tmp_path, scale), 12_000_000), pixel)
    assert len(parts) == 4
    readings = scanned_kerfs(parts, rectangles_drawn(), pixel, Place("scan"))
    assert [each.along for each in readings] == ["x", "y"]
    for reading, truth in zip(readings, kerf, strict=True):
        assert reading.reading == pytest.approx(truth, abs=2.0 * reading.uncertainty)
        assert reading.reading == pytest.approx(truth, abs=0.25 * pixel)
        assert 0.1 * pixel < reading.half_width < 2.0 * pixel


def test_a_scan_counts_beside_a_caliper(tmp_path):
    form = tmp_path / "coupon.toml"
    form.write_text(FORM, encoding="utf-8")
    alone = run("kerf", form)
    assert alone.exit_code == 2
    assert "no readings yet" in alone.stderr
    picture = scan((0.16, 0.16), tmp_path)
    seen = json.loads(done("kerf", form, "--scan", picture, "--json").stdout)
    assert seen["kerf_mm"] == pytest.approx(0.16, abs=0.04)
    with_caliper = """
[[comb]]
along = "x"
strips = 8
drawn = 80
readings = [78.72, 78.73, 78.71]
[[piece]]
along = "x"
drawn = 80
readings = [79.84, 79.85, 79.83]
"""
    form.write_text(FORM + with_caliper, encoding="utf-8")
    caliper = json.loads(done("kerf", form, "--json").stdout)
    both = json.loads(done("kerf", form, "--scan", picture, "--json").stdout)
    (x,), (alone_x,) = (
        [each for each in told["directions"] if each["along"] == "x"] for told in (both, caliper)
    )
    assert x["readings"] == alone_x["readings"] + 1
    assert x["kerf_mm"] == pytest.approx(0.16, abs=x["kerf_uncertainty_95_mm"])
    assert x["kerf_uncertainty_95_mm"] < 0.02  # the caliper's grip of all strips decides
    assert {each["along"] for each in both["directions"]} == {"x", "y"}


def test_a_wrong_scan_is_refused_with_what_to_do_and_doing_it_works(tmp_path):
    form = tmp_path / "coupon.toml"
    form.write_text(FORM, encoding="utf-8")
    picture = scan((0.16, 0.16), tmp_path)
    wrong = run("kerf", form, "--scan", picture, "--dpi", 300)
    assert wrong.exit_code == 1
    assert "is the resolution right (--dpi)" in wrong.stderr
    assert run("kerf", form, "--scan", picture, "--dpi", DPI).exit_code == 0
    FlatScene(things=(), ground=LID, width=200, height=200).save(tmp_path / "bare.png")
    bare = run("kerf", form, "--scan", tmp_path / "bare.png", "--dpi", DPI)
    assert bare.exit_code == 1
    assert "lay them apart on the glass" in bare.stderr
