"""Verdicts on photographs of copies: right, exchanged, mirrored, off by much and by little."""

import base64
import io
import math
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pytest
from comparing.lamp_wheel import (
    EDGES,
    FILMS,
    LIBRARY,
    TURN_DEG,
    compared,
    copy_scene,
    measured_as,
    remarks,
    verdicts,
    wheel,
)
from measuring.synthetic import photograph
from PIL import Image

from jobprep.colour import channels
from jobprep.comparing.colours import UNKNOWN
from jobprep.comparing.compare import Comparison, compare_measured
from jobprep.comparing.verdict import expanded
from jobprep.light.difference import ciede2000
from jobprep.measuring.colour import film_lab, lab_from_srgb
from jobprep.measuring.photo import measure_photo
from jobprep.model import Tolerances
from jobprep.report.comparison_picture import comparison_svg
from jobprep.report.comparison_words import how_it_lay
from jobprep.units import from_degrees, to_degrees

REPEATED = (0.0, 60.0, 100.0, 180.0, 240.0, 280.0)


@pytest.fixture(scope="module")
def exchanged(tmp_path_factory: pytest.TempPathFactory) -> Comparison:
    folder = tmp_path_factory.mktemp("exchanged")
    return compared(wheel(), copy_scene(films=("amber", "blue", "black", "red")), folder)


@pytest.fixture(scope="module")
def mirrored(tmp_path_factory: pytest.TempPathFactory) -> Comparison:
    """A copy made the wrong way round, one of its separations off as well."""
    folder = tmp_path_factory.mktemp("mirrored")
    return compared(wheel(), copy_scene((20.0, 91.2, 200.0, 290.0), is_mirrored=True), folder)


def test_a_right_copy_passes_every_line(tmp_path: Path) -> None:
    comparison = compared(wheel(), copy_scene(), tmp_path)
    assert set(verdicts(comparison).values()) == {"pass"}, verdicts(comparison)
    # side; 4 edges; bore, ring; three of the hole; ring and 4 sectors by colour
    assert len(comparison.lines) == 1 + 4 + 2 + 3 + 5
    assert comparison.verdict == "pass"
    assert -to_degrees(comparison.turned.turn.value) == pytest.approx(TURN_DEG, abs=0.1)
    assert f"turned by {TURN_DEG:.0f}" in how_it_lay(comparison)


def test_red_and_blue_exchanged_fail(exchanged: Comparison) -> None:
    found = verdicts(exchanged)
    red, blue = "colour, sector 2 (red)", "colour, sector 4 (blue)"
    assert {what for what, verdict in found.items() if verdict != "pass"} == {red, blue}
    assert (found[red], found[blue]) == ("fail", "fail")
    assert remarks(exchanged)[red] == "exchanged with sector 4 (blue)"
    assert remarks(exchanged)[blue] == "exchanged with sector 2 (red)"
    assert exchanged.verdict == "fail"
    assert not exchanged.is_mirrored


def test_a_mirrored_copy_fails_as_mirrored_and_not_as_turned(mirrored: Comparison) -> None:
    found = verdicts(mirrored)
    assert found["side"] == "fail"
    assert remarks(mirrored)["side"] == "mirrored"
    assert "mirrored" in how_it_lay(mirrored)
    assert "turned by" not in how_it_lay(mirrored)
    # what else is off is still told, as seen in the mirrored design
    assert found["colour, edge 2"] == "fail"
    assert {what for what, verdict in found.items() if verdict != "pass"} == {
        "side",
        "colour, edge 2",
    }


def test_a_separation_off_by_more_than_its_tolerance_fails(tmp_path: Path) -> None:
    path = photograph(copy_scene((20.0, 91.2, 200.0, 290.0)), tmp_path / "copy.jpg")
    photo = measure_photo(path, 120.0)
    comparison = compare_measured(wheel(), LIBRARY, photo)
    line = next(each for each in comparison.lines if each.what == "colour, edge 2")
    assert line.verdict == "fail"
    assert line.off is not None
    # clockwise is less, anticlockwise
    assert to_degrees(line.off.value) == pytest.approx(-1.2, abs=0.1)
    assert to_degrees(expanded(line.off)) < 0.15
    others = {each.verdict for each in comparison.lines if each is not line}
    assert others == {"pass"}
    looser = replace(wheel(), tolerance=Tolerances(angle=from_degrees(2.0), length=0.8))
    assert compare_measured(looser, LIBRARY, photo).verdict == "pass"


def test_a_separation_off_by_little_in_a_poor_photograph_is_to_be_looked_at(tmp_path: Path) -> None:
    edges = (20.0, 90.3, 200.0, 290.0)
    poor = copy_scene(edges, width=260, height=200, blur=1.8, noise=5.0)
    design = replace(wheel(), tolerance=Tolerances(length=3.0))
    comparison = compared(design, poor, tmp_path)
    line = next(each for each in comparison.lines if each.what == "colour, edge 2")
    assert line.off is not None
    assert line.tolerance is not None
    assert abs(line.off.value) < line.tolerance < abs(line.off.value) + expanded(line.off)
    assert line.verdict == "look"
    assert comparison.verdict == "look"
    strict = replace(wheel(), tolerance=Tolerances(length=0.1))
    across = next(
        each for each in compared(strict, poor, tmp_path).lines if each.what == "bore diameter"
    )
    assert across.verdict == "look"
    assert across.remark == "± is more than allowed: take a larger photograph"


