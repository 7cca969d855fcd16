"""DXF outlines, written by ezdxf, against closed forms."""

import io
import math
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from ezdxf.filemanagement import new
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from jobprep.geometry.fit_arcs import ellipse
from jobprep.geometry.join_paths import OutlineError, join_region
from jobprep.geometry.measure import area, perimeter, region_bounds
from jobprep.geometry.outline import Arc, Line, Region
from jobprep.geometry.outline import Point as P
from jobprep.geometry.read_dxf import bulge_segment, read_dxf
from jobprep.geometry.segment import point_distance

Draw = Callable[[Any], object]


def saved(tmp_path: Path, draw: Draw, units: int = 4, version: str = "R2010") -> Path:
    document = new(version)
    document.header["$INSUNITS"] = units
    draw(document.modelspace())
    path = tmp_path / "plate.dxf"
    document.saveas(path)
    return path


def region(
    tmp_path: Path, draw: Draw, units: int = 4, version: str = "R2010", tolerance: float = 0.01
) -> Region:
    return join_region(read_dxf(saved(tmp_path, draw, units, version), tolerance), tolerance)


def kinds(shape: Region) -> tuple[int, int]:
    segments = [segment for contour in shape.contours for segment in contour.segments]
    arcs = sum(isinstance(segment, Arc) for segment in segments)
    return arcs, len(segments) - arcs


STADIUM = [(0, 0, 0), (40, 0, 1), (40, 20, 0), (0, 20, 1)]
STADIUM_AREA = 800 + 100 * math.pi


def loose_lines(space: Any) -> None:
    space.add_arc((40, 10), 10, -90, 90)
    space.add_line((0, 20), (40, 20))
    space.add_arc((0, 10), 10, 90, 270)
    space.add_line((40, 0), (0, 0))


@pytest.mark.parametrize(
    ("draw", "expected_area", "expected_kinds"),
    [
        (lambda s: s.add_circle((5, 6), 30), 900 * math.pi, (1, 0)),
        (lambda s: s.add_lwpolyline(STADIUM, "xyb", close=True), STADIUM_AREA, (2, 2)),
        (lambda s: s.add_polyline2d(STADIUM, "xyb", close=True), STADIUM_AREA, (2, 2)),
        (loose_lines, STADIUM_AREA, (2, 2)),
        (
            lambda s: s.add_polyline3d([(0, 0, 5), (30, 0, 5), (30, 40, 5)], close=True),
            600,
            (0, 3),
        ),
        (lambda s: s.add_ellipse((5, 6), (0, 30), 1.0), 900 * math.pi, (1, 0)),
        (lambda s: s.add_ellipse((5, 6), (0, 30), 0.5), 450 * math.pi, None),
        (
            lambda s: (
                s.add_ellipse((0, 0), (30, 0), 0.5, 0, math.pi),
                s.add_line((30, 0), (-30, 0)),
            ),
            225 * math.pi,
            None,
        ),
    ],
)
def test_entities_have_their_areas(
    tmp_path: Path, draw: Draw, expected_area: float, expected_kinds: tuple[int, int] | None
) -> None:
    shape = region(tmp_path, draw)
    slack = 0.0 if expected_kinds else 0.01 * perimeter(shape)
    assert area(shape) == pytest.approx(expected_area, rel=1e-9, abs=slack)
    if expected_kinds:
        assert kinds(shape) == expected_kinds


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_versions(tmp_path: Path, version: str) -> None:
    """R12 knows no units at all."""
    assert area(region(tmp_path, loose_lines, version=version)) == pytest.approx(STADIUM_AREA)


def test_binary_files(tmp_path: Path) -> None:
    document = new("R2010")
    document.header["$INSUNITS"] = 4
    loose_lines(document.modelspace())
    path = tmp_path / "plate.dxf"
    document.saveas(path, fmt="bin")
    assert area(join_region(read_dxf(path, 0.01), 0.01)) == pytest.approx(STADIUM_AREA)


@pytest.mark.parametrize(
    ("units", "mm"),
    [(0, 1.0), (1, 25.4), (2, 304.8), (4, 1.0), (5, 10.0), (6, 1000.0), (9, 0.0254), (14, 100.0)],
)
def test_units_become_mm(tmp_path: Path, units: int, mm: float) -> None:
    """$INSUNITS of the DXF reference, from memory; the international inch is 25.4 mm."""
    box = region_bounds(region(tmp_path, lambda s: s.add_circle((0, 0), 4), units))
    assert box.x_max == pytest.approx(4 * mm, rel=1e-12)


