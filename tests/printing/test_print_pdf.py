"""The PDFs as an independent reader finds them: true paper, true bars, true outlines."""

import math
import shutil
import subprocess
import sys
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader
from read_pdf import ReadPage, read_pages

from jobprep import pipeline
from jobprep.drawing.drawing import Drawing, Stroke
from jobprep.drawing.pdf import is_own_pdf, pdf_bytes
from jobprep.errors import CannotDoError
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Point, circle, rectangle
from jobprep.printing.lay_out import lay_out
from jobprep.printing.page import AS_DRAWN, Printing
from jobprep.printing.page import printed as through
from jobprep.printing.paper import PAPERS, paper_size
from jobprep.printing.sheets import print_sheets

EXAMPLES = Path(__file__).parent.parent.parent / "examples"
AURORA = EXAMPLES / "01-aurora-wheel" / "job.toml"

pytest.importorskip("reportlab")


def square(side: float, title: str = "square") -> Drawing:
    outline = Stroke(paths=(rectangle(side, side).segments,), closed=True)
    return Drawing(title=title, width=side, height=side, elements=(outline,))


def disc(radius: float) -> Drawing:
    outline = Stroke(paths=(circle(Point(radius, radius), radius).segments,), closed=True)
    return Drawing(title="disc", width=2 * radius, height=2 * radius, elements=(outline,))


def printed(*pieces: Drawing, paper: str = "A4", printing: Printing = AS_DRAWN) -> list[ReadPage]:
    pages = [through(page, printing) for page in lay_out(pieces, paper_size(paper), "test")]
    return read_pages(pdf_bytes(pages, "test"))


@pytest.mark.parametrize(
    ("paper", "width", "height"),
    [
        ("A4", 210.0, 297.0),  # ISO 216:2007
        ("A3", 297.0, 420.0),
        ("A5", 148.0, 210.0),
        ("Letter", 215.9, 279.4),  # ANSI/ASME Y14.1, 8.5 x 11 in
        ("200x300.5", 200.0, 300.5),
    ],
)
def test_page_boxes_are_those_of_the_standards(paper: str, width: float, height: float) -> None:
    data = pdf_bytes(lay_out([square(50.0)], paper_size(paper), "test"), "test")
    (page,) = read_pages(data)
    assert page.width == pytest.approx(width, abs=1e-4)
    assert page.height == pytest.approx(height, abs=1e-4)
    (plain,) = PdfReader(BytesIO(data)).pages
    assert (plain.mediabox.left, plain.mediabox.bottom) == (0, 0)
    for box in (plain.cropbox, plain.bleedbox, plain.trimbox, plain.artbox):
        assert list(box) == list(plain.mediabox)
    assert "/UserUnit" not in plain  # a unit is 1/72 inch (ISO 32000-1, 14.11.2 and table 30)
    assert plain.rotation == 0


@pytest.mark.parametrize("paper", [*PAPERS, "300x160"])
def test_every_page_has_a_100_mm_bar_across_and_one_up(paper: str) -> None:
    for page in printed(square(50.0), disc(200.0), paper=paper):
        bars = page.straight(100.0)
        across = [bar for bar in bars if abs(bar[0][1] - bar[1][1]) < 1e-6]
        up = [bar for bar in bars if abs(bar[0][0] - bar[1][0]) < 1e-6]
        assert len(across) == len(up) == 1
        assert abs(across[0][1][0] - across[0][0][0]) == pytest.approx(100.0, abs=1e-4)
        assert abs(up[0][1][1] - up[0][0][1]) == pytest.approx(100.0, abs=1e-4)
        assert "Print at actual size" in page.text
        assert "100 mm across" in page.text
        assert "100 mm up" in page.text


def test_everything_lies_on_the_paper() -> None:
    job = pipeline.check(AURORA)
    for pages in print_sheets(job.job, job.parts, {}, paper_size("A4")).values():
        for page in read_pages(pdf_bytes(pages, "x")):
            points = [point for path in page.strokes for point in path]
            assert all(5.0 < x < page.width - 5.0 for x, _ in points)
            assert all(5.0 < y < page.height - 5.0 for _, y in points)
            assert len(page.straight(100.0)) == 2


def test_a_circle_is_one_on_paper_to_a_thousandth() -> None:
    (page,) = printed(disc(80.0))
    (path,) = [path for path in page.strokes if _width(path) > 150.0]
    x = (max(p[0] for p in path) + min(p[0] for p in path)) / 2
    y = (max(p[1] for p in path) + min(p[1] for p in path)) / 2
    assert all(abs(math.dist(point, (x, y)) - 80.0) < 0.001 for point in path)


def test_every_outline_of_a_job_is_printed_as_large_as_it_is_cut() -> None:
    job = pipeline.check(AURORA)
    sheets = print_sheets(job.job, job.parts, {}, paper_size("A4"))
    pages = read_pages(pdf_bytes(sheets["patterns.pdf"], "x"))
    seen = [sorted((_width(path), _height(path))) for page in pages for path in page.strokes]
    for part in job.parts:
        box = region_bounds(part.region)
        wanted = sorted((box.width, box.height))
        near = [size for size in seen if math.dist(size, wanted) < 0.02]  # points on arcs only
        assert len(near) >= part.per_disc, part.name


