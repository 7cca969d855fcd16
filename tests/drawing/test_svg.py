"""The SVG writer against an independent reader and the rules of SVG."""

import base64
import io
import math
from xml.etree import ElementTree

import pytest
import svgpathtools
from drawing.strokes import COLOURS, arcs, drawing, mark, sector, stroke
from hypothesis import given
from PIL import Image
from shapely.geometry import box
from virtual_cut import (
    assert_cut_gives,
    command_counts,
    nominal_polygon,
    read_cut_drawing,
    shape_counts,
    virtual_cut,
)

from jobprep.drawing.drawing import Drawing, Group, Raster, Stroke, side_by_side
from jobprep.drawing.formats import svg
from jobprep.drawing.svg import svg_file
from jobprep.geometry.affine import shift
from jobprep.geometry.outline import Arc, Contour, Line, Point, Region, circle, polygon, rectangle


def test_page_is_in_mm_and_holds_nothing_but_strokes() -> None:
    text = svg.write(drawing(stroke("a", "cut-outer", circle(Point(50, 40), 10)), height=150.25))
    root = ElementTree.fromstring(text)
    assert (root.get("width"), root.get("height")) == ("200mm", "150.25mm")
    assert root.get("viewBox") == "0 0 200 150.25"
    assert [child.tag.split("}")[1] for child in root] == ["title", "g"]
    read_cut_drawing(text)


def test_order_and_groups_follow_the_strokes() -> None:
    layers = ["mark", "cut-inner", "cut-inner", "cut-outer", "cut-inner", "cut-outer"]
    strokes = [
        stroke(f"id-{i}", layer, circle(Point(20 + 25 * i, 40), 10))
        for i, layer in enumerate(layers)
    ]
    text = svg.write(drawing(*strokes))
    groups = [child for child in ElementTree.fromstring(text) if child.tag.endswith("}g")]
    assert [group.get("class") for group in groups] == [
        "mark",
        "cut-inner",
        "cut-outer",
        "cut-inner",
        "cut-outer",
    ]
    assert [group.get("stroke") for group in groups] == [
        COLOURS[g.get("class") or ""] for g in groups
    ]
    assert [path.id for path in read_cut_drawing(text).paths] == [f"id-{i}" for i in range(6)]


def test_y_is_turned_down_and_a_left_turn_stays_one() -> None:
    """A quarter circle in the upper right of (0, 0), from +x to +y, on a page 150 mm high."""
    quarter = Contour(
        (
            Line(Point(0, 0), Point(30, 0)),
            Arc(Point(0, 0), 30.0, 0.0, math.pi / 2),
            Line(Point(0, 30), Point(0, 0)),
        )
    )
    text = svg.write(drawing(stroke("a", "cut-outer", quarter)))
    assert read_cut_drawing(text).paths[0].data == (
        "M 0 150 L 30 150 A 30 30 0 0 0 0 120 L 0 150 Z"
    )


@pytest.mark.parametrize("clockwise", [False, True])
def test_circle_is_several_arcs(clockwise: bool) -> None:
    """One arc from a point to itself draws nothing (SVG 2, implementation notes on arcs)."""
    text = svg.write(
        drawing(stroke("a", "cut-inner", circle(Point(50, 40), 12.5, clockwise=clockwise)))
    )
    path = read_cut_drawing(text).paths[0]
    assert command_counts(path.data)["A"] == 3
    assert shape_counts(path) == (1, 0)
    for arc in path.segments:
        assert abs(arc.center - complex(50, 110)) < 2e-5
        assert (arc.delta < 0) != clockwise  # y down: anticlockwise is falling angle


@pytest.mark.parametrize("degrees", [1, 60, 75.5, 169, 171, 179.99, 180, 180.01, 270, 315, 359])
def test_sector_has_exactly_its_arcs_and_sides(degrees: float) -> None:
    sweep = math.radians(degrees)
    text = svg.write(drawing(stroke("a", "cut-outer", sector(15, 58, 0.3, sweep))))
    path = read_cut_drawing(text).paths[0]
    assert shape_counts(path) == (2, 2)
    assert command_counts(path.data)["L"] == 2
    if degrees <= 170:
        assert command_counts(path.data)["A"] == 2
    arcs = [s for s in path.segments if isinstance(s, svgpathtools.Arc)]
    for radius in (15, 58):
        own = [arc for arc in arcs if arc.radius.real == radius]
        assert sum(abs(arc.delta) for arc in own) == pytest.approx(degrees, abs=1e-4)
        for arc in own:
            assert abs(arc.point(0.5) - complex(100, 75)) == pytest.approx(radius, abs=2e-5)
        assert not any(arc.large_arc for arc in own)


def test_marks_are_open_and_may_have_several_strokes() -> None:
    lines: tuple[tuple[Line | Arc, ...], ...] = (
        (Line(Point(1, 1), Point(2, 2)), Arc(Point(2, 3), 1.0, -math.pi / 2, 1.0)),
        (Line(Point(5, 5), Point(6, 5)),),
    )
    mark = Stroke(id="m", layer="mark", title="part 1", paths=lines, closed=False)
    path = read_cut_drawing(svg.write(drawing(mark))).paths[0]
    assert command_counts(path.data) == {"M": 2, "L": 2, "A": 1}
    assert len(path.lines) == 2


