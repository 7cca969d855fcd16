"""Pictures of a disc show what lies where, when, and where it is heavy; nothing overlaps."""

import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import pytest
import shapely
from disc.designs import FILMS, design, layer
from disc.random_designs import designs
from disc.shapely_discs import polygon_of
from facts.beacons import beacon
from hypothesis import HealthCheck, given, settings
from shapely.geometry import Polygon
from svgpathtools import parse_path

from jobprep.disc.facts import DiscFacts, disc_facts
from jobprep.disc.pieces import design_pieces
from jobprep.drawing.drawing import Element, Fill, Group, Stroke, Text
from jobprep.files.design.design import read_design
from jobprep.files.materials.library import film_library
from jobprep.films.unchosen import with_stand_ins
from jobprep.geometry.affine import IDENTITY, Affine
from jobprep.geometry.measure import Bounds, bounds
from jobprep.geometry.outline import Arc
from jobprep.model import TO_CHOOSE, Design, Dot, Hole, KeyedBore, MachineWindow, Opening
from jobprep.report.diagram import MARK, Diagram, inline, stacked_colour
from jobprep.report.disc_picture import disc_pictures, disc_svg, front_diagram
from jobprep.report.stack_picture import stack_diagram
from jobprep.report.timing_picture import LENGTH, timing_diagram
from jobprep.units import from_dial, from_rpm

EXAMPLES = Path(__file__).parents[2] / "examples"
LIBRARY = film_library()
OPENING = Opening(angle=math.pi / 4.0, count=1, inner_diameter=40.0, direction=0.0)
NARROW, BOLD = 0.5, 0.62
"""Width of a letter over its height: what common sans-serif fonts have, plain and bold."""


def aurora() -> tuple[Design, DiscFacts]:
    wheel = read_design(EXAMPLES / "01-aurora-wheel" / "aurora-wheel.toml", LIBRARY)
    return wheel, disc_facts(wheel, LIBRARY)


def boxes(elements: Iterable[Element], place: Affine = IDENTITY) -> Iterator[tuple[str, Bounds]]:
    """Yield each text with the box it takes up."""
    for each in elements:
        if isinstance(each, Group):
            yield from boxes(each.elements, place.after(each.place))
        elif isinstance(each, Text):
            wide = (BOLD if each.is_bold else NARROW) * each.size * len(each.text)
            x, y = place.at(*each.at)
            left = x - {"start": 0.0, "middle": wide / 2.0, "end": wide}[each.anchor]
            low, high = y - 0.2 * each.size, y + 0.75 * each.size
            yield each.text, Bounds(left, low, left + wide, high)


def said_by(diagram: Diagram) -> str:
    return " ".join(text for text, _ in boxes(diagram.elements))


def fills(diagram: Diagram, colour: str) -> list[Fill]:
    """The fills of a colour that stand in no group."""
    return [e for e in diagram.elements if isinstance(e, Fill) and e.colour == colour]


def groups(diagram: Diagram) -> list[Group]:
    return [each for each in diagram.elements if isinstance(each, Group)]


def drawn_areas(diagram: Diagram) -> dict[str, float]:
    """Return the area drawn in each film colour in mm, by an independent reader of the paths."""
    films, *_ = ET.fromstring(inline(diagram)).iter("g")
    (films, *_) = films.findall("g")
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


def test_pieces_that_begin_with_a_line_lie_where_they_are() -> None:
    """As beside a keyway; what followed their first point was once told as if from the origin."""
    wheel = replace(
        design(layer("tint", *[("amber", 60.0), ("none", 60.0)] * 3, inner=0.0)),
        bore=KeyedBore(diameter=10.0, key_width=4.0, key_depth=2.0, direction=from_dial(60.0)),
    )
    areas = drawn_areas(front_diagram(wheel, FILMS, disc_facts(wheel, FILMS)))
    pieces = [polygon_of(piece.region) for piece in design_pieces(wheel)]
    expected = shapely.union_all(pieces).area
    assert areas == {FILMS["amber"].colour.lower(): pytest.approx(expected, rel=5e-4)}