@pytest.mark.parametrize(
    ("degrees", "bulge"),
    [
        (45, 0.198912367),
        (60, 0.267949192),
        (90, 0.414213562),
        (120, 0.577350269),
        (180, 1.0),
        (270, 2.414213562),
        (350, 22.903765548),
    ],
)
def test_bulges_are_tangents_of_a_quarter_of_the_sweep(degrees: float, bulge: float) -> None:
    """Values of the DXF reference's GetBulge rule; ezdxf gives the same numbers."""
    for sign in (1, -1):
        arc = bulge_segment(P(0, 0), P(10, 0), sign * bulge)
        assert isinstance(arc, Arc)
        assert math.degrees(arc.sweep) == pytest.approx(sign * degrees, abs=1e-6)
        centre, _, _, radius = ezdxf.math.bulge_to_arc((0, 0), (10, 0), sign * bulge)
        assert arc.centre == pytest.approx(tuple(centre), abs=1e-9)
        assert arc.radius == pytest.approx(radius)
        assert arc.start == pytest.approx((0, 0), abs=1e-9)
        assert arc.end == pytest.approx((10, 0), abs=1e-7)
    # A positive bulge bows to the right of the way from start to end.
    assert bulge_segment(P(0, 0), P(10, 0), 1.0) == Arc(P(5, 0), 5.0, math.pi, math.pi)


def test_entities_seen_from_below_are_mirrored(tmp_path: Path) -> None:
    """An extrusion of (0, 0, -1) turns the entity's x axis round (arbitrary axis algorithm)."""
    below = {"extrusion": (0, 0, -1)}

    def draw(space: Any) -> None:
        space.add_lwpolyline([(10, 0, 1), (10, 20)], "xyb", dxfattribs=below)
        space.add_arc((10, 10), 10, 90, 270, dxfattribs=below)

    shape = region(tmp_path, draw)
    assert area(shape) == pytest.approx(100 * math.pi)
    assert tuple(region_bounds(shape)) == pytest.approx((-20, 0, 0, 20))


def test_blocks_are_placed_turned_scaled_and_repeated(tmp_path: Path) -> None:
    def draw(space: Any) -> None:
        inner = space.doc.blocks.new("hole")
        inner.add_circle((1, 0), 2)
        outer = space.doc.blocks.new("pair")
        outer.add_blockref("hole", (10, 0))
        outer.add_blockref("hole", (-10, 0), dxfattribs={"rotation": 180, "xscale": -1})
        space.add_lwpolyline([(0, 0), (100, 0), (100, 80), (0, 80)], close=True)
        space.add_blockref("pair", (50, 40), dxfattribs={"rotation": 90, "xscale": 2, "yscale": 2})
        array = space.add_blockref("hole", (10, 10))
        array.dxf.column_count, array.dxf.row_count = 3, 2
        array.dxf.column_spacing, array.dxf.row_spacing = 10, 55

    shape = region(tmp_path, draw)
    assert len(shape.holes) == 8
    assert area(shape) == pytest.approx(8000 - 2 * 16 * math.pi - 6 * 4 * math.pi)
    assert kinds(shape)[0] == 8


def test_unevenly_scaled_block_makes_an_ellipse(tmp_path: Path) -> None:
    def draw(space: Any) -> None:
        block = space.doc.blocks.new("disc")
        block.add_circle((0, 0), 10)
        space.add_blockref("disc", (0, 0), dxfattribs={"xscale": 3, "yscale": 1})

    shape = region(tmp_path, draw, tolerance=0.001)
    assert area(shape) == pytest.approx(300 * math.pi, abs=0.001 * perimeter(shape))


def test_rational_spline_of_a_circle_is_a_circle(tmp_path: Path) -> None:
    """The nine-point quadratic NURBS circle (Piegl and Tiller, The NURBS Book, from memory)."""
    w = math.sqrt(0.5)
    corners = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    knots = [0, 0, 0, 1, 1, 2, 2, 3, 3, 4, 4, 4]

    def draw(space: Any) -> None:
        space.add_rational_spline(
            [(20 * x, 20 * y) for x, y in corners], [1, w] * 4 + [1], degree=2, knots=knots
        )

    shape = region(tmp_path, draw)
    assert area(shape) == pytest.approx(400 * math.pi, rel=1e-9)
    assert len(shape.outer.segments) <= 4


