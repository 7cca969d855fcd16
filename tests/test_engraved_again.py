"""What a run engraves is engraved again when it is cut again, whole or in part, on any cutter.

The drawings are read by the reader of the second cut, which shares no code with the package. Marks
are laid on those of the run by turning and moving alone; then the outlines must lie on each other
too, so that a number on the back, or a tick on the other side, would be noticed.
"""

import cmath
import itertools
import math
import shutil
from pathlib import Path

import numpy as np
import pytest
import shapely
from commands import done
from other_formats import assert_same_strokes, dxf_strokes, gcode_strokes, svg_strokes
from read_pdf import read_pages
from second.cut_drawing import read_cuts
from virtual_cut import read_cut_drawing

CUTTERS = Path(__file__).parents[1] / "materials" / "cutters"

DESIGN = """\
format = 1
name = "Pier lamp"
outer_diameter = 100.0
bore = { diameter = 6.35 }
hub_diameter = 30.0
[[layer]]
name = "front"
film = "clear"
[[layer]]
name = "colour"
inner_diameter = 12.0
sector = [
  { film = "amber", degrees = 100 },
  { film = "green", degrees = 140 },
  { film = "amber", degrees = 120 },
]
[[layer]]
name = "back"
film = "clear"
"""

JOB = """\
format = 1
title = "Pier lamps"
cutter = "bench-co2"
[[disc]]
design = "pier.toml"
copies = 2
[nesting]
evaluations = 20
"""

FORMATS = ("--format", "dxf", "--format", "pdf")
ALL_FORMATS = (*FORMATS, "--format", "gcode")
MARKED = {2, 3, 4}
"""The numbers of the sectors; 1 and 5 are covers, which are not engraved."""

Marked = tuple[np.ndarray, shapely.Polygon]


@pytest.fixture(autouse=True)
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "pier.toml").write_text(DESIGN)
    (tmp_path / "job.toml").write_text(JOB)
    own = tmp_path / "materials" / "cutters"
    own.mkdir(parents=True)
    other = (CUTTERS / "bench-co2.toml").read_text().replace("0.16", "0.31")
    (own / "other-co2.toml").write_text(other)
    done("plan", "job.toml", "--out", "run", *ALL_FORMATS)
    return tmp_path


def engraved(run: Path) -> dict[str, list[Marked]]:
    """Return of each part's number and name the marks of every copy, and its outline.

    Of each mark there are two points, as complex numbers.
    """
    found: dict[str, list[Marked]] = {}
    for path in sorted(run.glob("*.svg")):
        cuts = read_cuts(path.read_text()).cuts
        for outer in (cut for cut in cuts if cut.kind == "cut-outer"):
            inside = shapely.Polygon(outer.strokes[0])
            lines = (
                shapely.LineString(stroke)
                for cut in cuts
                if cut.kind == "mark"
                for stroke in cut.strokes
            )
            marks = sorted((line for line in lines if inside.contains(line)), key=shapely.length)
            # Wherever a stroke begins, these two points of it are the same.
            ends = [(line.centroid, line.interpolate(0.5, normalized=True)) for line in marks]
            points = shapely.get_coordinates([each for both in ends for each in both])
            name = outer.title.rpartition(", copy")[0] or outer.title
            found.setdefault(name, []).append((points @ (1.0, 1.0j), inside))
    return found


def assert_same(one: Marked, other: Marked, kerf: float) -> None:
    """Check that marks are those of another, as seen from the same side, on the same outline."""
    (a, shape), (b, again) = one, other
    assert len(a) == len(b)
    if len(a):
        here, there = a - a.mean(), b - b.mean()
        turn = cmath.phase(complex(np.vdot(here, there)))
        assert np.abs(here * cmath.exp(1j * turn) - there).max() < 1e-3
        turned = shapely.affinity.rotate(shape, turn, (a.mean().real, a.mean().imag), True)
        shift = b.mean() - a.mean()
        moved = shapely.affinity.translate(turned, shift.real, shift.imag)
        assert moved.hausdorff_distance(again) < kerf / math.sin(math.radians(40.0))
    else:
        assert math.isclose(shape.area, again.area, rel_tol=0.02)


def assert_all_formats_agree(run: Path, n_pages: int = 1) -> None:
    """Check that each format holds the marks of the SVG, and all else of it."""
    for path in sorted(run.glob("*.dxf")):
        drawing = read_cut_drawing(path.with_suffix(".svg").read_text())
        svg = svg_strokes(drawing)
        assert_same_strokes(svg, dxf_strokes(path.read_text()), path.name, 1e-3)
        (page,) = read_pages(path.with_suffix(".pdf").read_bytes())
        assert len(page.strokes) == len(svg)
        code = path.with_suffix(".gcode")
        if code.exists():
            size = drawing.width, drawing.height
            told = gcode_strokes(code.read_text(), "lower left", size, 1)
            assert_same_strokes(svg, told, code.name, 1e-3)