def test_the_template_has_every_joint_at_its_angle() -> None:
    """Joints of the aurora wheel at 0, 60, 135.5, 180, 315 degrees, from its design file."""
    job = pipeline.check(AURORA)
    sheets = print_sheets(job.job, job.parts, {}, paper_size("A4"))
    (page,) = read_pages(pdf_bytes(sheets["assembly.pdf"], "x"))
    (rim,) = [path for path in page.strokes if abs(_width(path) - 120.0) < 0.01]
    x = (max(p[0] for p in rim) + min(p[0] for p in rim)) / 2
    y = (max(p[1] for p in rim) + min(p[1] for p in rim)) / 2
    angles = set()
    for path in page.strokes:
        if len(path) == 2 and math.dist(path[0], (x, y)) == pytest.approx(60.0, abs=1e-3):
            dx, dy = path[1][0] - x, path[1][1] - y
            angles.add(round(math.degrees(math.atan2(dx, dy)) % 360.0, 3) % 360.0)
    assert angles == {0.0, 60.0, 135.5, 180.0, 315.0}
    for word in ("FRONT SIDE of Aurora wheel", "135.5°", "315°", "Amber colour film", "left open"):
        assert word in page.text


def test_a_template_a_little_narrower_than_the_paper_is_one_page() -> None:
    """The shutter is 160 mm wide, and 177 mm are left on A4 beside the bar."""
    job = pipeline.check(AURORA.parents[1] / "02-storm-shutter" / "job.toml")
    assert len(print_sheets(job.job, job.parts, {}, paper_size("A4"))["assembly.pdf"]) == 1


def test_scales_multiply_each_direction_by_itself() -> None:
    (page,) = printed(square(50.0), printing=Printing(1.007, 0.996))
    assert page.width == pytest.approx(210.0, abs=1e-4)  # the paper stays
    lengths = sorted(math.dist(*bar) for bar in page.straight(100.0, 1.0))
    assert lengths == pytest.approx([99.6, 100.7], abs=1e-3)
    (path,) = [path for path in page.strokes if abs(_width(path) - 50.35) < 0.01]
    assert _height(path) == pytest.approx(49.8, abs=1e-3)


def test_mirrored_pages_are_turned_over_left_to_right() -> None:
    (plain,), (turned,) = (
        printed(square(50.0)),
        printed(square(50.0), printing=Printing(1, 1, True)),
    )
    mirrored = [[(plain.width - x, y) for x, y in path] for path in plain.strokes]
    flat = [value for path in mirrored for point in path for value in point]
    assert [v for path in turned.strokes for p in path for v in p] == pytest.approx(flat, abs=1e-4)


def test_small_pieces_share_a_page_and_do_not_touch() -> None:
    pages = printed(*(square(50.0) for _ in range(13)))
    boxes = [
        [
            (min(p[0] for p in path), min(p[1] for p in path))
            for path in page.strokes
            if abs(_width(path) - 50.0) < 1e-3 and abs(_height(path) - 50.0) < 1e-3
        ]
        for page in pages
    ]
    assert sum(map(len, boxes)) == 13
    assert len(pages) == 2
    for corners in boxes:
        for i, (x, y) in enumerate(corners):
            for u, v in corners[:i]:
                assert max(abs(x - u), abs(y - v)) > 53.9


def test_equal_pages_give_equal_bytes_and_are_known_again() -> None:
    pages = lay_out([square(50.0)], paper_size("A4"), "test")
    assert pdf_bytes(pages, "test") == pdf_bytes(pages, "test")
    assert is_own_pdf(pdf_bytes(pages, "test"))
    assert not is_own_pdf(b"%PDF-1.4 of somebody else")


def test_without_reportlab_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "reportlab.pdfgen.canvas", None)
    with pytest.raises(CannotDoError, match=r"PDF needs reportlab: pip install 'jobprep\[pdf\]'"):
        pdf_bytes([], "test")


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="no pdftoppm here")
def test_bars_measure_100_mm_in_a_rendering(tmp_path: Path) -> None:
    """At 300 dpi 100 mm are 1181.1 pixels; the bars' end strokes must lie so far apart."""
    image = pytest.importorskip("PIL.Image")
    numpy = pytest.importorskip("numpy")
    (tmp_path / "page.pdf").write_bytes(
        pdf_bytes(lay_out([square(30.0)], paper_size("A4"), "test"), "test")
    )
    command = ["pdftoppm", "-r", "300", "-gray", "-singlefile", "page.pdf", "page"]
    subprocess.run(command, cwd=tmp_path, check=True)
    with image.open(tmp_path / "page.pgm") as picture:
        dark = 255.0 - numpy.asarray(picture, dtype=float)
    pixels = 300.0 / 25.4
    # 1.5 mm off the bars only their end strokes are met: those of the 10 mm between are shorter.
    for x, y, along in ((20.0, 21.0, "x"), (13.0, 27.0, "y")):
        left, low = round((x - 3.0) * pixels), dark.shape[0] - round((y - 3.0) * pixels)
        reach = round(106.0 * pixels)
        off = round(4.5 * pixels)
        line = (
            dark[low - off, left : left + reach]
            if along == "x"
            else dark[low - reach : low, left + off]
        )
        middles = _middles(numpy, line)
        assert len(middles) == 2
        assert (middles[1] - middles[0]) / pixels == pytest.approx(100.0, abs=0.05)


def _middles(numpy, line):  # type: ignore[no-untyped-def]
    """Return where along a line of pixels each dark stroke has its middle."""
    places = numpy.flatnonzero(line > 20.0)
    groups = numpy.split(places, numpy.flatnonzero(numpy.diff(places) > 1) + 1)
    return [float((group * line[group]).sum() / line[group].sum()) for group in groups]


def _width(path: list[tuple[float, float]]) -> float:
    return max(p[0] for p in path) - min(p[0] for p in path)


def _height(path: list[tuple[float, float]]) -> float:
    return max(p[1] for p in path) - min(p[1] for p in path)