@pytest.mark.parametrize("degree", [1, 2, 3, 5])
def test_splines_are_followed(tmp_path: Path, degree: int) -> None:
    points = [(0, 0), (30, 50), (60, -20), (90, 60), (50, 90), (10, 70), (0, 0)]
    curves: list[Any] = []

    def draw(space: Any) -> None:
        spline = space.add_open_spline(points, degree=degree)
        curves.append(spline.construction_tool())

    paths = read_dxf(saved(tmp_path, draw), 0.01)
    segments = [segment for path in paths for segment in path]
    assert all(isinstance(each, Line) for each in segments) == (degree == 1)
    for point in curves[0].approximate(1000):
        assert min(point_distance(each, (point.x, point.y)) for each in segments) <= 0.01


def test_ellipse_arcs_follow_their_parameters(tmp_path: Path) -> None:
    below = {"extrusion": (0, 0, -1)}

    def draw(space: Any) -> None:
        space.add_ellipse((5, 6), (30, 10), 0.4, 0.5, 5.0)
        space.add_ellipse((5, 6), (30, 10), 0.4, 0.5, 5.0, dxfattribs=below)

    path = saved(tmp_path, draw)
    entities = list(ezdxf.filemanagement.readfile(path).modelspace())
    for entity, segments in zip(entities, read_dxf(path, 0.01), strict=True):
        for point in entity.vertices(entity.params(100)):
            assert min(point_distance(each, (point.x, point.y)) for each in segments) <= 0.01


def test_hidden_layers_paper_space_and_invisible_entities_are_left_out(tmp_path: Path) -> None:
    def draw(space: Any) -> None:
        space.doc.layers.add("notes").off()
        space.doc.layers.add("old").freeze()
        space.add_circle((0, 0), 10)
        space.add_text("a", dxfattribs={"layer": "notes"})
        space.add_circle((0, 0), 20, dxfattribs={"layer": "OLD"})
        space.add_circle((0, 0), 30, dxfattribs={"invisible": 1})
        space.doc.paperspace().add_text("title")

    assert area(region(tmp_path, draw)) == pytest.approx(100 * math.pi)


def tilted(space: Any) -> None:
    space.add_circle((0, 0), 10, dxfattribs={"extrusion": (0, 1, 1)})


def missing_block(space: Any) -> None:
    space.add_blockref("nowhere", (0, 0))


def block_in_itself(space: Any) -> None:
    block = space.doc.blocks.new("loop")
    block.add_blockref("loop", (1, 0))
    space.add_blockref("loop", (0, 0))


def huge_array(space: Any) -> None:
    space.doc.blocks.new("dot").add_circle((0, 0), 1)
    array = space.add_blockref("dot", (0, 0))
    array.dxf.column_count = array.dxf.row_count = 30_000
    array.dxf.column_spacing = array.dxf.row_spacing = 3


def multiplying_blocks(space: Any) -> None:
    space.doc.blocks.new("b0").add_circle((0, 0), 1)
    for i in range(1, 8):
        block = space.doc.blocks.new(f"b{i}")
        for _ in range(10):
            block.add_blockref(f"b{i - 1}", (0, 0))
    space.add_blockref("b7", (0, 0))


def reference(space: Any) -> None:
    space.doc.add_xref_def("other.dxf", "other")
    space.add_blockref("other", (0, 0))


@pytest.mark.parametrize(
    ("draw", "fault"),
    [
        (
            lambda s: s.add_text("A7"),
            "holds a TEXT, which is no outline; remove it or its layer",
        ),
        (
            lambda s: s.add_hatch(),
            "holds a HATCH, which is no outline; remove it or its layer",
        ),
        (
            lambda s: s.add_point((0, 0)),
            "holds a POINT, which is no outline; remove it or its layer",
        ),
        (
            lambda s: s.add_line((0, 0, 0), (1, 1, 1)),
            "is not flat; draw the outline in the plane z = 0",
        ),
        (tilted, "holds a tilted entity; draw the outline in the plane z = 0"),
        (
            lambda s: s.add_spline([(0, 0), (1, 1), (2, 0)]),
            "holds a SPLINE with fit points only; save it with its control points",
        ),
        (missing_block, "inserts the block 'nowhere', which it does not hold"),
        (block_in_itself, "nests or repeats the block 'loop' too often; explode it first"),
        (huge_array, "nests or repeats the block 'dot' too often; explode it first"),
        (multiplying_blocks, "holds more than 15000 entities; simplify it"),
        (reference, "refers to another drawing ('other'); bind it into this one first"),
    ],
)
def test_what_is_no_outline_is_refused_in_a_sentence(
    tmp_path: Path, draw: Draw, fault: str
) -> None:
    with pytest.raises(OutlineError) as caught:
        read_dxf(saved(tmp_path, draw), 0.01)
    assert str(caught.value) == fault


