"""The virtual cut passes a right drawing and catches each way in which one can be wrong.

The drawings here are written by hand, with no code of the package.
"""

import math

import pytest
from shapely.geometry import Point, Polygon, box
from virtual_cut import (
    CutFault,
    assert_cut_gives,
    assert_no_chords,
    command_counts,
    read_cut_drawing,
    shape_counts,
    virtual_cut,
)

KERF = 0.2
SHEET = [(0, 0), (100, 0), (100, 60), (0, 60)]
RING = Point(30, 30).buffer(20, quad_segs=512) - Point(30, 30).buffer(8, quad_segs=512)
PLATE = box(60, 20, 90, 40)


def circle(x: float, y: float, radius: float) -> str:
    return (
        f"M {x + radius} {y} A {radius} {radius} 0 0 1 {x - radius} {y} "
        f"A {radius} {radius} 0 0 1 {x + radius} {y} Z"
    )


def plate(grow: float, x: float = 60, y: float = 20, width: float = 30, height: float = 20) -> str:
    """A rectangle grown by a round beam's radius; y runs down, 0..60."""
    return (
        f"M {x} {y - grow} L {x + width} {y - grow} "
        f"A {grow} {grow} 0 0 1 {x + width + grow} {y} L {x + width + grow} {y + height} "
        f"A {grow} {grow} 0 0 1 {x + width} {y + height + grow} L {x} {y + height + grow} "
        f"A {grow} {grow} 0 0 1 {x - grow} {y + height} L {x - grow} {y} "
        f"A {grow} {grow} 0 0 1 {x} {y - grow} Z"
    )


def page(*paths: tuple[str, str]) -> str:
    groups = "".join(
        f'<g class="{operation}" fill="none" stroke="#d55e00">'
        f'<path id="p{index}" class="{operation}" d="{data}"><title>t</title></path></g>'
        for index, (operation, data) in enumerate(paths)
    )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" '
        f'viewBox="0 0 100 60"><title>t</title>{groups}</svg>'
    )


HOLE = ("cut-inner", circle(30, 30, 8 - KERF / 2))
RIM = ("cut-outer", circle(30, 30, 20 + KERF / 2))
OUTER_PLATE = ("cut-outer", plate(KERF / 2))


def test_a_right_drawing_gives_the_nominal_parts() -> None:
    pieces = virtual_cut(page(HOLE, RIM, OUTER_PLATE), SHEET, KERF)
    assert [piece.path for piece in pieces] == ["p0", "p1", "p2"]
    assert [piece.operation for piece in pieces] == ["cut-inner", "cut-outer", "cut-outer"]
    assert_cut_gives(pieces, [PLATE, RING], 0.001, KERF)
    assert pieces[0].polygon.area == pytest.approx(math.pi * (8 - KERF) ** 2, rel=1e-4)


def test_a_knife_without_kerf_gives_the_nominal_parts() -> None:
    drawing = page(("cut-inner", circle(30, 30, 8)), ("cut-outer", circle(30, 30, 20)))
    assert_cut_gives(virtual_cut(drawing, SHEET, 0.0), [RING], 0.001)


def test_a_part_in_the_hole_of_another_drops_first() -> None:
    small = ("cut-outer", circle(30, 30, 3 + KERF / 2))
    washer = Point(30, 30).buffer(3, quad_segs=512)
    assert_cut_gives(virtual_cut(page(small, HOLE, RIM), SHEET, KERF), [RING, washer], 0.001, KERF)
    with pytest.raises(CutFault, match="p1 runs over the piece that p0 has dropped"):
        virtual_cut(page(HOLE, small, RIM), SHEET, KERF)


def test_hollow_corners_may_keep_the_beam_s_radius() -> None:
    corners = [(10, 10), (40, 10), (40, 20), (20, 20), (20, 40), (10, 40)]
    beam = KERF / 2
    hollow = (
        f"M 10 {50 + beam} A {beam} {beam} 0 0 1 {10 - beam} 50 L {10 - beam} 20 "
        f"A {beam} {beam} 0 0 1 10 {20 - beam} L 20 {20 - beam} "
        f"A {beam} {beam} 0 0 1 {20 + beam} 20 "
        f"L {20 + beam} {40 - beam} L 40 {40 - beam} A {beam} {beam} 0 0 1 {40 + beam} 40 "
        f"L {40 + beam} 50 A {beam} {beam} 0 0 1 40 {50 + beam} Z"
    )
    pieces = virtual_cut(page(("cut-outer", hollow)), SHEET, KERF)
    assert_cut_gives(pieces, [Polygon(corners)], 0.001, KERF)
    with pytest.raises(CutFault, match=r"0\.04"):  # (sqrt 2 - 1) kerf / 2
        assert_cut_gives(pieces, [Polygon(corners)], 0.001)


def test_two_sheets_side_by_side_are_cut_as_two() -> None:
    sheets = box(0, 0, 52, 60).union(box(55, 0, 100, 60))
    assert_cut_gives(
        virtual_cut(page(HOLE, RIM, OUTER_PLATE), sheets, KERF), [RING, PLATE], 0.001, KERF
    )
    with pytest.raises(CutFault, match="p0 leaves the sheet"):
        virtual_cut(page(("cut-outer", plate(KERF / 2, x=40))), sheets, KERF)


