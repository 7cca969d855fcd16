"""The published data that benchmarks read are whole, and files of their collections become such."""

import json
import math
import re
from pathlib import Path

import pytest
import shapely
from benchmarks.nesting import read_instance
from benchmarks.public_data import NotUnderstood, converted
from benchmarks.sheets import read_instance as read_sheets
from test_fill import PUBLISHED

from jobprep.geometry.measure import area

DATA = Path(__file__).parent / "benchmarks" / "data"
STRIPS = sorted((DATA / "irregular").glob("*.json"))
SHEETS = sorted((DATA / "sheets").glob("*.json"))
DEVELOPERS = Path(__file__).parents[1] / "DEVELOPERS.md"

XML = """<?xml version="1.0"?>
<nesting xmlns="http://globalnest.fe.up.pt/nesting"><problem>
<boards><piece id="board" quantity="1"><component idPolygon="b" type="0"/></piece></boards>
<lot>
<piece id="plate" quantity="3"><orientation><enumeration angle="180"/><enumeration angle="0"/>
</orientation><component idPolygon="p" type="0"/></piece>
</lot></problem><polygons>
<polygon id="b"><lines>
<segment n="1" x0="0" y0="0" x1="90" y1="0"/><segment n="2" x0="90" y0="0" x1="90" y1="7"/>
<segment n="3" x0="90" y0="7" x1="0" y1="7"/><segment n="4" x0="0" y0="7" x1="0" y1="0"/>
</lines></polygon>
<polygon id="p"><lines>
<segment n="2" x0="0" y0="2" x1="4" y1="0"/><segment n="1" x0="0" y0="0" x1="0" y1="2"/>
<segment n="3" x0="4" y0="0" x1="0" y1="0"/>
</lines></polygon></polygons></nesting>
"""

TSP = """NAME : eil51
COMMENT : two of its places, the dimension changed
TYPE : TSP
DIMENSION : 2
EDGE_WEIGHT_TYPE : EUC_2D
NODE_COORD_SECTION
1 37 52
2 4.9e1 49
EOF
"""


TWO_SHEETS = """3
1000 500
3 0 0 0 500 1000 500
3 0 0 1000 0 1000 500
4 0 0 1000 0 1000 500 0 500
"""
"""The first of the three runs clockwise; together they fill two sheets."""


def kept(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, "utf-8")
    return path


def test_the_strips_are_those_of_the_printed_table() -> None:
    row = r"^\| (\w+) \| ([\d.]+) \|(?: [01]\.\d{3} \|){4}$"
    told = dict(re.findall(row, DEVELOPERS.read_text("utf-8"), re.MULTILINE))
    strips = {path.stem: json.loads(path.read_text("utf-8")) for path in STRIPS}
    assert told == {name: f"{each['best_known']['density']:.2f}" for name, each in strips.items()}
    assert (DATA / "irregular" / "LICENSE").read_text("utf-8").startswith("Creative Commons")


@pytest.mark.parametrize("path", STRIPS, ids=lambda path: str(path.stem))
def test_a_strip_is_whole(path: Path) -> None:
    """Its total area is that of its items, by two ways; no best density is beyond what can be."""
    data, items = read_instance(path)
    by_shapely = sum(
        shapely.Polygon(each["outline"]).area * each["demand"] for each in data["items"]
    )
    by_us = sum(item.quantity * area(item.region) for item in items)
    assert by_shapely == pytest.approx(data["total_area"], rel=1e-9)
    assert by_us == pytest.approx(data["total_area"], rel=1e-9)
    assert 0.0 < data["best_known"]["density"] <= 100.0
    assert data["best_known"]["source"]
    assert data["licence"] == "CC0-1.0"


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: str(path.stem))
def test_pieces_for_several_sheets_are_whole(path: Path) -> None:
    """Those of an optimum that fills every sheet have the area of its sheets, by two ways."""
    data, instance = json.loads(path.read_text("utf-8")), read_sheets(path)
    by_shapely = sum(shapely.Polygon(piece).area for piece in data["pieces"])
    by_us = sum(item.quantity * area(item.region) for item in instance.items)
    width, height = data["sheet"]
    assert by_shapely == pytest.approx(data["optimum"] * width * height, rel=1e-9)
    assert by_us == pytest.approx(data["total_area"], rel=1e-9)
    assert by_us == pytest.approx(by_shapely, rel=1e-9)
    assert data["first"]
    assert data["licence"] == "CC0-1.0"


