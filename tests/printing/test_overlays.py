"""Overlays: what blocks light is black, and the cut registers with the print."""

import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
from commands import run
from read_pdf import Drawn, ReadPage, read_pages
from svgpathtools import svg2paths

from jobprep import pipeline
from jobprep.disc.stroke_font import text_width
from jobprep.drawing.pdf import pdf_bytes
from jobprep.geometry.measure import area, bounds
from jobprep.printing.arc_text import arc_text
from jobprep.printing.lay_out import lay_out
from jobprep.printing.overlays import (
    cross_points,
    opaque_zones,
    overlay_outline,
    overlays,
    overlays_of,
)
from jobprep.printing.paper import paper_size

pytest.importorskip("reportlab")

DESIGN = """\
format = 1
name = "Night wheel"
outer_diameter = 120
bore = { diameter = 6 }
hub_diameter = 30

[[hole]]
name = "index"
diameter = 3
radius = 50
angle = 20

[[layer]]
name = "mask"
joint_gap = 0.2
sector = [
  { film = "black", degrees = 90 },
  { film = "black", degrees = 90 },
  { film = "none", degrees = 180 },
]
"""
JOB = """\
format = 1
title = "Trial"
cutter = "bench-co2"
kerf = { clear = 0.0 }

[[disc]]
design = "wheel.toml"
copies = 1
"""


@pytest.fixture
def job(tmp_path: Path) -> Path:
    (tmp_path / "wheel.toml").write_text(DESIGN, encoding="utf-8")
    (tmp_path / "job.toml").write_text(JOB, encoding="utf-8")
    return tmp_path / "job.toml"


def test_opaque_zones_are_the_sectors_of_opaque_film_without_their_gap(job: Path) -> None:
    """Half a ring from 3 to 60 mm: pi (60² - 3²) / 2, less the index hole, pi 1.5²."""
    read = pipeline.check(job).job
    design = read.discs[0].design
    black = math.fsum(map(area, opaque_zones(design, 1, read.films)))
    assert black == pytest.approx(math.pi * (60.0**2 - 3.0**2) / 2.0 - math.pi * 1.5**2, abs=1e-6)
    (outline,) = overlay_outline(design, 1)
    whole = math.pi * (60.0**2 - 3.0**2) - math.pi * 1.5**2
    assert area(outline) == pytest.approx(whole, abs=1e-6)


def test_a_job_without_opaque_film_has_no_overlay(job: Path) -> None:
    text = (job.parent / "wheel.toml").read_text(encoding="utf-8").replace("black", "amber")
    (job.parent / "wheel.toml").write_text(text, encoding="utf-8")
    read = pipeline.check(job).job
    assert overlays_of(read.discs, read.films) == ()
    result = run("cut-print", job, "--film", "clear", "--out", job.parent / "cut.svg")
    assert result.exit_code == 2
    assert "no layer of this job has an opaque zone, artwork or words" in result.stderr


def test_every_copy_has_its_overlay(job: Path) -> None:
    read = pipeline.check(job).job
    order = replace(read.discs[0], copies=5)
    assert len(overlays([order], read.films, {})) == 5


def test_text_stands_on_its_circle() -> None:
    """At a large radius the circle is straight: the letters are as wide as on a line."""
    paths = arc_text("THIS SIDE OUT", 1e5, 3.0)
    boxes = [bounds(path) for path in paths]
    width = max(box.x_max for box in boxes) - min(box.x_min for box in boxes)
    assert width == pytest.approx(text_width("THIS SIDE OUT", 3.0), abs=0.01)
    feet = [math.hypot(*path[0].start) for path in arc_text("III", 12.0, 3.0)]
    assert all(12.0 - 1e-9 <= foot <= 15.1 for foot in feet)
    middle = sum(box.x_min + box.x_max for box in boxes) / 2.0 / len(boxes)
    assert abs(middle) < width


def test_cut_registers_with_the_print_from_end_to_end(job: Path) -> None:
    """From the PDF over a print that is off to the cut drawing: within 0.05 mm everywhere.

    The print is 0.7 % too long across and 0.4 % up, shifted by 1 mm and turned by 0.5 degrees; its
    crosses are read to 0.01 mm. The kerf is 0, so that the cut is the outline itself.
    """
    page = _overlay_page(job)
    rim, hole, crosses = _found(page)
    turn, shift = math.radians(0.5), (50.8, 40.6)

    def lies(point: tuple[float, float]) -> tuple[float, float]:
        x, y = 1.007 * point[0], 1.004 * point[1]
        return (
            shift[0] + math.cos(turn) * x - math.sin(turn) * y,
            shift[1] + math.sin(turn) * x + math.cos(turn) * y,
        )

    out = job.parent / "cut.svg"
    words = []
    for name, at in zip("ABCD", crosses, strict=True):
        x, y = lies(at)
        words += ["--cross", f"{name}={x:.2f},{y:.2f}"]
    result = run("cut-print", job, "--film", "clear", "--out", out, *words)
    assert result.exit_code == 0, result.stderr
    told = re.search(r"fit to (\d\.\d+) mm", result.stdout)
    assert told is not None
    assert float(told.group(1)) < 0.01
    height = float(re.search(r'viewBox="0 0 \S+ (\S+)"', out.read_text()).group(1))  # type: ignore[union-attr]
    cuts = [
        [(z.real, height - z.imag) for z in (path.point(t / 4000) for t in range(4001))]
        for path, attributes in zip(*svg2paths(str(out)), strict=True)
        if attributes["class"].startswith("cut")
    ]
    assert len(cuts) == 3
    for printed in (rim, hole):
        drawn = [lies(point) for point in printed]
        size = _width(drawn)
        (cut,) = [cut for cut in cuts if abs(_width(cut) - size) < 0.2]
        assert max(_gap(point, cut) for point in drawn[::8]) < 0.05
        centre_off = math.dist(_middle(drawn), _middle(cut))
        assert centre_off < 0.02
        assert abs(_width(cut) - size) < 0.05
        assert abs(_height(cut) - _height(drawn)) < 0.05