@pytest.mark.parametrize("cutter", ["other-co2", "drag-knife"])
@pytest.mark.parametrize("only", [(), ("--only", 2), ("--only", 3, "--copy", 2)])
def test_a_recut_engraves_what_the_run_engraved(
    shop: Path, cutter: str, only: tuple[object, ...]
) -> None:
    formats = FORMATS if cutter == "drag-knife" else ALL_FORMATS
    done("recut", "run", "--cutter", cutter, *only, "--out", "again", *formats)
    before, after = engraved(shop / "run"), engraved(shop / "again")
    if not only:
        assert {name: len(each) for name, each in after.items()} == {
            name: len(each) for name, each in before.items()
        }
    assert any(len(marks) for each in after.values() for marks, _ in each)
    for name, again in after.items():
        for each in again:
            assert_same(before[name][0], each, 0.4)
    assert_all_formats_agree(shop / "again")


@pytest.mark.parametrize("cutter", ["bench-co2", "other-co2", "drag-knife"])
def test_spoiled_parts_are_engraved_again(shop: Path, cutter: str) -> None:
    done("stock", "book", "run", "--spoiled", 1, "--spoiled", "2=2", "--spoiled", 3)
    job = shop / "run-recut.toml"
    job.write_text(job.read_text().replace('"bench-co2"', f'"{cutter}"'))
    formats = FORMATS if cutter == "drag-knife" else ALL_FORMATS
    done("plan", job, "--out", "again", *formats)
    before, after = engraved(shop / "run"), engraved(shop / "again")
    assert {name: len(each) for name, each in after.items()} == {
        "1 Pier lamp, front": 1,
        "2 Pier lamp, colour 1 amber": 2,
        "3 Pier lamp, colour 2 green": 1,
    }
    for name, again in after.items():
        assert bool(len(before[name][0][0])) == ("colour" in name)
        for each in again:
            assert_same(before[name][0], each, 0.4)
    assert_all_formats_agree(shop / "again")


def test_spoiled_parts_of_spoiled_parts_keep_their_numbers_and_marks(shop: Path) -> None:
    done("stock", "book", "run", "--spoiled", "4=2")
    done("plan", "run-recut.toml", "--out", "again")
    done("stock", "book", "again", "--spoiled", 4, "--spoiled-job", "third.toml")
    done("plan", "third.toml", "--out", "third")
    runs = [engraved(shop / name) for name in ("run", "again", "third")]
    name = "4 Pier lamp, colour 3 amber"
    for one, other in itertools.pairwise(runs):
        assert_same(one[name][0], other[name][0], 0.01)
    listed = done("check", "third.toml").output
    assert name in " ".join(listed.split())


WRONG = {
    'number = 1\ndrawing = "run-recut-part-2.svg"': "1 is also the number of",
    "number = 0\n": "0 is not a whole number from 1 to 10000",
    'engraving = "no.svg"': '"no.svg" is not there',
    'engraving = "pier.toml"': '"pier.toml" is not a drawing that can be read',
    'engraving = "off.svg"': "it does not lie on its part, 0.5 mm from its edges",
    'engraving = "empty.svg"': "draws nothing",
}


@pytest.mark.parametrize("wrong", WRONG)
def test_what_cannot_be_engraved_is_said(shop: Path, wrong: str) -> None:
    page = '<svg xmlns="http://www.w3.org/2000/svg" width="50mm" height="50mm" viewBox="0 0 50 50">'
    (shop / "off.svg").write_text(f'{page}<path d="M 0 0 L 50 0"/></svg>')
    (shop / "empty.svg").write_text(f"{page}</svg>")
    done("stock", "book", "run", "--spoiled", 1, "--spoiled", 2)
    job = shop / "run-recut.toml"
    right = {
        "number": 'number = 2\ndrawing = "run-recut-part-2.svg"'
        if "drawing" in wrong
        else "number = 2\n",
        "engraving": 'engraving = "run-recut-part-2-engraved.svg"',
    }[wrong.partition(" ")[0]]
    assert right in job.read_text()
    job.write_text(job.read_text().replace(right, wrong))
    said = done("check", job, code=2).stderr
    assert WRONG[wrong] in said


def test_an_engraving_needs_a_drawing(shop: Path) -> None:
    shutil.copyfile(shop / "run" / "amber.svg", shop / "amber.svg")
    part = '[[part]]\nname = "x"\nfilm = "clear"\nring = { outer_diameter = 30 }\n'
    (shop / "job.toml").write_text(JOB + part + 'engraving = "amber.svg"\n')
    said = done("check", "job.toml", code=2).stderr
    assert "part[1].engraving: lies on the page of a drawing; give the part's outline" in said


def test_a_loose_part_takes_its_number_and_the_others_the_next_free_ones(shop: Path) -> None:
    rows = [
        f'[[part]]\nname = "{name}"\nfilm = "clear"\nring = {{ outer_diameter = 30 }}\n{number}'
        for name, number in (("a", ""), ("b", "number = 6\n"), ("c", ""), ("d", "number = 40\n"))
    ]
    (shop / "job.toml").write_text(JOB + "\n".join(rows))
    from jobprep import pipeline

    parts = pipeline.check(shop / "job.toml").parts
    assert [part.number for part in parts] == [1, 2, 3, 4, 5, 7, 6, 8, 40]
