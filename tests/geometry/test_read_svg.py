"""SVG outlines: every shape, transforms, units, and the sentences for what cannot be an outline."""

import itertools
import math
from pathlib import Path

import pytest
import svgpathtools
from hypothesis import given, settings
from hypothesis import strategies as st

from jobprep.drawing.drawing import Drawing, Stroke
from jobprep.drawing.formats.svg import write
from jobprep.geometry.join_paths import OutlineError, join_region
from jobprep.geometry.measure import area, perimeter, region_bounds
from jobprep.geometry.outline import Arc, Line, Region, circle
from jobprep.geometry.outline import Point as P
from jobprep.geometry.read_svg import read_svg

MM_PAGE = 'width="200mm" height="100mm" viewBox="0 0 200 100"'


def svg(body: str, page: str = MM_PAGE) -> bytes:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f"{page}>"
        f"{body}</svg>"
    ).encode()


def region(body: str, page: str = MM_PAGE, tolerance: float = 0.01) -> Region:
    return join_region(read_svg(svg(body, page), tolerance), tolerance)


def kinds(shape: Region) -> tuple[int, int]:
    segments = [segment for contour in shape.contours for segment in contour.segments]
    arcs = sum(isinstance(segment, Arc) for segment in segments)
    return arcs, len(segments) - arcs


@pytest.mark.parametrize(
    ("body", "expected_area", "expected_kinds"),
    [
        ('<rect x="10" y="20" width="30" height="40"/>', 1200, (0, 4)),
        ('<rect width="30" height="40" rx="5"/>', 1200 - (4 - math.pi) * 25, (4, 4)),
        ('<rect width="30" height="40" ry="90"/>', math.pi * 15 * 20, None),
        ('<circle cx="50" cy="40" r="30"/>', math.pi * 900, (1, 0)),
        ('<ellipse cx="50" cy="40" rx="30" ry="30"/>', math.pi * 900, (1, 0)),
        ('<ellipse cx="50" cy="40" rx="30" ry="20"/>', math.pi * 600, None),
        ('<polygon points="0,0 30,0 30,40"/>', 600, (0, 3)),
        ('<polyline points="0 0 30 0 30 40 0 0"/>', 600, (0, 3)),
        ('<path d="M0 0h30v40z"/>', 600, (0, 3)),
        ('<path d="m10 10 30 0 0 40"/><line x1="40" y1="50" x2="10" y2="10"/>', 600, (0, 3)),
        ('<path d="M10 50A30 30 0 0 1 70 50z"/>', math.pi * 450, (1, 1)),
        ('<path d="M10 50a30 30 0 1 1 60 0a30 30 0 0 1-60 0"/>', math.pi * 900, (2, 0)),
    ],
)
def test_shapes_have_their_areas(
    body: str, expected_area: float, expected_kinds: tuple[int, int] | None
) -> None:
    shape = region(body)
    slack = 0.0 if expected_kinds else 0.01 * perimeter(shape)
    assert area(shape) == pytest.approx(expected_area, rel=1e-9, abs=slack)
    if expected_kinds:
        assert kinds(shape) == expected_kinds


@pytest.mark.parametrize(
    "data",
    [
        "M 20 50 C 20 10 90 0 100 40 S 150 90 110 95 Q 60 99 40 80 T 20 50 Z",
        "M 20 50 A 40 20 30 0 1 120 60 A 60 30 -10 0 1 20 50 Z",
        "M 10 10 L 90 10 A 40 25 0 1 1 60 60 Q 40 90 10 10",
    ],
)
def test_curves_match_an_independent_reader(data: str) -> None:
    """svgpathtools measures the same outline; fitted arcs may be off by the tolerance."""
    tolerance = 0.001
    shape = region(f'<path d="{data}"/>', tolerance=tolerance)
    path = svgpathtools.parse_path(data)
    length = path.length()
    assert perimeter(shape) == pytest.approx(length, abs=10 * tolerance)
    assert area(shape) == pytest.approx(abs(_area(path)), abs=tolerance * length)