def test_bad_crosses_are_refused_in_a_sentence(job: Path) -> None:
    out = job.parent / "cut.svg"
    for given, told in (
        (["A=1,2", "B=1,100"], "3 crosses or more"),
        (["A=1,2", "A=1,3", "B=3,4"], "a cross is given twice"),
        (["E=1,2"], '"E=1,2" is not a cross and its place'),
        (["A=1;2"], '"A=1;2" is not a cross and its place'),
        (["A=102,0", "B=102,102", "C=0,102", "D=0,0"], "mirrored"),
        (["A=5,5", "B=5,107", "C=107,107"], "beyond the bed"),
    ):
        words = [word for each in given for word in ("--cross", each)]
        result = run("cut-print", job, "--film", "clear", "--out", out, *words)
        assert result.exit_code in (1, 2)
        assert told in " ".join(result.stderr.replace("\u2502", " ").split()), result.stderr
        assert not out.exists()


def test_without_crosses_the_cut_has_the_matching_marks(job: Path) -> None:
    out = job.parent / "cut.svg"
    result = run("cut-print", job, "--film", "clear", "--out", out)
    assert result.exit_code == 0, result.stderr
    assert "not laid on a print" in result.stdout
    paths, attributes = svg2paths(str(out))
    marks = [path for path, each in zip(paths, attributes, strict=True) if each["class"] == "mark"]
    rim = max(paths, key=lambda path: path.bbox()[1] - path.bbox()[0]).bbox()
    middle = ((rim[0] + rim[1]) / 2.0, (rim[2] + rim[3]) / 2.0)
    found = set()
    for path in marks:
        left, right, low, high = path.bbox()
        found.add(
            (round((left + right) / 2 - middle[0], 3), round(middle[1] - (low + high) / 2, 3))
        )
    design = pipeline.check(job).job.discs[0].design
    assert found == {(round(x, 3), round(y, 3)) for x, y in cross_points(design, 1)}


def _overlay_page(job: Path) -> ReadPage:
    read = pipeline.check(job).job
    pages = lay_out(overlays(read.discs, read.films, {}), paper_size("A4"), "overlays")
    (page,) = read_pages(pdf_bytes(pages, "overlays"))
    return page


def _found(page: ReadPage):  # type: ignore[no-untyped-def]
    """Return the printed rim, index hole, and crosses A to D, whichever way the piece is turned."""
    outlines: list[Drawn] = [each for each in page.drawn if not each.is_filled and each.grey > 0.0]
    paths = [path for each in outlines for path in each.subpaths]
    (rim,) = [path for path in paths if abs(_width(path) - 120.0) < 0.01]
    (hole,) = [path for path in paths if abs(_width(path) - 3.0) < 0.01]
    middle, at = _middle(rim), _middle(hole)
    towards = math.atan2(at[1] - middle[1], at[0] - middle[0]) - math.radians(70.0)
    crosses = []
    for name in range(4):
        direction = math.radians(225.0 - 90.0 * name) + towards
        reach = 0.85 * 60.0 * math.sqrt(2.0)
        near = (
            middle[0] + reach * math.cos(direction),
            middle[1] + reach * math.sin(direction),
        )
        (place,) = {
            (round(x, 3), round(y, 3))
            for x, y in (_middle(stroke) for stroke in page.straight(5.0))
            if math.dist((x, y), near) < 0.01
        }
        crosses.append(place)
    return rim, hole, crosses


def _gap(point: tuple[float, float], path: list[tuple[float, float]]) -> float:
    """Return how far a point is from the chords of a closed path beside its nearest corner."""
    nearest = min(range(len(path) - 1), key=lambda index: math.dist(point, path[index]))
    gaps = []
    for start, end in ((path[nearest - 1], path[nearest]), (path[nearest], path[nearest + 1])):
        dx, dy = end[0] - start[0], end[1] - start[1]
        share = ((point[0] - start[0]) * dx + (point[1] - start[1]) * dy) / (dx * dx + dy * dy or 1)
        share = min(1.0, max(0.0, share))
        gaps.append(math.dist(point, (start[0] + share * dx, start[1] + share * dy)))
    return min(gaps)


def _middle(path) -> tuple[float, float]:  # type: ignore[no-untyped-def]
    xs, ys = [p[0] for p in path], [p[1] for p in path]
    return (max(xs) + min(xs)) / 2.0, (max(ys) + min(ys)) / 2.0


def _width(path) -> float:  # type: ignore[no-untyped-def]
    return max(p[0] for p in path) - min(p[0] for p in path)


def _height(path) -> float:  # type: ignore[no-untyped-def]
    return max(p[1] for p in path) - min(p[1] for p in path)