def test_radii_are_those_that_other_tests_quote() -> None:
    lines = (DATA / "circles" / "square.csv").read_text("utf-8").splitlines()[2:]
    radii = {int(line.split(",")[0]): float(line.split(",")[1]) for line in lines}
    assert sorted(radii) == list(range(1, 31))
    assert {n: radii[n] for n in PUBLISHED} == pytest.approx(PUBLISHED, rel=1e-11)
    least = (math.sqrt(6.0) - math.sqrt(2.0)) / 4.0  # of 23 points in the unit square, closed form
    assert radii[23] == pytest.approx(least / (2.0 * (1.0 + least)), rel=1e-13)


def test_a_nesting_xml_becomes_a_strip(tmp_path: Path) -> None:
    """By hand: three right triangles of 4 x 2 on a strip of height 7."""
    place, text = converted(kept(tmp_path, "plates.xml", XML))
    data = json.loads(text)
    assert place == Path("irregular", "plates.json")
    assert (data["strip_height"], data["total_area"]) == (7.0, 12.0)
    assert data["allowed_rotations_deg"] == [0.0, 180.0]
    (item,) = data["items"]
    assert (item["id"], item["demand"]) == ("plate", 3)
    assert shapely.Polygon(item["outline"]).equals(shapely.Polygon([(0, 0), (4, 0), (0, 2)]))
    assert shapely.LinearRing(item["outline"]).is_ccw
    read_instance(kept(tmp_path, "plates.json", text))


def test_a_tour_of_tsplib_becomes_one_with_its_optimum(tmp_path: Path) -> None:
    place, text = converted(kept(tmp_path, "any.tsp", TSP))
    assert place == Path("tsp", "eil51.json")
    assert json.loads(text) == {"name": "eil51", "optimum": 426, "coords": [[37, 52], [49, 49]]}


def test_pieces_for_several_sheets_become_an_instance_with_its_optimum(tmp_path: Path) -> None:
    """By hand: two triangles and a whole sheet fill two sheets of 1000 x 500."""
    path = kept(tmp_path, "two.txt", TWO_SHEETS)
    assert json.loads(converted(path)[1])["optimum"] is None
    kept(tmp_path, "Optwo.txt", f"2 2 1\n{TWO_SHEETS}")
    place, text = converted(path)
    data = json.loads(text)
    assert place == Path("sheets", "two.json")
    assert (data["optimum"], data["total_area"], data["sheet"]) == (2, 1e6, [1000.0, 500.0])
    assert [len(piece) for piece in data["pieces"]] == [3, 3, 4]
    assert all(shapely.LinearRing(piece).is_ccw for piece in data["pieces"])
    instance = read_sheets(kept(tmp_path, "two.json", text))
    assert instance.optimum == 2
    assert sum(item.quantity for item in instance.items) == 3


@pytest.mark.parametrize(
    ("optimum", "words"),
    [("2 2 2", "its optimum holds 4 of 3 pieces"), ("1 2", "its optimum holds 2 of 3 pieces")],
)
def test_an_optimum_of_other_pieces_is_refused(optimum: str, words: str, tmp_path: Path) -> None:
    kept(tmp_path, "Optwo.txt", optimum)
    with pytest.raises(NotUnderstood, match=re.escape(words)):
        converted(kept(tmp_path, "two.txt", TWO_SHEETS))


def test_a_list_of_radii_becomes_the_table(tmp_path: Path) -> None:
    place, text = converted(kept(tmp_path, "radius.txt", "2 0.2928\nN radius x\n1 0.5\n"))
    assert (place, text) == (Path("circles", "square.csv"), "n,radius\n1,0.5\n2,0.2928\n")


@pytest.mark.parametrize(
    ("name", "text", "words"),
    [
        ("a.xml", XML.replace('x1="4" y1="0"', 'x1="4" y1="1"'), "is not closed"),
        ("a.xml", XML.replace('idPolygon="p" type="0"', 'idPolygon="p" type="1"'), "without holes"),
        ("a.tsp", TSP.replace("EUC_2D", "GEO"), "only EUC_2D"),
        ("a.tsp", TSP.replace(": 2", ": 51"), "2 of 51 places"),
        ("a.tsp", TSP.replace("eil51", "pier9"), "no optimum of 'pier9'"),
        ("a.txt", TWO_SHEETS[:-4], "before its last piece"),
        ("a.txt", TWO_SHEETS + "3 0 0 1 0 1 1", "as many pieces as it says"),
        ("Opa.txt", TWO_SHEETS, "read beside a.txt"),
        ("a.txt", "1 0.7\n", "a radius of at most 0.5"),
        ("a.csv", "", "only .xml, .tsp and .txt"),
    ],
)
def test_what_is_not_understood_is_refused(
    name: str, text: str, words: str, tmp_path: Path
) -> None:
    with pytest.raises(NotUnderstood, match=re.escape(words)):
        converted(kept(tmp_path, name, text))