def _area(path: svgpathtools.Path) -> float:
    """Green's theorem by the midpoint rule, finely."""
    count = 20_000
    total = 0.0
    for segment in path:
        points = [segment.point(i / count) for i in range(count + 1)]
        total += sum((a.conjugate() * b).imag for a, b in itertools.pairwise(points)) / 2
    return total


def test_y_runs_up_from_the_lower_edge_of_the_page() -> None:
    box = region_bounds(region('<rect x="10" y="20" width="30" height="40"/>'))
    assert tuple(box) == (10, 40, 40, 80)


@pytest.mark.parametrize(
    ("page", "width"),
    [
        ('width="100mm" viewBox="0 0 100 50"', 24.0),
        ('width="10cm" height="5cm" viewBox="0 0 100 50"', 24.0),
        ('width="4in" viewBox="0 0 101.6 50"', 24.0),
        ('width="4in" height="2in" viewBox="0 0 384 192"', 24 * 25.4 / 96),
        ('width="384px" viewBox="0 0 192 96"', 24 * 25.4 / 48),
        ('width="72pt" viewBox="0 0 25.4 9"', 24.0),
        ('width="6pc" viewBox="0 0 25.4 9"', 24.0),
        ('width="4in" height="2in"', 24 * 25.4 / 96),
        ('height="50mm" viewBox="10 10 200 100"', 12.0),
        ('width="200mm" height="50mm" viewBox="0 0 200 100"', 12.0),
        ('width="200mm" height="50mm" viewBox="0 0 200 100" preserveAspectRatio="none"', 24.0),
        ('width="100%" height="100%" viewBox="0 0 100 50"', 24.0),
        ('width="100" height="50" viewBox="0 0 10 5"', 24.0),
        ('width="100" height="50"', 24.0),
        ("", 24.0),
    ],
)
def test_units_become_mm(page: str, width: float) -> None:
    """CSS Values and Units 3: 1in = 2.54cm = 25.4mm = 96px = 72pt = 6pc; ours: no unit is a mm."""
    box = region_bounds(region('<rect x="10" y="20" width="24" height="12"/>', page))
    assert box.width == pytest.approx(width, rel=1e-12)


def test_lengths_inside_follow_the_rule_of_the_page() -> None:
    box = region_bounds(region('<rect width="24mm" height="1in"/>', ""))
    assert tuple(box) == pytest.approx((0, -25.4, 24, 0))
    css = region_bounds(region('<rect width="24px" height="1in"/>', 'width="4in" height="2in"'))
    assert css.width == pytest.approx(6.35)
    assert css.height == pytest.approx(25.4)


def test_a_page_without_a_size_has_lengths_of_one_kind() -> None:
    """A px is a user unit everywhere; a mm is one there only where nothing says otherwise."""
    plain = region('<rect width="24" style="height: 12px"/>', "")
    assert tuple(region_bounds(plain)) == pytest.approx((0, -12, 24, 0))
    for body in (
        '<rect width="24mm" height="5"/>',
        '<rect width="24" height="5in"/>',
        '<path d="M0 0h9v9z"/><circle r="2mm"/>',
        '<g transform="translate(3)"><circle r="2mm"/></g>',
        '<polygon points="0,0 9,0 9,9"/><circle r="2mm"/>',
    ):
        with pytest.raises(OutlineError, match=r"on a page without a size; give <svg> a width"):
            read_svg(svg(body, ""), 0.01)
        assert read_svg(svg(body), 0.01)


def test_percentages_need_a_page() -> None:
    sentence = "has r='5%' on <circle> of a page without a size; give <svg> a viewBox"
    with pytest.raises(OutlineError) as caught:
        read_svg(svg('<circle r="5%"/>', ""), 0.01)
    assert str(caught.value) == sentence
    box = region_bounds(region('<rect width="50%" height="50%"/>', 'width="80" height="40"'))
    assert tuple(box) == pytest.approx((0, 20, 40, 40))