def test_stacked_colours_multiply() -> None:
    """sRGB 188 is 0.5029 in linear light, its square 0.2529 is sRGB 138 (IEC 61966-2-1)."""
    grey = {"grey": replace(FILMS["clear"], colour="#bcbcbc")}
    assert stacked_colour(("grey", "grey"), grey) == "#8a8a8a"
    assert stacked_colour((), grey) == "#ffffff"
    assert stacked_colour(("clear", "black"), FILMS) == "#101010"


def test_sectors_are_labelled_with_film_and_angle() -> None:
    wheel, facts = aurora()
    front = front_diagram(wheel, LIBRARY, facts)
    said = said_by(front)
    for words in ("2 amber 60°", "3 green 75.5°", "open 45°", "index ⌀ 3, 10°"):
        assert words in said
    assert "heavy side, 158.4°, 6.93 g·mm" in front.notes[0]
    assert "hub ⌀ 30 mm" in front.notes[2]


def test_the_wedge_points_to_the_heavy_side_and_the_mark_lies_at_the_centre_of_mass() -> None:
    wheel, facts = aurora()
    front = front_diagram(wheel, LIBRARY, facts)
    (wedge,) = fills(front, MARK)
    x, y = wedge.paths[0][0].start
    assert math.degrees(math.atan2(x, y)) == pytest.approx(158.4, abs=0.1)
    *_, dx, dy = groups(front)[-1].place
    assert math.hypot(dx, dy) * 0.6 == pytest.approx(facts.mass.eccentricity, abs=0.01)
    assert math.degrees(math.atan2(dx, dy)) == pytest.approx(158.4, abs=0.3)


def test_a_balanced_disc_has_no_wedge() -> None:
    wheel = design(layer("cover"))
    diagram = front_diagram(wheel, FILMS, disc_facts(wheel, FILMS))
    assert "Balanced as drawn" in diagram.notes[0]
    assert not fills(diagram, MARK)


def _fits(frame: Bounds, labels: list[tuple[str, Bounds]]) -> None:
    for text, box in labels:
        assert frame.x_min <= box.x_min and box.x_max <= frame.x_max, text
        assert frame.y_min <= box.y_min and box.y_max <= frame.y_max, text
    for (text, one), (words, other) in combinations(labels, 2):
        apart = (
            one.x_max <= other.x_min
            or other.x_max <= one.x_min
            or one.y_max <= other.y_min
            or other.y_max <= one.y_min
        )
        assert apart, (text, words)


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
        angular_speed=from_rpm(600.0),
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
            labels = list(boxes(each.elements))
            assert labels
            _fits(each.frame, labels)


def test_notes_stand_under_their_picture_in_a_file_and_are_text_on_a_page() -> None:
    wheel, facts = aurora()
    pages = map(ET.fromstring, disc_pictures(wheel, LIBRARY, facts)[:2])
    drawn = file_of(disc_svg(wheel, LIBRARY, facts)).findall("g")
    said = ("Wedge: heavy side, 158.4°", "0.300 ± 0.030 mm where it is thickest")
    for page, picture, words in zip(pages, drawn[:2], said, strict=True):
        notes = page.find("div")
        assert notes is not None
        assert words in "".join(notes.itertext())
        assert any(words in (text.text or "") for text in picture.iter("text"))


