"""A file of each sheet's own outline, to lay the film by: in the drawing's place, and never cut.

Drawings are read by the reader of the second cut and by ezdxf, machine code word by word, printed
pages by pypdf. What a word of machine code means is that of RS274/NGC (NISTIR 6556, 2000): M3 and
M4 turn the spindle, here the beam, on; S is its power.
"""

import itertools
import math
import re
import tomllib
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import pytest
import shapely
from commands import done
from read_pdf import read_pages
from second.cut_drawing import read_cuts

CUTTERS = Path(__file__).parents[1] / "materials" / "cutters"
SVG = "{http://www.w3.org/2000/svg}"

LEFTOVER = [(0, 0), (210, 0), (210, 180), (90, 180), (90, 297), (0, 297)]
DEFECT = [(20, 20), (35, 20), (28, 35)]

JOB = f"""\
format = 1
title = "Washers"
cutter = "strong"
[[part]]
name = "washer"
film = "amber"
copies = 14
ring = {{ outer_diameter = 60, inner_diameter = 6.5 }}
[[part]]
name = "lid"
film = "clear"
disc = {{ diameter = 40 }}
[[stock]]
film = "amber"
label = "A7"
outline = {[list(each) for each in LEFTOVER]}
defects = [{[list(each) for each in DEFECT]}]
[[stock]]
film = "amber"
size = [250, 200]
[nesting]
evaluations = 20
[cutting]
sheet_outline = true
"""

ALL = ("--format", "dxf", "--format", "gcode", "--format", "pdf")
OUTLINES = ("amber-sheet-1-outline", "amber-sheet-2-outline", "clear-sheet-1-outline")


@pytest.fixture(autouse=True)
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    own = tmp_path / "materials" / "cutters"
    own.mkdir(parents=True)
    power = "\n[power]\nmark = 120\ncut-inner = 800\ncut-outer = 800\n"
    (own / "strong.toml").write_text((CUTTERS / "bench-co2.toml").read_text() + power)
    (tmp_path / "job.toml").write_text(JOB)
    return tmp_path


def drawn_outline(path: Path) -> tuple[shapely.Polygon, tuple[float, float]]:
    """Return what an outline file encloses, mm, y up, and the size of its page."""
    root = ElementTree.parse(path).getroot()
    x, y, width, height = map(float, root.attrib["viewBox"].split())
    assert (x, y) == (0.0, 0.0)
    assert root.get("width") == f"{width:g}mm"
    groups = [each for each in root if each.tag != f"{SVG}title"]
    assert [(each.tag, each.get("class")) for each in groups] == [(f"{SVG}g", "sheet-outline")]
    rings = []
    for path_ in groups[0]:
        assert path_.get("class") == "sheet-outline"
        data = path_.attrib["d"]
        assert set(re.findall("[A-Za-z]", data)) <= {"M", "L", "Z"}
        numbers = list(map(float, re.findall(r"-?[\d.]+", data)))
        rings.append([(x, height - y) for x, y in zip(numbers[::2], numbers[1::2], strict=True)])
    return shapely.Polygon(rings[0], rings[1:]), (width, height)


def cut_area(path: Path) -> shapely.Geometry:
    return shapely.union_all(
        [shapely.LineString(s) for cut in read_cuts(path.read_text()).cuts for s in cut.strokes]
    )


def test_each_sheet_has_its_outline_where_its_cuts_are(shop: Path) -> None:
    done("plan", "job.toml", "--out", "run")
    names = sorted(path.name for path in (shop / "run").glob("*outline*"))
    assert names == [f"{each}.svg" for each in OUTLINES]
    a7, (width, height) = drawn_outline(shop / "run" / "amber-sheet-1-outline.svg")
    # The plan may lay a leftover turned on the cutter; that is the one its record holds.
    record = tomllib.loads((shop / "run" / "run.toml").read_text())
    sheet = next(each for each in record["sheets"] if each.get("label") == "A7")
    rings = [[segment[:2] for segment in ring] for ring in sheet["contours"]]
    assert a7.symmetric_difference(shapely.Polygon(rings[0], rings[1:])).area < 1e-3
    assert a7.area == pytest.approx(shapely.Polygon(LEFTOVER, [DEFECT]).area, abs=1e-3)
    assert a7.bounds == pytest.approx((0, 0, width, height), abs=1e-6)
    for number in (1, 2):
        outline, size = drawn_outline(shop / "run" / f"amber-sheet-{number}-outline.svg")
        cuts = read_cuts((shop / "run" / f"amber-sheet-{number}.svg").read_text())
        assert (cuts.width, cuts.height) == size
        drawn = cut_area(shop / "run" / f"amber-sheet-{number}.svg")
        assert outline.contains(drawn)
        # The slot stays the margin off the edge: 5 mm and half a kerf to the path.
        assert outline.boundary.distance(drawn) > 5.0
    outline, _ = drawn_outline(shop / "run" / "clear-sheet-1-outline.svg")
    assert outline.contains(cut_area(shop / "run" / "clear.svg"))


def test_cut_drawings_stay_as_they_are(shop: Path) -> None:
    done("plan", "job.toml", "--out", "run", *ALL)
    (shop / "job.toml").write_text(JOB.replace("sheet_outline = true", ""))
    done("plan", "job.toml", "--out", "plain", *ALL)
    plain = {path.name: path.read_bytes() for path in (shop / "plain").iterdir()}
    assert not [name for name in plain if "outline" in name]
    for name, content in plain.items():
        if Path(name).suffix in (".svg", ".dxf", ".gcode", ".pdf"):
            assert (shop / "run" / name).read_bytes() == content, name
            assert b"sheet-outline" not in content