def test_similar_transforms_keep_circles_round() -> None:
    body = (
        '<g transform="translate(100 50) rotate(30)"><g transform="scale(-2,2)">'
        '<path d="M10 0A10 10 0 0 1 -10 0Z" transform="rotate(17 3 4)"/></g></g>'
    )
    shape = region(body)
    assert kinds(shape) == (1, 1)
    assert area(shape) == pytest.approx(200 * math.pi)


def test_skewed_circle_is_an_ellipse_of_the_same_area() -> None:
    shape = region('<circle cx="90" cy="40" r="20" transform="skewX(25)"/>', tolerance=0.001)
    assert area(shape) == pytest.approx(400 * math.pi, abs=0.001 * perimeter(shape))
    assert kinds(shape)[1] == 0


def test_matrix_and_order_of_transforms() -> None:
    """SVG: the right one first. (1, 2) doubled is (2, 4), shifted (12, 4)."""
    body = '<rect width="1" height="2" transform="translate(10) matrix(2 0 0 2 0 0)"/>'
    assert tuple(region_bounds(region(body, ""))) == pytest.approx((10, -4, 12, 0))


def test_use_places_symbols_groups_and_shapes() -> None:
    body = (
        '<defs><g id="g"><circle id="c" r="2"/></g><symbol id="s"><rect width="60" height="60"/>'
        '</symbol></defs><use href="#s"/><use xlink:href="#g" x="10" y="10"/>'
        '<use href="#c" transform="translate(30 30)"/>'
    )
    shape = region(body)
    assert area(shape) == pytest.approx(3600 - 8 * math.pi)
    assert len(shape.holes) == 2


def test_hidden_and_foreign_elements_are_left_out() -> None:
    body = (
        '<sodi:view xmlns:sodi="http://example.invalid/x"><sodi:g/></sodi:view><metadata/>'
        '<circle r="3" display="none"/><g style="display:none"><text>a</text></g>'
        '<g visibility="hidden"><circle r="4"/><circle r="9" visibility="visible"/></g>'
    )
    assert area(region(body)) == pytest.approx(81 * math.pi)


def test_own_drawings_come_back_as_they_went() -> None:
    plate = Region(circle(P(60, 50), 40), (circle(P(60, 50), 10, clockwise=True),))
    strokes = tuple(
        Stroke(id=f"c{i}", layer="cut", title="", paths=(contour.segments,), closed=True)
        for i, contour in enumerate(plate.contours)
    )
    text = write(
        Drawing(width=200, height=100, title="", elements=strokes, colours={"cut": "#000000"})
    )
    shape = join_region(read_svg(text.encode(), 0.01), 0.01)
    assert area(shape) == pytest.approx(area(plate), abs=1e-3)
    assert all(isinstance(each, Arc) for each in shape.outer.segments)
    assert tuple(region_bounds(shape)) == pytest.approx((20, 10, 100, 90), abs=1e-5)


