"""Pictures of a disc show what lies where, when, and where it is heavy; nothing overlaps."""

import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from pathlib import Path
from typing import NamedTuple

import pytest
import shapely
from disc.designs import FILMS, design, layer
from disc.random_designs import designs
from hypothesis import HealthCheck, given, settings
from shapely.geometry import Polygon
from svgpathtools import parse_path

from jobprep.disc.facts import DiscFacts, disc_facts
from jobprep.files.design.design import read_design
from jobprep.files.materials.library import film_library
from jobprep.model import Design, Dot, Hole
from jobprep.report.diagram import Diagram, stacked_colour
from jobprep.report.disc_picture import disc_pictures, disc_svg, front_diagram
from jobprep.report.markup import Markup
from jobprep.report.stack_picture import stack_diagram
from jobprep.report.timing_picture import LENGTH, timing_diagram
from jobprep.units import from_dial

EXAMPLES = Path(__file__).parents[2] / "examples"
LIBRARY = film_library()
NARROW, BOLD = 0.5, 0.62
"""Width of a letter over its height: what common sans-serif fonts have, plain and bold."""


class Box(NamedTuple):
    text: str
    left: float
    top: float
    right: float
    bottom: float


def aurora() -> tuple[Design, DiscFacts]:
    wheel = read_design(EXAMPLES / "01-aurora-wheel" / "aurora-wheel.toml", LIBRARY)
    return wheel, disc_facts(wheel, LIBRARY)


def tree(diagram: Diagram) -> ET.Element:
    return ET.fromstring(f"<svg>{diagram.body}</svg>")


def boxes(node: ET.Element, inherited: dict[str, str] | None = None) -> Iterator[Box]:
    """Yield the boxes that lines of text take up, from their attributes alone."""
    given_ = {**(inherited or {}), **node.attrib}
    if node.tag == "text" and node.text:
        size = float(given_["font-size"])
        wide = (BOLD if "font-weight" in given_ else NARROW) * size * len(node.text)
        left = float(given_["x"])
        left -= {"start": 0.0, "middle": wide / 2.0, "end": wide}[
            given_.get("text-anchor", "start")
        ]
        base = float(given_["y"])
        yield Box(node.text, left, base - 0.75 * size, left + wide, base + 0.2 * size)
    for child in node:
        yield from boxes(child, given_)


def drawn_areas(diagram: Diagram) -> dict[str, float]:
    """Return the area drawn in each film colour in mm, by an independent reader of the paths."""
    films = tree(diagram).find("g")
    assert films is not None
    areas: dict[str, float] = {}
    for path in films.iter("path"):
        whole = Polygon()
        for sub in parse_path(path.attrib["d"]).continuous_subpaths():
            points = [segment.point(i / 256) for segment in sub for i in range(256)]
            ring = Polygon([(point.real, point.imag) for point in points]).buffer(0)
            whole = shapely.symmetric_difference(whole, ring)  # fill-rule evenodd
        areas[path.attrib["fill"]] = areas.get(path.attrib["fill"], 0.0) + whole.area
    return areas


def test_every_stack_has_its_true_area_in_its_colour() -> None:
    """Areas of annular sectors, th (R² - r²)/2 (Roark, from memory), less the index hole.

    Coordinates are rounded to 0.01 mm: 0.005 mm along a metre of edges could be 5 mm² or 2e-3.
    """
    wheel, facts = aurora()
    areas = drawn_areas(front_diagram(wheel, LIBRARY, facts))
    ring = math.pi * (58.0**2 - 10.0**2) / 360.0
    for film, degrees, hole in (
        ("amber", 60.0, math.pi * 1.5**2),
        ("green", 75.5, 0.0),
        ("violet", 44.5, 0.0),
        ("black", 135.0, 0.0),
    ):
        colour = stacked_colour(("clear", film, "clear"), LIBRARY)
        assert areas[colour] == pytest.approx(ring * degrees - hole, rel=5e-4)
    clear = stacked_colour(("clear", "clear"), LIBRARY)
    rim = math.pi * (60.0**2 - 58.0**2) + math.pi * (10.0**2 - 3.175**2)
    assert areas[clear] == pytest.approx(ring * 45.0 + rim, rel=5e-4)


def test_stacked_colours_multiply() -> None:
    """sRGB 188 is 0.5029 in linear light, its square 0.2529 is sRGB 138 (IEC 61966-2-1)."""
    grey = {"grey": replace(FILMS["clear"], colour="#bcbcbc")}
    assert stacked_colour(("grey", "grey"), grey) == "#8a8a8a"
    assert stacked_colour((), grey) == "#ffffff"
    assert stacked_colour(("clear", "black"), LIBRARY) == "#000000"