def test_no_colour_of_an_outline_is_one_that_the_driver_cuts(shop: Path) -> None:
    colours = (CUTTERS / "bench-co2.toml").read_text().partition("[colours]")[2]
    own = shop / "materials" / "cutters" / "strong.toml"
    for taken in ("#000000", "#cc79a7", "#CC79A7"):
        own.write_text(own.read_text().replace("#000000", taken))
        done("plan", "job.toml", "--out", "run")
        text = (shop / "run" / "amber-sheet-1-outline.svg").read_text()
        (colour,) = set(re.findall(r'stroke="(#\w+)"', text))
        cutting = set(re.findall(r"#\w{6}", (shop / "run" / "amber.svg").read_text()))
        assert colour.lower() not in {each.lower() for each in (*cutting, taken)}
    assert "#" in colours


def beam_words(text: str) -> list[str]:
    """Return every word of machine code that turns a beam on or gives it power."""
    words = []
    for line in re.sub(r"\([^()]*\)", "", text).splitlines():
        for letter, number in re.findall(r"([A-Z])\s*([-+]?[\d.]+)", line.upper()):
            value = float(number)
            if (letter == "M" and value in (3.0, 4.0)) or (letter == "S" and value > 0.0):
                words.append(letter + number)
    return words


def test_machine_code_that_traces_an_outline_turns_no_beam_on(shop: Path) -> None:
    done("plan", "job.toml", "--out", "run", *ALL)
    # The reader sees what turns the beam on where something is cut.
    assert {"M3", "S800"} <= set(beam_words((shop / "run" / "amber-sheet-1.gcode").read_text()))
    for name in OUTLINES:
        text = (shop / "run" / f"{name}.gcode").read_text()
        assert not beam_words(text)
        outline, _ = drawn_outline(shop / "run" / f"{name}.svg")
        points = [(float(x), float(y)) for x, y in re.findall(r"G[01] X([-\d.]+) Y([-\d.]+)", text)]
        traced = shapely.MultiPoint(points[:-1])  # the last is the way home
        assert (
            traced.hausdorff_distance(shapely.MultiPoint(shapely.get_coordinates(outline))) < 1e-3
        )
        assert re.findall(r"G1 .* F(\S+)", text)


def test_dxf_and_pdf_hold_the_outline_alone(shop: Path) -> None:
    done("plan", "job.toml", "--out", "run", *ALL)
    outline, (width, height) = drawn_outline(shop / "run" / "amber-sheet-1-outline.svg")
    document = ezdxf.readfile(shop / "run" / "amber-sheet-1-outline.dxf")
    rings = {entity.dxf.layer: [] for entity in document.modelspace()}
    assert set(rings) == {"sheet-outline"}
    corners = [list(each.get_points("xy")) for each in document.modelspace()]
    assert shapely.Polygon(corners[0], corners[1:]).symmetric_difference(outline).area < 1e-3
    (page,) = read_pages((shop / "run" / "amber-sheet-1-outline.pdf").read_bytes())
    assert (page.width, page.height) == pytest.approx((width, height), abs=0.01)
    assert len(page.strokes) == 2


def test_a_run_cut_again_keeps_the_wish(shop: Path) -> None:
    done("plan", "job.toml", "--out", "run")
    done("recut", "run", "--kerf", "amber=0.3", "--out", "again")
    assert (shop / "again" / "amber-sheet-1-outline.svg").exists()
    done("stock", "book", "run", "--spoiled", "washer")
    assert "sheet_outline = true" in (shop / "run-recut.toml").read_text()


def test_the_page_names_the_outline(shop: Path) -> None:
    done("plan", "job.toml", "--out", "run")
    text = (shop / "run" / "job-sheet.html").read_text()
    for name in OUTLINES:
        assert f"{name}.svg" in text


def test_a_large_outline_is_printed_in_tiles_at_actual_size(shop: Path) -> None:
    pytest.importorskip("reportlab")
    done("plan", "job.toml", "--out", "run")
    assert "sheet-outlines.pdf" not in done("print", "job.toml", "--out", "paper").output
    said = done("print", "run", "--out", "paper", "--paper", "A4").output
    # Of 210 x 297 mm, in two columns and two rows; whole rectangles need no print.
    assert "sheet-outlines.pdf: 4 pages" in said
    pages = read_pages((shop / "paper" / "sheet-outlines.pdf").read_bytes())
    for page in pages:
        assert (page.width, page.height) == pytest.approx((210, 297), abs=0.01)
        assert len(page.straight(100.0)) >= 2, "the bars that show whether it is at actual size"
    text = " ".join(page.text for page in pages)
    assert "A7: lay the film on this outline, front side up" in text
    # On the paper there is at least as much of the outline as there is of it in the drawing.
    outline, _ = drawn_outline(shop / "run" / "amber-sheet-1-outline.svg")
    sides = {round(math.dist(a, b), 1) for a, b in _sides(outline)}
    drawn = {
        round(math.dist(a, b), 1)
        for page in pages
        for path in page.strokes
        for a, b in itertools.pairwise(path)
    }
    assert sides <= drawn


def _sides(outline: shapely.Polygon) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    rings = [list(ring.coords) for ring in (outline.exterior, *outline.interiors)]
    return [pair for ring in rings for pair in itertools.pairwise(ring)]