@pytest.mark.parametrize(
    ("body", "fault"),
    [
        (
            "<text>A7</text>",
            "holds a <text>, which is no outline; convert it to a path or remove it",
        ),
        ("<switch/>", "holds a <switch>, which is no outline; convert it to a path or remove it"),
        ("<a><a/></a>", "holds an <a> in an <a>, which is not shown; ungroup one of them"),
        (
            '<image href="a.png"/>',
            "holds an image; only outlines drawn in the file itself are read",
        ),
        (
            '<image href="#a"/>',
            "holds a <image>, which is no outline; convert it to a path or remove it",
        ),
        (
            '<use xlink:href="other.svg#a"/>',
            "refers to another file in <use>; only outlines drawn in the file itself are read",
        ),
        ('<use href="#a"/>', "uses '#a', which it does not hold"),
        ('<g id="a"><use href="#a"/></g>', "nests groups or uses more than 64 deep; flatten them"),
        ("<defs><script/></defs>", "holds a <script>; only drawn outlines are read, remove it"),
        ('<g onclick="x()"/>', "holds a script (onclick of <g>); remove it"),
        ("<rect><animate/></rect>", "holds a <animate>; only drawn outlines are read, remove it"),
        ('<g transform="turn(3)"/>', "has transform='turn(3)' on <g>, which cannot be read"),
        ('<g transform="scale(2"/>', "has transform='scale(2' on <g>, which cannot be read"),
        ('<circle r="5em"/>', "has r='5em' on <circle>; a number or a length in mm is needed"),
        (
            '<rect width="50 mm"/>',
            "has width='50 mm' on <rect>; a number or a length in mm is needed",
        ),
        ('<circle id="c" r="-5"/>', "has r='-5' on <circle> 'c'; at least 0 is needed"),
        (
            '<polygon points="0,0 9,0 9"/>',
            "has points on <polygon> that are not pairs of numbers; correct them",
        ),
        ('<path id="p" d="M 0 0 foo"/>', "has a <path> (p) that cannot be read"),
        ('<path d="L 1 1"/>', "has a <path> (without id) that cannot be read"),
        ('<path d="M 0 0 C 1 1 2"/>', "has a <path> (without id) that cannot be read"),
        ('<path d="M 0 0 C 1 1 2 2 z"/>', "has a <path> (without id) that cannot be read"),
        ('<path d="M 0 0 9 0 9"/>', "has a <path> (without id) that cannot be read"),
        ('<path d="M 0 0 Q 1e300 1 5 5"/>', "has a <path> (without id) that cannot be read"),
        ("<g>" * 70 + "</g>" * 70, "nests groups or uses more than 64 deep; flatten them"),
    ],
)
def test_what_is_no_outline_is_refused_in_a_sentence(body: str, fault: str) -> None:
    with pytest.raises(OutlineError) as caught:
        read_svg(svg(body), 0.01)
    assert str(caught.value) == fault


@pytest.mark.parametrize(
    ("data", "fault"),
    [
        (b"", "cannot be read as SVG (no element found: line 1, column 0)"),
        (b"<html/>", "is not an SVG drawing; its root must be <svg>"),
        (b"\xff\xfe\x00", "cannot be read as SVG"),
        (b'<?xml version="1.0" encoding="nope"?><svg/>', "cannot be read as SVG"),
        (svg("", 'viewBox="0 0 1"'), "has a viewBox that is not four numbers"),
        (svg("", 'viewBox="0 0 0 9"'), "has a viewBox that is not four numbers"),
        (svg("", 'width="3em"'), "has the page size '3em'; a length above 0 in mm is needed"),
        (svg("", 'width="-3mm"'), "has the page size '-3mm'; a length above 0 in mm is needed"),
        (svg("", 'width="calc(1mm)"'), "has the page size 'calc(1mm)'; a length above 0 in mm"),
        (svg("", 'style="width: 90"'), "has the page size '90'; a length above 0 in mm is needed"),
        (svg("", 'width="9" height="9mm"'), "has width='9' but height='9mm'; give both a unit"),
        (
            svg("", 'width="9mm" style="width: 100%"'),
            "has width: 100% on <svg>, where its attribute says width='9mm'; remove one of them",
        ),
        (
            svg("", 'viewBox="0 0 9 9" preserveAspectRatio="none" width="9"'),
            "has preserveAspectRatio='none' on a page without a width and height; set them",
        ),
        (
            svg("", 'viewBox="0 0 9 9" preserveAspectRatio="none" width="9" height="5"'),
            "has preserveAspectRatio='none' on a page without a size in mm; give <svg> a width and",
        ),
        (
            svg("", 'viewBox="0 0 9 9" preserveAspectRatio="xMidYMid slice"'),
            "has preserveAspectRatio='xMidYMid slice' on <svg>, which cuts off a part of the",
        ),
        (
            svg("", 'viewBox="0 0 9 9" preserveAspectRatio="middle"'),
            "has preserveAspectRatio='middle' on <svg>; 'none' or one such as 'xMidYMid meet' is",
        ),
        (svg("", 'viewBox="0 0 1e300 9" width="1e-300mm"'), "has a viewBox that does not go with"),
        (svg("", 'transform="scale(2)"'), "has a transform on the root <svg>; move it to a <g>"),
        (svg("", 'style="scale: 2"'), "has a transform on the root <svg>; move it to a <g>"),
        (
            b'<?xml-stylesheet href="a.css"?>' + svg(""),
            "refers to a style sheet outside (<?xml-stylesheet?>), which is not followed; set its",
        ),
        (
            svg('<s:style xmlns:s="http://www.w3.org/1999/xhtml"/>'),
            "holds a <style> of HTML; only drawn outlines are read, remove it",
        ),
    ],
)
def test_what_is_no_drawing_is_refused(data: bytes, fault: str) -> None:
    with pytest.raises(OutlineError) as caught:
        read_svg(data, 0.01)
    assert fault in str(caught.value)


