"""What pages and paper show of one drawing: the same, read back from SVG and from PDF."""

import math
import re
from xml.etree import ElementTree

import numpy as np
import pytest
import svgpathtools
from hypothesis import given, settings
from hypothesis import strategies as st
from read_pdf import ReadPage, read_pages

from jobprep.drawing.drawing import (
    Drawing,
    Element,
    Fill,
    Group,
    Pen,
    Reuse,
    Stroke,
    Text,
    straight,
)
from jobprep.drawing.path_data import EXACT, SHORT
from jobprep.drawing.pdf import pdf_bytes
from jobprep.drawing.svg import svg_file, svg_fragment, svg_root
from jobprep.geometry.affine import IDENTITY, Affine, moving, scaling
from jobprep.geometry.outline import Arc, Path, Point, rectangle

WIDTH, HEIGHT = 120.0, 80.0
HOOK: Path = (*straight((5, 5), (30, 5)), Arc(Point(30, 15), 10, -math.pi / 2.0, math.pi))
SQUARE = rectangle(10, 20).segments


def page(*elements: Element) -> Drawing:
    return Drawing(width=WIDTH, height=HEIGHT, title="t", elements=elements)


def on_paper(*elements: Element) -> ReadPage:
    pytest.importorskip("reportlab")
    (read,) = read_pages(pdf_bytes([page(*elements)], "t"))
    return read


def on_screen(*elements: Element) -> ElementTree.Element:
    return ElementTree.fromstring(svg_file(page(*elements)).replace(' xmlns="http', ' x="http'))


def points_in(root: ElementTree.Element) -> list[tuple[float, float]]:
    """Where the ends of all segments lie, mm from the lower left, by the rules of SVG."""
    found: list[tuple[float, float]] = []

    def walk(node: ElementTree.Element, to_page: np.ndarray) -> None:
        text = node.get("transform", "")
        for name, numbers in re.findall(r"(\w+)\(([^)]*)\)", text):
            to_page = to_page @ matrix(name, list(map(float, numbers.split())))
        if node.tag == "path":
            for segment in svgpathtools.parse_path(node.attrib["d"]):
                for z in (segment.start, segment.end):
                    x, y, _ = to_page @ np.array([z.real, z.imag, 1.0])
                    found.append((x, HEIGHT - y))
        for child in node:
            walk(child, to_page)

    walk(root, np.eye(3))
    return found


def matrix(name: str, numbers: list[float]) -> np.ndarray:
    """SVG 1.1, 7.6."""
    if name == "translate":
        return np.array([[1, 0, numbers[0]], [0, 1, numbers[1]], [0, 0, 1]])
    if name == "rotate":
        c, s = math.cos(math.radians(numbers[0])), math.sin(math.radians(numbers[0]))
        return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    a, b, c, d, e, f = numbers
    return np.array([[a, c, e], [b, d, f], [0, 0, 1]])


places = st.builds(
    lambda turn, x, y, across, up: moving(turn, x, y).after(scaling(across, up)),
    st.floats(-7.0, 7.0),
    st.floats(-50.0, 50.0),
    st.floats(-50.0, 50.0),
    st.floats(0.3, 3.0),
    st.floats(-3.0, -0.3) | st.floats(0.3, 3.0),
) | st.builds(moving, st.floats(-7.0, 7.0), st.floats(-50.0, 50.0), st.floats(-50.0, 50.0))


@given(outer=places | st.just(IDENTITY), inner=places)
@settings(max_examples=40, deadline=None)
def test_groups_lie_where_their_maps_put_them(outer: Affine, inner: Affine) -> None:
    group = Group(elements=(Stroke(paths=(HOOK,), pen=Pen(0.2)),), place=inner)
    both = outer.after(inner)
    expected = [both.at(*end) for segment in HOOK for end in (segment.start, segment.end)]
    whole = Group(elements=(group,), place=outer)
    screen = points_in(on_screen(whole))
    paper = [point for path in on_paper(whole).strokes for point in path]
    for wanted in expected:
        assert (
            min(math.dist(wanted, each) for each in screen) < 0.01
        )  # 0.001 mm, three times scaled
        assert min(math.dist(wanted, each) for each in paper) < 0.01