@pytest.mark.slow
def test_what_a_symmetric_design_hides_cannot_be_told(tmp_path: Path) -> None:
    films = ("red", "amber", "blue", "red", "amber", "blue")
    turned = wheel(REPEATED, films, hole=None)
    comparison = compared(turned, copy_scene(REPEATED, films, hole=None), tmp_path)
    assert comparison.fit.repeats == 2
    assert verdicts(comparison)["zero"] == "cannot tell"
    assert remarks(comparison)["zero"] == "the design looks the same every 180°"
    assert verdicts(comparison)["side"] == "pass"  # it has no mirror image of itself
    assert comparison.verdict == "pass"
    mirrored = copy_scene(REPEATED, films, hole=None, is_mirrored=True)
    assert verdicts(compared(turned, mirrored, tmp_path))["side"] == "fail"


def test_a_separation_in_another_place_and_a_missing_hole_are_said(tmp_path: Path) -> None:
    scene = replace(copy_scene((20.0, 99.0, 200.0, 290.0)), hole=None)
    comparison = compared(wheel(), scene, tmp_path)
    line = next(each for each in comparison.lines if each.what == "colour, edge 2")
    assert line.verdict == "fail"
    assert line.off is not None
    assert to_degrees(line.off.value) == pytest.approx(-9.0, abs=0.2)
    assert verdicts(comparison)["hole index, direction"] == "look"
    assert remarks(comparison)["hole index, direction"] == "not seen in the photograph"
    assert not any("add it to the design" in caution for caution in comparison.cautions)


def test_a_separation_and_a_hole_that_the_design_lacks_are_said(tmp_path: Path) -> None:
    edges, films = (20.0, 90.0, 145.0, 200.0, 290.0), ("amber", "red", "violet", "black", "blue")
    comparison = compared(wheel(hole=None), copy_scene(edges, films), tmp_path)
    extra = [line for line in comparison.lines if line.remark == "the design has none there"]
    assert [line.verdict for line in extra] == ["look", "look"]
    assert float(extra[0].what.split()[-1].rstrip("°")) == pytest.approx(145.0, abs=0.3)
    assert extra[1].what == "hole at 45.0°, radius 54.0 mm"
    assert verdicts(comparison)["colour, sector 2 (red)"] != "pass"


def test_the_picture_says_every_verdict_in_words(exchanged: Comparison) -> None:
    root = ElementTree.fromstring(comparison_svg(wheel(), LIBRARY, exchanged))
    words = [node.text or "" for node in root.iter("{http://www.w3.org/2000/svg}text")]
    for number, line in enumerate(exchanged.lines, start=1):
        assert f"{number} {line.verdict}" in words
    assert "Verdict: fail (2 fail, 13 pass)." in words
    images = list(root.iter("{http://www.w3.org/2000/svg}image"))
    assert [node.get("href", "")[:23] for node in images] == ["data:image/jpeg;base64,"]
    assert words.count("design") == words.count("copy") == 1


def test_the_place_of_each_mark_is_that_of_its_film(mirrored: Comparison) -> None:
    """The photograph in the picture is turned as the design: a film is seen where it belongs."""
    root = ElementTree.fromstring(comparison_svg(wheel(), LIBRARY, mirrored))
    node = next(root.iter("{http://www.w3.org/2000/svg}image"))
    image = Image.open(io.BytesIO(base64.b64decode(node.get("href", "").partition(",")[2])))
    half = image.width / 2.0
    middles = [(a + b) / 2.0 for a, b in zip(EDGES, (*EDGES[1:], EDGES[0] + 360.0), strict=True)]
    for middle, film in zip(middles, FILMS, strict=True):
        angle = from_degrees(-middle)  # mirrored about 12 o'clock
        x, y = 0.65 * half * math.sin(angle), 0.65 * half * math.cos(angle)
        seen = [each / 255.0 for each in image.getpixel((int(half + x), int(half - y)))]
        wanted = lab_from_srgb(channels(LIBRARY[film].colour))
        assert float(ciede2000(lab_from_srgb(seen), wanted)) < 8.0, film


RED, BLUE = (tuple(film_lab(LIBRARY[name])) for name in ("red", "blue"))
OPEN = "colour, sector 2 (to be chosen)"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("lab", "verdict"),
    [(RED, "pass"), (BLUE, "fail"), (None, "cannot tell")],
    ids=["as measured", "another colour", "not measured"],
)
def test_where_a_film_is_to_be_chosen_the_measured_colour_counts(
    tmp_path: Path, lab: tuple[float, float, float] | None, verdict: str
) -> None:
    open_ = measured_as(wheel(films=("amber", "?", "black", "blue")), None, lab, None, None)
    comparison = compared(open_, copy_scene(), tmp_path)
    assert verdicts(comparison)[OPEN] == verdict
    others = {what: each for what, each in verdicts(comparison).items() if what != OPEN}
    assert "fail" not in others.values()
    assert others["colour, sector 1 (amber)"] == "pass"
    if lab is None:
        assert remarks(comparison)[OPEN] == UNKNOWN