def test_smooth_curves_mirror_only_their_own_kind() -> None:
    """SVG 2, 9.3.6 and 9.3.7: after another kind the first control point is the start."""
    for smooth, spelled in (
        ("M0 0Q50 90 90 0S150 50 150 0z", "M0 0Q50 90 90 0C90 0 150 50 150 0z"),
        ("M0 0C9 50 50 90 90 0T150 0z", "M0 0C9 50 50 90 90 0Q90 0 150 0z"),
        ("M0 0C9 50 50 90 90 0T150 0 90-90z", "M0 0C9 50 50 90 90 0Q90 0 150 0 210 0 90-90z"),
        ("M0 0Q50 90 90 0T150 0z", "M0 0Q50 90 90 0Q130-90 150 0z"),
        ("M0 0C9 50 50 90 90 0S150 50 150 0z", "M0 0C9 50 50 90 90 0C130-90 150 50 150 0z"),
        ("M9 9h81S150 50 150 0z", "M9 9h81C90 9 150 50 150 0z"),
    ):
        mirrored = read_svg(svg(f'<path d="{smooth}"/>'), 0.001)
        plain = read_svg(svg(f'<path d="{spelled}"/>'), 0.001)
        assert mirrored == plain, smooth


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16"])
@pytest.mark.parametrize(
    "declaration",
    ['<!ENTITY a "b">', '<!ENTITY a SYSTEM "file:///etc/hostname">', '<!ENTITY % a "b">'],
)
def test_entities_are_refused(declaration: str, encoding: str) -> None:
    text = f'<?xml version="1.0" encoding="{encoding}"?><!DOCTYPE svg [{declaration}]><svg/>'
    with pytest.raises(OutlineError, match="declares XML entities"):
        read_svg(text.encode(encoding), 0.01)


def test_references_that_multiply_are_stopped() -> None:
    levels = "".join(
        f'<g id="l{i}">' + f'<use href="#l{i - 1}"/>' * 10 + "</g>" for i in range(1, 12)
    )
    with pytest.raises(OutlineError, match="more than 15000 elements"):
        read_svg(
            svg(f'<defs><g id="l0"><path d="M0 0h1"/></g>{levels}</defs><use href="#l11"/>'), 0.01
        )


def test_too_many_segments_are_refused() -> None:
    data = "M0 0" + "h1" * 15_001
    with pytest.raises(OutlineError, match="more than 15000 segments"):
        read_svg(svg(f'<path d="{data}"/>'), 0.01)
    with pytest.raises(OutlineError, match="more than 15000 segments"):
        read_svg(svg(f'<path d="{"M0 0" + "l1 1" * 200_000}"/>'), 0.01)


