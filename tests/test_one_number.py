"""A piece has one number: engraved in its cut drawing, drawn on the page, listed in the tables.

What is engraved is read as an eye reads it (``engraved_digits``), what the page draws from its SVG,
and each is looked up by where it lies on the sheet.
"""

import json
import re
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
import shapely
from commands import done
from engraved_digits import Engraved, engraved_pieces, number_of

from jobprep.disc.stroke_font import number_paths
from jobprep.geometry.flatten import flatten_path

DESIGN = """\
format = 1
name = "Lamp {number}"
outer_diameter = 100.0
bore = {{ diameter = 6.35 }}
hub_diameter = 30.0
speed_rpm = 600
[[hole]]
name = "index"
diameter = 3
radius = 45
angle = 10
[[layer]]
name = "front"
film = "clear"
[[layer]]
name = "colour"
inner_diameter = 12.0
sector = [
  {{ film = "amber", degrees = {first} }},
  {{ film = "green", degrees = 140 }},
  {{ film = "amber", share = 1 }},
]
[[layer]]
name = "back"
film = "clear"
"""

JOB = """\
format = 1
title = "Lamps"
cutter = "bench-co2"
[nesting]
evaluations = 20
"""

ANGLES = (100, 95, 90, 85)


class Shown(HTMLParser):
    """What the page tells: the texts of the sheets' pictures with their places, rows of tables."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.files: dict[str, list[tuple[str, float, float]]] = {}
        self.rows: list[list[str]] = []
        self.said: list[str] = []
        self.inside: list[str] = []
        self.file = ""
        self.at = (0.0, 0.0, 0.0)
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag in ("br", "col", "input", "meta"):  # which have no end
            return
        self.inside.append(tag)
        if tag == "tr":
            self.rows.append([])
        elif tag in ("th", "td"):
            self.rows[-1].append("")
        elif tag == "text":
            told = dict(attrs)
            x, y, size = (float(told.get(key) or 0.0) for key in ("x", "y", "font-size"))
            self.at = (x, y, size)

    def handle_endtag(self, tag: str) -> None:
        assert self.inside.pop() == tag
        if tag == "figure":
            self.file = ""

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Nothing stands in it."""

    def handle_data(self, data: str) -> None:
        self.said.append(data)
        where = self.inside[-1] if self.inside else ""
        if where == "b" and "figcaption" in self.inside and data.endswith(".svg"):
            self.file = data
            self.files[data] = []
        elif where == "text" and self.file:
            x, y, size = self.at
            # The letters' middle; y counts downwards from the sheet's lower left corner.
            self.files[self.file].append((data, x, -y + 0.35 * size))
        elif {"th", "td"} & set(self.inside):
            self.rows[-1][-1] += data


@pytest.fixture(autouse=True)
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    job = JOB
    for number, first in enumerate(ANGLES, start=1):
        name = f"lamp-{number}.toml"
        (tmp_path / name).write_text(DESIGN.format(number=number, first=first))
        job += f'[[disc]]\ndesign = "{name}"\ncopies = {3 - number % 2}\n'
    (tmp_path / "job.toml").write_text(job)
    return tmp_path


def assert_one_number(run: Path, n_marked: int) -> dict[str, list[Engraved]]:
    """Hold page, tables and drawings of a run against each other; return the pieces by number."""
    page = Shown((run / "job-sheet.html").read_text())
    by_number: dict[str, list[Engraved]] = {}
    for file, labels in page.files.items():
        pieces = engraved_pieces((run / file).read_text())
        numbers = [(text, shapely.Point(x, y)) for text, x, y in labels if text != "leftover"]
        assert len(numbers) == len(pieces)
        for text, at in numbers:
            (piece,) = (each for each in pieces if each.shape.contains(at))
            assert piece.number in ("", text), f"{piece.title}: engraved {piece.number}"
            assert piece.title.startswith(f"{text} ")
            by_number.setdefault(text, []).append(piece)
    listed = {row[0]: row for row in page.rows if len(row) >= 5 and row[0] in by_number}
    assert set(listed) == set(by_number)
    for number, pieces in by_number.items():
        assert listed[number][3] == str(len(pieces))
        assert {f"{number} {listed[number][1]}"} == {
            each.title.rpartition(", copy")[0] for each in pieces
        }
    marked = [number for number, own in by_number.items() if all(each.number for each in own)]
    assert len(marked) == n_marked
    assert not [own for own in by_number.values() if len({each.number for each in own}) > 1]
    return by_number