def test_no_text_of_a_file_overlaps_another_or_leaves_it() -> None:
    wheel, facts = aurora()
    root = file_of(disc_svg(wheel, LIBRARY, facts))
    _, _, width, height = map(float, root.attrib["viewBox"].split())
    labels = []
    for group in root.findall("g"):
        x, y = map(float, re.findall(r"-?[\d.]+", group.attrib["transform"]))
        for text in group.findall("text"):
            size = float(text.attrib["font-size"])
            wide = (BOLD if "font-weight" in text.attrib else NARROW) * size * len(text.text or "")
            share = {None: 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor")]
            left = x + float(text.attrib["x"]) - share * wide
            foot = y + float(text.attrib["y"])
            box = Bounds(left, foot - 0.75 * size, left + wide, foot + 0.2 * size)
            labels.append((text.text or "", box))
    assert len(labels) > 40
    _fits(Bounds(0.0, 0.0, width, height), labels)


def file_of(text: str) -> ET.Element:
    return ET.fromstring(text.replace(' xmlns="http://www.w3.org/2000/svg"', "").split("\n", 2)[2])


@given(designs())
@settings(max_examples=20, deadline=None, suppress_health_check=list(HealthCheck))
def test_pictures_of_random_discs_are_well_formed_and_legible(wheel: Design) -> None:
    facts = disc_facts(wheel, FILMS)
    front = front_diagram(wheel, FILMS, facts)
    said = boxes(front.elements)
    beside = [each for each in said if max(abs(each[1].x_min), abs(each[1].x_max)) > 139.0]
    _fits(front.frame, beside)
    assert float(file_of(disc_svg(wheel, FILMS, facts)).attrib["width"]) > 0.0


def test_too_many_sectors_are_told_instead_of_labelled() -> None:
    wheel = design(layer("fan", *[("amber", 6.0), ("none", 6.0)] * 30))
    front = front_diagram(wheel, FILMS, disc_facts(wheel, FILMS))
    assert "Its 60 sectors and openings are too many to label." in front.notes
    assert "amber 6°" not in said_by(front)


def test_the_stack_has_each_layer_once_front_on_top() -> None:
    wheel, facts = aurora()
    stack = stack_diagram(wheel, LIBRARY, facts)
    heights = [group.place.f for group in groups(stack)]
    assert heights == sorted(heights)  # the front is drawn last, so on top
    assert [len(group.elements) for group in groups(stack)] == [1, 4, 1]
    assert "2 colour amber, green, violet, black 0.1 mm" in said_by(stack)


def test_the_timing_bar_is_one_turn_and_true_to_scale() -> None:
    wheel, facts = aurora()
    diagram = timing_diagram(wheel, LIBRARY, facts)
    assert diagram is not None
    assert facts.timing is not None
    amber, black = LIBRARY["amber"].colour, LIBRARY["black"].colour
    assert sum(width for _, width in bars(diagram)) == pytest.approx(LENGTH)
    shown = sum(width for _, width in bars(diagram, amber))
    assert shown / LENGTH == pytest.approx(60.0 / 360.0)
    start = next(s.start for s in facts.timing.sectors if s.film == "black")
    first, _ = bars(diagram, black)[0]
    assert first / LENGTH == pytest.approx(start / facts.timing.turn)


def bars(diagram: Diagram, *colours: str | None) -> list[tuple[float, float]]:
    """Left side and width of the bars of some colours, of all where none is named."""
    found = []
    for each in diagram.elements:
        colour = each.colour if isinstance(each, Fill) else None
        is_bar = isinstance(each, Fill) or (isinstance(each, Stroke) and each.closed)
        if is_bar and (not colours or colour in colours):
            box = bounds(each.paths[0])
            found.append((box.x_min, box.width))
    return found


def test_a_chopper_without_sectors_shows_its_openings_in_time() -> None:
    wheel = read_design(EXAMPLES / "02-storm-shutter" / "storm-shutter.toml", LIBRARY)
    diagram = timing_diagram(wheel, LIBRARY, disc_facts(wheel, LIBRARY))
    assert diagram is not None
    open_ = sum(width for _, width in bars(diagram, None))
    assert open_ / LENGTH == pytest.approx(0.5)
    front = front_diagram(wheel, LIBRARY, disc_facts(wheel, LIBRARY))
    said = [text for text, _ in boxes(front.elements)]
    assert said.count("opening") == said.count("90°") == 2


def test_a_bar_names_no_tint_that_black_film_hides() -> None:
    mask = replace(layer("mask", film="black"), openings=(replace(OPENING, count=2),))
    wheel = replace(design(layer("tint", film="amber"), mask), angular_speed=from_rpm(600.0))
    diagram = timing_diagram(wheel, FILMS, disc_facts(wheel, FILMS))
    assert diagram is not None
    said = [text for text, _ in boxes(diagram.elements)]
    assert said.count("amber") == said.count("black") == 2
    assert "amber + black" not in said


def test_words_in_a_sector_stay_inside_it() -> None:
    inside = 0
    for start in range(0, 360, 15):
        rose = "harbour-rose"[: 4 + start // 45]
        films = {**FILMS, rose: replace(FILMS["red"], name=rose)}
        colours = (("amber", 120.0), (rose, 76.0), ("none", 60.0), ("black", 104.0))
        wheel = design(layer("colour", *colours, start=float(start), inner=20.0))
        diagram = front_diagram(wheel, films, disc_facts(wheel, films))
        edges = [start, start + 120, start + 196, start + 256, start + 360]
        for text, box in boxes(diagram.elements):
            named = ("1 amber", f"2 {rose}", "open", "3 black")
            if text not in named:  # beside the disc a label has its angle in the same line
                continue
            inside += 1
            first, last = edges[named.index(text)], edges[named.index(text) + 1]
            for x in (box.x_min, box.x_max):
                for y in (box.y_min, box.y_max):
                    past = (math.degrees(math.atan2(x, y)) - first) % 360.0
                    assert past < last - first, (start, text)
                    assert math.hypot(x, y) < 100.0, (start, text)
    assert inside > 24


def test_what_has_no_film_yet_is_dashed_and_named_so() -> None:
    colour = layer("colour", ("amber", 120.0), (TO_CHOOSE, 240.0))
    amber, open_ = colour.sectors
    sectors = (amber, replace(open_, lab=(52.0, 60.0, 30.0)))
    wheel = replace(
        design(layer("cover"), replace(colour, sectors=sectors)), angular_speed=from_rpm(600.0)
    )
    films = with_stand_ins(wheel, FILMS)
    facts = disc_facts(wheel, films)
    front, stack = front_diagram(wheel, films, facts), stack_diagram(wheel, films, facts)
    bar = timing_diagram(wheel, films, facts)
    assert bar is not None
    for diagram in (front, stack, bar):
        assert "to be chosen" in said_by(diagram)
        assert "?" not in said_by(diagram)
    dashed = [
        stroke
        for group in groups(front)
        for stroke in group.elements
        if isinstance(stroke, Stroke) and stroke.pen is not None and stroke.pen.colour == MARK
    ]
    assert len(dashed) == 1
    assert films["?2.2"].colour in drawn_areas(front)  # as it was measured
    assert not any("heavy side," in note for note in front.notes)
    assert "not known" in " ".join((*front.notes, *stack.notes))
    (note,) = [note for note in front.notes if note.startswith("2.2 to be chosen: ")]
    assert note.startswith("2.2 to be chosen: Lab 52 60 30, nearest by ΔE: red ")
    assert note.count(", ") == 3
    assert bars(bar, films["?2.2"].colour)


def test_a_disc_that_stands_has_no_timing_bar() -> None:
    wheel = design(layer("colour", ("amber", 90), ("green", 270)))
    facts = disc_facts(wheel, FILMS)
    assert timing_diagram(wheel, FILMS, facts) is None
    assert len(disc_pictures(wheel, FILMS, facts)) == 2


def test_names_from_files_are_escaped() -> None:
    wheel = replace(design(layer('a "b" <c> & d')), name="<script>&")
    text = disc_svg(wheel, FILMS, disc_facts(wheel, FILMS))
    assert "<script>" not in text
    file_of(text)


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


def test_dashed_zones_show_where_the_windows_of_a_machine_lie() -> None:
    """20 mm wide at 40 mm: from 30 to 50 mm; a second one, 10 by 8 mm at 20 mm, makes two bands.

    Its outermost corners lie at √(24² + 5²) mm, its innermost point at 16 mm.
    """
    wheel = beacon(240.0)
    assert wheel.machine is not None
    slit = MachineWindow(name="slit", direction=from_dial(70.0), radius=20.0, size=(10.0, 8.0))
    machine = replace(wheel.machine, windows=(*wheel.machine.windows, slit))
    both = replace(wheel, machine=machine)
    diagram = front_diagram(both, FILMS, disc_facts(both, FILMS))
    assert (
        "Dashed: light between radius 16 and 24.52 mm, light between radius 30 and 50 mm."
        in diagram.notes
    )
    scale = 100.0 / (both.outer_diameter / 2.0)
    radii = {
        round(segment.radius / scale, 2)
        for each in diagram.elements
        if isinstance(each, Stroke) and each.pen is not None and each.pen.dashes == (4.0, 3.0)
        for path in each.paths
        for segment in path
        if isinstance(segment, Arc)
    }
    assert radii == {16.0, 24.52, 30.0, 50.0}
