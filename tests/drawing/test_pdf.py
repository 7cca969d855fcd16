"""Cut drawings as PDF, read back with pypdf: true size, true paths, the order of the cuts."""

import sys
from io import BytesIO
from pathlib import Path
from typing import NamedTuple

import pytest
import svgpathtools
from commands import run
from drawing.strokes import COLOURS, arcs, drawing, mark, sector, stroke
from hypothesis import given, settings
from other_formats import Stroke, assert_same_strokes, svg_strokes
from pypdf import PdfReader
from virtual_cut import read_cut_drawing

from jobprep.drawing.drawing import Drawing
from jobprep.drawing.formats import Control, pdf
from jobprep.errors import CannotDoError
from jobprep.geometry.outline import Arc, Line, Point, circle

pytest.importorskip("reportlab")

EXAMPLES = Path(__file__).parents[2] / "examples"
MM = 25.4 / 72.0
"""A unit of PDF is 1/72 inch (ISO 32000-1, 8.3.2.3)."""


class ReadStroke(NamedTuple):
    """One stroked path, mm from the page's lower left, its colour and width."""

    path: svgpathtools.Path
    colour: tuple[int, ...]
    width: float
    is_closed: bool


def written(plate: Drawing) -> bytes:
    return pdf.write(plate, Control("bench", {}))


def strokes_of(data: bytes) -> list[ReadStroke]:
    """Read the paths of the only page (ISO 32000-1, tables 57, 59, 60 and 74); fail on others."""
    (page,) = PdfReader(BytesIO(data)).pages
    scale, colour, width = 1.0, (0,), 1.0
    found, here, start = [], 0j, 0j
    segments: list[svgpathtools.Line | svgpathtools.CubicBezier] = []
    is_closed = False

    def points(operands: list[float]) -> list[complex]:
        numbers = [scale * MM * float(each) for each in operands]
        return [complex(x, y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)]

    def finish() -> None:
        nonlocal segments, is_closed
        if segments:
            found.append(ReadStroke(svgpathtools.Path(*segments), colour, width, is_closed))
        segments, is_closed = [], False

    for operands, raw in page.get_contents().operations:
        match raw.decode():
            case "cm":
                scale *= float(operands[0])
                assert [float(each) for each in operands[1:3]] == [0.0, 0.0]
                assert operands[0] == operands[3]
                assert [float(each) for each in operands[4:]] == [0.0, 0.0]
            case "RG" | "G":
                colour = tuple(round(255.0 * float(each)) for each in operands)
            case "w":
                width = scale * MM * float(operands[0])
            case "m":
                finish()
                (here,) = (start,) = points(operands)
            case "l":
                (end,) = points(operands)
                segments.append(svgpathtools.Line(here, end))
                here = end
            case "c":
                first, second, end = points(operands)
                segments.append(svgpathtools.CubicBezier(here, first, second, end))
                here = end
            case "h":
                assert abs(here - start) < 1e-4
                is_closed = True
            case "S":
                finish()
            case other:
                assert other in {"q", "Q", "n", "d", "J", "j", "M", "BT", "ET", "Tf", "TL"}, other
    return found


def test_page_is_the_sheet_at_its_true_size() -> None:
    plate = drawing(stroke("a", "cut-outer", circle(Point(50, 40), 10)), width=508, height=610.5)
    (page,) = PdfReader(BytesIO(written(plate))).pages
    box = [float(each) * MM for each in page.mediabox]
    assert box == pytest.approx([0.0, 0.0, 508.0, 610.5], abs=1e-4)
    assert "/UserUnit" not in page
    assert page.extract_text() == ""