def test_a_sliver_between_cuts_is_scrap_not_a_part() -> None:
    left, right = box(20, 20, 39.6, 40), box(40, 20, 60, 40)
    drawing = page(
        ("cut-outer", plate(KERF / 2, x=20, width=19.6)),
        ("cut-outer", plate(KERF / 2, x=40, width=20)),
    )
    pieces = virtual_cut(drawing, SHEET, KERF)
    assert_cut_gives(pieces, [left, right], 0.001, KERF)


PINHOLE = ("cut-inner", circle(30, 45, 0.15 - KERF / 2))
"""Of 0.3 mm, less than two kerfs: the beam leaves nothing of what is in it."""


def test_a_hole_under_two_kerfs_wide_lets_nothing_fall() -> None:
    pierced = RING - Point(30, 15).buffer(0.15, quad_segs=64)
    pieces = virtual_cut(page(HOLE, PINHOLE, RIM), SHEET, KERF)
    assert [piece.operation for piece in pieces] == ["cut-inner", "cut-outer"]
    assert_cut_gives(pieces, [pierced], 0.001, KERF)


@pytest.mark.parametrize(
    ("paths", "fault"),
    [
        ((PINHOLE, PINHOLE), "p1 frees nothing"),
        ((RIM, HOLE), "p1 runs over the piece that p0 has dropped"),
        ((RIM, RIM), "p1 frees nothing"),
        (((OUTER_PLATE[0], plate(KERF / 2, x=80)),), "p0 leaves the sheet"),
        ((RIM, ("mark", "M 20 30 L 40 30")), "p1 runs over the piece that p0 has dropped"),
        ((("mark", "M -1 3 L 4 3"),), "p0 leaves the sheet"),
        ((("cut-outer", "M 1 1 L 9 1 L 9 9"),), "p0 is open"),
        ((("cut-outer", "M 1 1 L 9 9 L 9 1 L 1 9 Z"),), "p0 crosses itself"),
    ],
)
def test_faults_of_order_and_place_are_caught(
    paths: tuple[tuple[str, str], ...], fault: str
) -> None:
    with pytest.raises(CutFault, match=fault):
        virtual_cut(page(*paths), SHEET, KERF)


@pytest.mark.parametrize(
    "paths",
    [
        pytest.param((HOLE, ("cut-outer", circle(30, 30, 20 - KERF / 2))), id="wrong kerf side"),
        pytest.param((HOLE, ("cut-outer", circle(30, 30, 20))), id="no kerf"),
        pytest.param((("cut-inner", circle(30, 30, 8 + KERF / 2)), RIM), id="wrong side of a hole"),
        pytest.param((RIM,), id="missing hole"),
        pytest.param((HOLE, RIM, OUTER_PLATE), id="a part too many"),
        pytest.param((HOLE, ("cut-inner", RIM[1])), id="rim not called a rim"),
        pytest.param((HOLE, ("cut-outer", circle(31, 30, 20 + KERF / 2))), id="off its place"),
    ],
)
def test_wrong_pieces_are_caught(paths: tuple[tuple[str, str], ...]) -> None:
    pieces = virtual_cut(page(*paths), SHEET, KERF)
    with pytest.raises(CutFault):
        assert_cut_gives(pieces, [RING], 0.005, KERF)


def chord_circle(x: float, y: float, radius: float, count: int) -> str:
    points = (
        f"{x + radius * math.cos(math.tau * i / count):.6f} "
        f"{y + radius * math.sin(math.tau * i / count):.6f}"
        for i in range(count)
    )
    return "M " + " L ".join(points) + " Z"


def test_chords_instead_of_arcs_are_caught() -> None:
    """With 360 chords the piece is within 0.001 mm, so only the commands tell."""
    drawing = page(HOLE, ("cut-outer", chord_circle(30, 30, 20 + KERF / 2, 360)))
    assert_cut_gives(virtual_cut(drawing, SHEET, KERF), [RING], 0.001, KERF)
    with pytest.raises(CutFault, match="p1 has chords"):
        assert_no_chords(read_cut_drawing(drawing).paths)
    assert_no_chords(read_cut_drawing(page(HOLE, RIM, OUTER_PLATE)).paths)


def test_commands_are_counted_as_written_and_as_shapes() -> None:
    rim, outer_plate = read_cut_drawing(page(RIM, OUTER_PLATE)).paths
    assert command_counts(rim.data) == {"M": 1, "A": 2, "Z": 1}
    assert shape_counts(rim) == (1, 0)
    assert command_counts(outer_plate.data) == {"M": 1, "A": 4, "L": 4, "Z": 1}
    assert shape_counts(outer_plate) == (4, 4)


@pytest.mark.parametrize(
    ("old", "new", "fault"),
    [
        ('width="100mm"', 'width="100"', "width is not in mm"),
        ('width="100mm"', 'width="101mm"', "width and viewBox differ"),
        ('viewBox="0 0', 'viewBox="1 0', "the viewBox starts"),
        ('<path id="p0"', '<path id="p0" transform="scale(2)"', "p0 is transformed"),
        ('id="p1"', 'id="p0"', "2 paths have the id p0"),
        ('class="cut-inner" d', 'class="mark" d', "another class than its group"),
        ("<title>t</title></path>", "</path>", "needs one title"),
        ("Z", "C 1 1 2 2 3 3 Z", "has other commands"),
        ("</svg>", "<rect/></svg>", "rect on the page"),
        ('fill="none"', 'fill="red"', "filled"),
    ],
)
def test_rules_of_the_format_are_held(old: str, new: str, fault: str) -> None:
    drawing = page(HOLE, RIM)
    assert old in drawing
    with pytest.raises(CutFault, match=fault):
        read_cut_drawing(drawing.replace(old, new))