def test_sectors_are_labelled_with_film_and_angle() -> None:
    wheel, facts = aurora()
    front = front_diagram(wheel, LIBRARY, facts)
    said = " ".join(box.text for box in boxes(tree(front)))
    for words in ("2.1 amber 60°", "2.2 green 75.5°", "2.5 open 45°", "index ⌀ 3, 10°"):
        assert words in said
    assert "heavy side, 158.4°, 6.93 g·mm" in front.notes[0]
    assert "hub ⌀ 30 mm" in front.notes[2]


def test_the_wedge_points_to_the_heavy_side_and_the_mark_lies_at_the_centre_of_mass() -> None:
    wheel, facts = aurora()
    body = tree(front_diagram(wheel, LIBRARY, facts))
    (wedge,) = (p for p in body.findall("path") if p.attrib.get("fill") == "#D55E00")
    x, y = map(float, re.findall(r"-?[\d.]+", wedge.attrib["d"])[:2])
    assert math.degrees(math.atan2(x, -y)) == pytest.approx(158.4, abs=0.1)
    (mark,) = (g for g in body.findall("g") if "translate" in g.attrib.get("transform", ""))
    dx, dy = map(float, re.findall(r"-?[\d.]+", mark.attrib["transform"]))
    assert math.hypot(dx, dy) * 0.6 == pytest.approx(facts.mass.eccentricity, abs=0.01)
    assert math.degrees(math.atan2(dx, -dy)) == pytest.approx(158.4, abs=0.3)


def test_a_balanced_disc_has_no_wedge() -> None:
    wheel = design(layer("cover"))
    diagram = front_diagram(wheel, FILMS, disc_facts(wheel, FILMS))
    assert "Balanced as drawn" in diagram.notes[0]
    assert not [p for p in tree(diagram).findall("path") if p.attrib.get("fill") == "#D55E00"]


def _fits(diagram: Diagram, labels: list[Box]) -> None:
    for box in labels:
        assert diagram.left <= box.left and box.right <= diagram.left + diagram.width, box
        assert diagram.top <= box.top and box.bottom <= diagram.top + diagram.height, box
    for one, other in combinations(labels, 2):
        apart = (
            one.right <= other.left
            or other.right <= one.left
            or one.bottom <= other.top
            or other.bottom <= one.top
        )
        assert apart, (one, other)


def test_no_text_leaves_a_picture_or_overlaps_another() -> None:
    crowded = replace(
        design(
            layer("tint", *[("amber", 5.0), ("green", 10.0)] * 4, ("none", 300.0)),
            layer("mask", ("black", 350.0), ("none", 10.0), start=170.0),
        ),
        holes=tuple(
            Hole(name=f"pin {n}", diameter=3, radius=50, direction=from_dial(88.0 + n))
            for n in range(4)
        ),
        dots=(Dot(name="weight", film="black", diameter=5, radius=40, direction=from_dial(90.0)),),
        speed=600.0,
    )
    for wheel, films in ((crowded, FILMS), (aurora()[0], LIBRARY)):
        facts = disc_facts(wheel, films)
        timing = timing_diagram(wheel, films, facts)
        assert timing is not None
        for each in (
            front_diagram(wheel, films, facts),
            stack_diagram(wheel, films, facts),
            timing,
        ):
            labels = list(boxes(tree(each)))
            assert labels
            _fits(each, labels)


def test_notes_stand_under_their_picture_in_a_file_and_are_text_on_a_page() -> None:
    wheel, facts = aurora()
    pages = map(ET.fromstring, disc_pictures(wheel, LIBRARY, facts)[:2])
    bare = disc_svg(wheel, LIBRARY, facts).replace(' xmlns="http://www.w3.org/2000/svg"', "")
    drawn = ET.fromstring(bare.split("\n", 2)[2]).findall("svg")
    said = ("Wedge: heavy side, 158.4°", "0.300 ± 0.030 mm where it is thickest")
    for page, picture, words in zip(pages, drawn[:2], said, strict=True):
        notes = page.find("div")
        assert notes is not None
        assert words in "".join(notes.itertext())
        labels = list(boxes(picture))
        assert any(words in box.text for box in labels)
        left, top, width, height = map(float, picture.attrib["viewBox"].split())
        _fits(Diagram("", left, top, width, height, Markup()), labels)