def test_titles_are_escaped_and_control_characters_replaced() -> None:
    title = 'hub <washer> & "rim"\x07 \N{GREEK SMALL LETTER PHI}'
    text = svg.write(drawing(stroke("a", "cut-outer", circle(Point(50, 40), 10), title)))
    assert read_cut_drawing(text).paths[0].title == title.replace("\x07", "\ufffd")


def test_two_strokes_with_one_id_are_refused() -> None:
    twice = [stroke("a", "cut-outer", circle(Point(x, 40), 10)) for x in (20, 50)]
    with pytest.raises(ValueError, match="two strokes have the id 'a'"):
        svg.write(drawing(*twice))


def test_same_drawing_same_bytes() -> None:
    def once() -> str:
        return svg.write(drawing(stroke("a", "cut-outer", sector(15, 58, 0.3, 1.0))))

    assert once() == once()


def test_drawn_parts_fall_out_as_they_were_drawn() -> None:
    """The whole way: contours half a kerf outside, written, read, cut."""
    kerf = 0.2
    wheel = Region(circle(Point(60, 60), 50), (circle(Point(60, 60), 10, clockwise=True),))
    text = svg.write(
        drawing(
            stroke("a", "cut-inner", circle(Point(60, 60), 10 - kerf / 2, clockwise=True)),
            stroke("b", "cut-outer", circle(Point(60, 60), 50 + kerf / 2)),
        )
    )
    pieces = virtual_cut(text, box(0, 0, 200, 150), kerf)
    assert_cut_gives(pieces, [nominal_polygon(wheel)], 0.0005, kerf)


def test_side_by_side_shifts_sheets_and_keeps_ids_unique() -> None:
    kerf = 0.2
    one = drawing(stroke("a", "cut-outer", circle(Point(60, 60), 50 + kerf / 2)))
    two = drawing(
        stroke("a", "cut-outer", circle(Point(60, 60), 40 + kerf / 2)), width=130, height=170
    )
    both = side_by_side([one, two], gap=10)
    assert (both.width, both.height) == (340, 170)
    text = svg.write(both)
    assert [path.id for path in read_cut_drawing(text).paths] == ["sheet-1-a", "sheet-2-a"]
    expected = [
        nominal_polygon(Region(circle(Point(60, 60), 50))),
        nominal_polygon(Region(circle(Point(270, 60), 40))),
    ]
    sheets = box(0, 0, 200, 150).union(box(210, 0, 340, 170))
    assert_cut_gives(virtual_cut(text, sheets, kerf), expected, 0.0005, kerf)
    assert side_by_side([one], gap=10) is one


@given(arcs)
def test_arcs_survive_the_writing(arc: Arc) -> None:
    """Centre, length and every point of an arc come back to within 0.00005 mm."""
    segments = read_cut_drawing(svg.write(drawing(mark(arc)))).paths[0].segments
    length = sum(abs(s.radius.real * math.radians(s.delta)) for s in segments)
    assert length == pytest.approx(arc.radius * abs(arc.sweep), abs=5e-5)
    for segment in segments:
        if abs(segment.end - segment.start) > 0.01:
            middle = segment.point(0.5)
            distance = abs(complex(middle.real, 150 - middle.imag) - complex(*arc.centre))
            assert distance == pytest.approx(arc.radius, abs=5e-5)


def test_polygon_has_one_line_for_each_side() -> None:
    for contour, sides in ((rectangle(20, 10), 4), (polygon([(0, 0), (9, 1), (4, 7)]), 3)):
        path = read_cut_drawing(svg.write(drawing(stroke("a", "cut-outer", contour)))).paths[0]
        assert command_counts(path.data) == {"M": 1, "L": sides, "Z": 1}


@pytest.mark.parametrize(("mode", "kind"), [("RGB", "jpeg"), ("RGBA", "png")])
def test_a_raster_carries_its_bytes_and_lies_about_the_origin(mode: str, kind: str) -> None:
    pixels = Image.new(mode, (40, 20), "#800000")
    group = Group(
        elements=(Raster(pixels=pixels, width=80.0, height=40.0),), place=shift(100.0, 50.0)
    )
    text = svg_file(Drawing(width=200.0, height=90.0, title="", elements=(group,)))
    found = ElementTree.fromstring(text)
    outer = found.find("{http://www.w3.org/2000/svg}g")
    assert outer is not None
    assert outer.get("transform") == "translate(100 40)"  # y counts down from 90
    image = outer.find("{http://www.w3.org/2000/svg}image")
    assert image is not None
    assert [image.get(key) for key in ("x", "y", "width", "height")] == ["-40", "-20", "80", "40"]
    start, data = (image.get("href") or "").split(",")
    assert start == f"data:image/{kind};base64"
    with Image.open(io.BytesIO(base64.b64decode(data))) as again:
        assert again.size == (40, 20)