@pytest.mark.parametrize("text", ["1" * 100_000 + "x", " " * 100_000 + "x", "1 " * 50_000 + "x"])
def test_long_rows_of_digits_are_refused_at_once(text: str) -> None:
    """A backtracking pattern would take for ever here."""
    with pytest.raises(OutlineError):
        read_svg(svg(f'<g transform="scale({text})"/>'), 0.01)
    with pytest.raises(OutlineError):
        read_svg(svg(f'<circle r="{text}"/>'), 0.01)


PIECES = st.sampled_from(
    [
        *"MmZzLlHhVvCcSsQqTtAa",
        "0",
        "1",
        "-3.5",
        "1e3",
        "1e999",
        ".",
        ",",
        " ",
        "01",
        "nan",
        "<",
        "&lt;",
    ]
)


@settings(deadline=None)
@given(st.lists(PIECES, max_size=30))
def test_garbage_is_read_or_refused_but_never_breaks(pieces: list[str]) -> None:
    data = " ".join(pieces)
    for body in (
        f'<path d="M0 0 {data}"/>',
        f'<polygon points="{data}"/>',
        f'<g transform="{data}"/>',
    ):
        try:
            paths = read_svg(svg(body), 0.01)
        except OutlineError:
            continue
        assert all(isinstance(each, Line | Arc) for path in paths for each in path)


@settings(deadline=None)
@given(st.binary(max_size=200))
def test_bytes_are_read_or_refused_but_never_break(data: bytes) -> None:
    for whole in (data, svg("")[:40] + data, b"<svg " + data + b"/>"):
        try:
            read_svg(whole, 0.01)
        except OutlineError:
            pass


def test_example_file_from_a_drawing_program(tmp_path: Path) -> None:
    """Layers as groups, a doctype, vendor attributes: the usual shell around one path."""
    text = (
        '<?xml version="1.0" encoding="UTF-8" standalone="no"?>\n'
        '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" '
        '"http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd">\n'
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:v="http://example.invalid/vendor" '
        'width="210mm" height="297mm" viewBox="0 0 210 297" v:version="1"><v:view/><defs/>'
        '<g v:label="Layer 1" id="layer1"><path style="fill:none;stroke:#000000" '
        'd="m 20,20 h 40 v 30 h -40 z" id="path1"/></g></svg>'
    )
    shape = join_region(read_svg(text.encode(), 0.01), 0.01)
    assert tuple(region_bounds(shape)) == (20, 247, 60, 277)


def test_what_drawing_programs_write_around_an_outline_is_read() -> None:
    """Classes in CDATA, styles that only paint, a hidden layer, vendor properties, a reset."""
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" xml:space="preserve" width="100mm" height="50mm" '
        'version="1.1" style="shape-rendering:geometricPrecision; fill-rule:evenodd; '
        'clip-rule:evenodd; enable-background:new 0 0 10 5" viewBox="0 0 10000 5000">'
        '<defs><style type="text/css"><![CDATA[ * { stroke-linejoin: round }'
        " .str0 {stroke:#2B2A29;stroke-width:7.62} .fil0 {fill:none;-v-stroke:none} "
        "@font-face { font-family: 'x' } .off{display:none;} .st1{fill:url(#g)} ]]></style>"
        '<linearGradient id="g"/><clipPath id="unused"><rect/></clipPath></defs>'
        '<g id="Layer_x0020_1"><metadata id="m"/><g class="off"><text>A7</text></g>'
        '<path class="fil0 str0" style="marker:none;mix-blend-mode:normal;filter:none;'
        'vector-effect:non-scaling-stroke;-webkit-print-color-adjust:exact;font-size:3em" '
        'd="M1000 1000h3000v2000h-3000z"/></g></svg>'
    )
    shape = join_region(read_svg(text.encode(), 0.01), 0.01)
    assert tuple(region_bounds(shape)) == pytest.approx((10, 20, 40, 40))