def test_strokes_take_the_pen_of_their_group_unless_they_have_one() -> None:
    own = Stroke(paths=(HOOK,), pen=Pen(0.5, "#0072b2"))
    group = Group(elements=(Stroke(paths=(HOOK,)), own), pen=Pen(0.3, "#d55e00", (2.0, 1.0)))
    widths = [(each.width, each.colour) for each in on_paper(group).drawn]
    assert widths == [
        (pytest.approx(0.3), pytest.approx((0xD5 / 255, 0x5E / 255, 0.0), abs=1e-4)),
        (pytest.approx(0.5), pytest.approx((0.0, 0x72 / 255, 0xB2 / 255), abs=1e-4)),
    ]
    (node,) = on_screen(group).iter("g")
    assert (node.get("stroke"), node.get("stroke-width")) == ("#d55e00", "0.3")
    assert node.get("stroke-dasharray") == "2 1"
    assert [each.get("stroke") for each in node.iter("path")] == [None, "#0072b2"]


def test_fills_have_colour_rule_edge_and_opacity() -> None:
    fill = Fill(
        paths=(SQUARE, HOOK),
        colour="#0072b2",
        opacity=0.5,
        is_even_odd=True,
        pen=Pen(0.4, "#000000", join="round"),
        data=(("order", "3"),),
        title="a & b",
    )
    (node,) = on_screen(fill).iter("path")
    told = {key: node.get(key) for key in ("fill", "fill-rule", "fill-opacity", "stroke-linejoin")}
    assert list(told.values()) == ["#0072b2", "evenodd", "0.5", "round"]
    assert node.get("data-order") == "3"
    assert node.findtext("title") == "a & b"
    filled, edged = on_paper(fill).drawn
    assert (filled.is_filled, edged.is_filled) == (True, False)
    assert edged.width == pytest.approx(0.4)
    assert b"/ca .5" in pdf_bytes([page(fill)], "t")


@pytest.mark.parametrize("anchor", ["start", "middle", "end"])
def test_texts_stand_at_their_anchor_and_shrink_to_their_room(anchor) -> None:  # type: ignore[no-untyped-def]
    text = Text(
        text="Harbour lamp",
        at=Point(60, 30),
        size=10.0,
        anchor=anchor,
        room=20.0,
        turn=math.pi / 2.0,
        is_bold=True,
        rim=Pen(0.5, "#ffffff"),
    )
    (node,) = on_screen(text).iter("text")
    assert node.text == "Harbour lamp"
    assert (node.get("x"), node.get("y")) == ("60", "50")
    assert node.get("text-anchor", "start") == anchor
    assert node.get("transform") == "rotate(-90 60 50)"
    # Twelve letters of 0.6 of their size.
    assert float(node.get("font-size", "")) == pytest.approx(20.0 / 12 / 0.6, abs=1e-6)
    assert (node.get("paint-order"), node.get("stroke")) == ("stroke", "#ffffff")
    assert "Harbour lamp" in on_paper(text).text.replace("\n", "")


def test_what_a_page_tells_twice_is_used_again() -> None:
    place = moving(0.3, 40.0, 20.0)
    copied = Fill(paths=(SQUARE,), colour="#0072b2", copy=Reuse("outline-7", place))
    told = svg_fragment([Fill(paths=(SQUARE,), colour=None, id="outline-7")], EXACT)
    root = ElementTree.fromstring(f"<svg>{told}</svg>")
    (use,) = svg_root(page(copied), EXACT, {}).iter("use")
    assert use.get("href") == "#outline-7"
    root[0].set("transform", use.get("transform", ""))
    expected = [place.at(*segment.start) for segment in SQUARE]
    for wanted in expected:
        assert min(math.dist(wanted, each) for each in points_in(root)) < 0.002


def test_short_data_draws_what_exact_data_draws() -> None:
    stroke = Stroke(paths=(HOOK, straight((40.123, 50.456), (41.0, 50.0))), pen=Pen(0.2))
    exact, short = (points_in(svg_root(page(stroke), each, {})) for each in (EXACT, SHORT))
    for wanted in exact:
        if wanted[0] < 40.0 and wanted[0] > 35.0:
            continue  # within the half turn, which is told in other pieces
        assert min(math.dist(wanted, each) for each in short) < 0.008


def test_pages_have_no_windows() -> None:
    with pytest.raises(ValueError, match="no SVG is written of a"):
        svg_file(page(Group(elements=(), window=(SQUARE,))))