def test_paths_keep_their_places_colours_and_order_as_hairlines() -> None:
    ell = mark(Line(Point(10, 20), Point(30, 20)), Line(Point(30, 20), Point(30, 35.25)))
    found = strokes_of(
        written(drawing(ell, stroke("b", "cut-inner", sector(15.0, 58.0, 0.3, 2.0))))
    )
    assert [each.is_closed for each in found] == [False, True]
    corners = [(each.start, each.end) for each in found[0].path]
    expected = [(10 + 20j, 30 + 20j), (30 + 20j, 30 + 35.25j)]
    assert corners == [pytest.approx(ends, abs=1e-4) for ends in expected]
    hexes = ["#" + "".join(f"{channel:02x}" for channel in each.colour) for each in found]
    assert hexes == [COLOURS["mark"], COLOURS["cut-inner"]]
    for each in found:
        assert 0.0 < each.width < 0.0254  # 0.001 in
    # Two arcs of radius 58 and 15 over 2 radians, two sides of 43 mm.
    assert found[1].path.length() == pytest.approx(2.0 * 58.0 + 2.0 * 15.0 + 86.0, abs=1e-3)


@given(arcs)
@settings(max_examples=60, deadline=None)
def test_curves_leave_their_arc_by_half_a_thousandth_at_most(arc: Arc) -> None:
    """By 0.0005 mm by the closed form (``test_arcs``), and by what the rounding of digits adds.

    Numbers are written with seven of them: 7.1e-7 of a point's distance, 2.5e-7 of the scale.
    """
    (found,) = strokes_of(written(drawing(mark(arc))))
    centre = complex(*arc.centre)
    near = 1e-6 + 1e-6 * (abs(centre) + arc.radius)
    for curve in found.path:
        for step in range(17):
            off = abs(curve.point(step / 16) - centre) - arc.radius
            assert -near < off < 0.0005 + near
    assert found.path.start == pytest.approx(complex(*arc.start), abs=near)
    assert found.path.end == pytest.approx(complex(*arc.end), abs=near)
    assert found.path.length() == pytest.approx(arc.radius * abs(arc.sweep), rel=2e-4, abs=4 * near)


def test_a_plan_s_sheets_hold_the_strokes_of_their_svg(tmp_path: Path) -> None:
    """One page for each sheet, marks before cuts, every stroke in the order of the cut drawing."""
    folder = EXAMPLES / "01-aurora-wheel"
    for name in ("job.toml", "aurora-wheel.toml"):
        text = (folder / name).read_text(encoding="utf-8").replace("seconds = 1", "evaluations = 9")
        (tmp_path / name).write_text(text, encoding="utf-8")
    result = run("plan", tmp_path / "job.toml", "--out", tmp_path / "run", "--format", "pdf")
    assert result.exit_code == 0, result.output
    for path in (tmp_path / "run").glob("*.pdf"):
        drawn = read_cut_drawing(path.with_suffix(".svg").read_text(encoding="utf-8"))
        (page,) = PdfReader(path).pages
        size = float(page.mediabox.width) * MM, float(page.mediabox.height) * MM
        assert size == pytest.approx((drawn.width, drawn.height), abs=1e-4)
        names = {(0, 0x72, 0xB2): "mark", (0xD5, 0x5E, 0): "cut-inner", (0,): "cut-outer"}
        found = [
            Stroke(
                names[each.colour],
                (each.path.start.real, each.path.start.imag),
                (each.path.end.real, each.path.end.imag),
                each.path.length(),
            )
            for each in strokes_of(path.read_bytes())
        ]
        assert_same_strokes(svg_strokes(drawn), found, path.name, 0.001)
        is_mark = [each.operation == "mark" for each in found]
        assert is_mark == sorted(is_mark, reverse=True)
    assert len(list((tmp_path / "run").glob("*.pdf"))) == 5


def test_same_drawing_same_bytes() -> None:
    plate = drawing(stroke("a", "cut-outer", circle(Point(50, 40), 20)), title="möwe Ж")
    assert written(plate) == written(plate)


def test_without_reportlab_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "reportlab.pdfgen.canvas", None)
    with pytest.raises(CannotDoError, match=r"PDF needs reportlab: pip install 'jobprep\[pdf\]'"):
        written(drawing(stroke("a", "cut-outer", circle(Point(50, 40), 20))))