@given(designs())
@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
def test_pictures_of_random_discs_are_well_formed_and_legible(wheel: Design) -> None:
    facts = disc_facts(wheel, FILMS)
    front = front_diagram(wheel, FILMS, facts)
    beside = [box for box in boxes(tree(front)) if max(abs(box.left), abs(box.right)) > 139.0]
    _fits(front, beside)
    root = ET.fromstring(disc_svg(wheel, FILMS, facts).split("\n", 2)[2])
    assert float(root.attrib["width"]) > 0.0


def test_too_many_sectors_are_told_instead_of_labelled() -> None:
    wheel = design(layer("fan", *[("amber", 6.0), ("none", 6.0)] * 30))
    front = front_diagram(wheel, FILMS, disc_facts(wheel, FILMS))
    assert "Its 60 sectors and openings are too many to label." in front.notes
    assert "amber 6°" not in front.body


def test_the_stack_has_each_layer_once_front_on_top() -> None:
    wheel, facts = aurora()
    body = tree(stack_diagram(wheel, LIBRARY, facts))
    heights = [
        float(group.attrib["transform"].rstrip(")").split()[-1])
        for group in body.findall("g")
        if group.attrib["transform"].startswith("matrix")
    ]
    assert heights == sorted(heights, reverse=True)  # the front is drawn last, so on top
    assert len(heights) == 3
    pieces = [len(group.findall("path")) for group in body.findall("g")]
    assert pieces == [1, 4, 1]
    said = " ".join(box.text for box in boxes(body))
    assert "2 colour amber, green, violet, black 0.1 mm" in said


def test_the_timing_bar_is_one_turn_and_true_to_scale() -> None:
    wheel, facts = aurora()
    diagram = timing_diagram(wheel, LIBRARY, facts)
    assert diagram is not None
    assert facts.timing is not None
    bars = [
        (float(r.attrib["x"]), float(r.attrib["width"]), r.attrib["fill"])
        for r in tree(diagram).findall("rect")
    ]
    assert sum(width for _, width, _ in bars) == pytest.approx(LENGTH, abs=0.05)
    amber = LIBRARY["amber"].colour
    shown = sum(width for _, width, fill in bars if fill == amber)
    assert shown / LENGTH == pytest.approx(60.0 / 360.0, abs=1e-4)
    black = next(x for x, _, fill in bars if fill == LIBRARY["black"].colour)
    start = next(s.start for s in facts.timing.sectors if s.film == "black")
    assert black / LENGTH == pytest.approx(start / facts.timing.turn, abs=1e-4)


def test_a_chopper_without_sectors_shows_its_openings_in_time() -> None:
    wheel = read_design(EXAMPLES / "02-storm-shutter" / "storm-shutter.toml", LIBRARY)
    diagram = timing_diagram(wheel, LIBRARY, disc_facts(wheel, LIBRARY))
    assert diagram is not None
    open_ = sum(
        float(r.attrib["width"])
        for r in tree(diagram).findall("rect")
        if r.attrib["fill"] == "none"
    )
    assert open_ / LENGTH == pytest.approx(0.5, abs=1e-4)
    front = front_diagram(wheel, LIBRARY, disc_facts(wheel, LIBRARY))
    said = [box.text for box in boxes(tree(front))]
    assert said.count("1 opening") == said.count("90°") == 2


def test_a_disc_that_stands_has_no_timing_bar() -> None:
    wheel = design(layer("colour", ("amber", 90), ("green", 270)))
    facts = disc_facts(wheel, FILMS)
    assert timing_diagram(wheel, FILMS, facts) is None
    assert len(disc_pictures(wheel, FILMS, facts)) == 2


def test_names_from_files_are_escaped() -> None:
    wheel = replace(design(layer('a "b" <c> & d')), name="<script>&")
    text = disc_svg(wheel, FILMS, disc_facts(wheel, FILMS))
    assert "<script>" not in text
    ET.fromstring(text.split("\n", 2)[2])


def test_the_job_sheet_shows_balance_original_timing_and_flicker(aurora_page: str) -> None:
    for words in (
        "Original&#x27;s thickness",
        "−0.010 mm (−3.2 %)",
        "1.11 g·mm",
        "not met. A bore",
        "97.664",
        "Aurora wheel seen from the front",
        "One turn of Aurora wheel",
        "can trigger seizures",
    ):
        assert words in aurora_page