def test_unit_that_is_none_for_a_part_is_refused(tmp_path: Path) -> None:
    with pytest.raises(OutlineError) as caught:
        region(tmp_path, lambda s: s.add_circle((0, 0), 1), units=7)
    assert str(caught.value) == "is drawn in unit 7 of $INSUNITS; use mm (4) or inches (1)"


def binary_start() -> bytes:
    """Return the 22 bytes by which the format knows a binary file."""
    stream = io.BytesIO()
    new("R2010").write(stream, fmt="bin")
    return stream.getvalue()[:22]


@pytest.mark.parametrize("data", [b"", b"garbage", binary_start() + b"junk", b"0\nEOF\n"])
def test_what_is_no_drawing_is_refused(tmp_path: Path, data: bytes) -> None:
    path = tmp_path / "plate.dxf"
    path.write_bytes(data)
    with pytest.raises(OutlineError, match="cannot be read as DXF"):
        read_dxf(path, 0.01)


SMALL_FILE = (
    "0 SECTION 2 ENTITIES "
    "0 POLYLINE 8 0 66 1 70 1 0 VERTEX 8 0 10 0 20 0 42 1 0 VERTEX 8 0 10 9 20 0 0 SEQEND "
    "0 LWPOLYLINE 100 AcDbEntity 8 0 100 AcDbPolyline 90 2 70 1 10 0 20 0 42 1 10 9 20 0 "
    "0 ARC 8 0 10 0 20 0 40 5 50 0 51 90 "
    "0 SPLINE 100 AcDbEntity 8 0 100 AcDbSpline 70 8 71 3 72 8 73 4 40 0 40 0 40 0 40 0 "
    "40 1 40 1 40 1 40 1 10 0 20 0 30 0 10 1 20 1 30 0 10 2 20 2 30 0 10 5 20 5 30 0 "
    "0 ENDSEC 0 EOF"
).split()
JUNK = st.sampled_from(
    ["", "0", "-1", "1e999", "nan", "x", "10", "LINE", "INSERT", "1e300", "99999"]
)


@settings(deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.dictionaries(st.integers(0, len(SMALL_FILE) - 1), JUNK, max_size=3))
def test_spoilt_files_are_read_or_refused_but_never_break(
    tmp_path: Path, spoilt: dict[int, str]
) -> None:
    tags = [spoilt.get(index, tag) for index, tag in enumerate(SMALL_FILE)]
    path = tmp_path / "plate.dxf"
    path.write_text("\n".join(tags) + "\n")
    try:
        paths = read_dxf(path, 0.01)
    except OutlineError:
        return
    assert all(isinstance(each, Line | Arc) for each_path in paths for each in each_path)


def test_small_file_is_read_while_it_is_whole(tmp_path: Path) -> None:
    path = tmp_path / "plate.dxf"
    path.write_text("\n".join(SMALL_FILE) + "\n")
    paths = read_dxf(path, 0.01)
    assert [type(each) for each in paths[0]] == [Arc, Line]
    # Without a header it has no unit, which is read as mm.
    assert paths[0][0] == Arc(P(4.5, 0), 4.5, math.pi, math.pi)
    assert paths[2] == (Arc(P(0, 0), 5.0, 0.0, math.pi / 2),)
    assert paths[3][-1].end == (5, 5)


def test_misspelt_entity_is_refused_and_not_skipped(tmp_path: Path) -> None:
    """It has none of the attributes that every entity has."""
    path = tmp_path / "plate.dxf"
    path.write_text("\n".join(SMALL_FILE).replace("ARC", "A-C") + "\n")
    with pytest.raises(OutlineError, match="holds a A-C, which is no outline"):
        read_dxf(path, 0.01)


def test_the_curve_of_an_ellipse_is_that_of_its_definition() -> None:
    """A guard on the other tests: (3, 4) + 5 cos + 2 sin at a quarter turn is (3, 6)."""
    assert ellipse(P(3, 4), P(5, 0), P(0, 2), 0, math.tau).point(0.25) == pytest.approx((3, 6))


def test_without_ezdxf_one_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "ezdxf.filemanagement", None)
    with pytest.raises(OutlineError, match=r"one more package to be read: pip install 'jobprep\["):
        read_dxf(tmp_path / "plate.dxf", 0.01)