def test_the_number_on_the_page_is_the_one_engraved(shop: Path) -> None:
    done("plan", "job.toml", "--out", "run")
    found = assert_one_number(shop / "run", n_marked=12)
    assert set(found) == set(map(str, range(1, 21)))
    told = json.loads(done("check", "job.toml", "--json").output)["parts"]
    assert {str(part["number"]): part["copies"] for part in told} == {
        number: len(own) for number, own in found.items()
    }


def test_the_picture_of_a_disc_names_its_pieces_by_their_numbers(shop: Path) -> None:
    """A sector's area tells its angle: that of an annular sector of radii 6 and 50 mm."""
    done("plan", "job.toml", "--out", "run")
    found = assert_one_number(shop / "run", n_marked=12)
    text = (shop / "run" / "job-sheet.html").read_text()
    labels = re.findall(r">(\d+) (amber|green)</text><text[^>]*>([\d.]+)°<", text)
    assert len(labels) == 12
    for number, film, angle in labels:
        degrees = found[number][0].shape.area / (0.5 * (50.0**2 - 6.0**2)) * 57.29578
        assert degrees == pytest.approx(float(angle), rel=0.02)
        assert film in found[number][0].title
    page = Shown(text)
    timed = [row[0] for row in page.rows if row and re.fullmatch(r"\d+ (amber|green)", row[0])]
    assert Counter(timed) == Counter(f"{number} {film}" for number, film, _ in labels)
    said = " ".join(page.said)
    assert not re.search(r"\b\d\.\d (amber|green|open)", said)
    assert not re.search(r"sector \d\.\d", said)
    for number in re.findall(r"m r ω² on part (\d+) ", said):
        assert number in found


def test_a_recut_and_spoiled_parts_keep_the_number(shop: Path) -> None:
    done("plan", "job.toml", "--out", "run")
    before = assert_one_number(shop / "run", n_marked=12)
    done("recut", "run", "--kerf", "amber=0.3", "--only", 14, "--only", 7, "--out", "some")
    some = assert_one_number(shop / "some", n_marked=2)
    assert {number: len(own) for number, own in some.items()} == {
        number: len(before[number]) for number in ("7", "14")
    }
    done("stock", "book", "run", "--spoiled", "19=2", "--spoiled", 13, "--spoiled", 20)
    done("plan", "run-recut.toml", "--out", "again")
    again = assert_one_number(shop / "again", n_marked=2)
    assert {number: len(own) for number, own in again.items()} == {"19": 2, "13": 1, "20": 1}
    done("stock", "book", "again", "--spoiled", 19, "--spoiled-job", "third.toml")
    assert "number = 19" in (shop / "third.toml").read_text()


def test_the_eye_tells_every_digit() -> None:
    """What the program draws is read back, digits beside each other and underlined ones too."""
    for number in (*range(1, 100), 1234567890):
        paths = number_paths(number, 3.0)
        drawn = [[*flatten_path(path, 0.01), path[-1].end] for path in paths]
        width = max(x for stroke in drawn for x, _ in stroke)
        strokes = [
            np.array([complex(x - width / 2.0, 40.0 + y) for x, y in stroke]) for stroke in drawn
        ]
        tick = np.array([-9.0 + 39.0j, -9.5 + 43.0j])
        assert number_of([tick, *strokes], 0j) == str(number)
