"""Names that try to be more than names: they come back as text from every file that is written.

Each format is read back by a parser that shares no code with its writer, and holds the same
elements as the same job with tame names.
"""

from __future__ import annotations

import re
from html import unescape
from html.parser import HTMLParser
from io import StringIO
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import pytest
from commands import done
from pypdf import PdfReader

NASTY = (
    '</title></text><script>alert(1)</script><img src=x onerror="a">',
    "x) G0 X999 M3 S1000 (; M30 %",
    "]]>--><!ENTITY a 'b'>&amp;&lt;&#0; {0.__class__} {{7*7}} %s ${HOME}",
    "../../etc/x\\..\\con:\"'`$(touch x)`",
    "\u202egnp.exe\u2066 [red]bold[/] 0\\nEOF",
)

JOB = """\
format = 1
title = {0}
cutter = "bench-co2"
[[disc]]
design = "disc.toml"
[[part]]
name = {1}
film = "clear"
rectangle = {{ size = [20, 10] }}
[[stock]]
film = "clear"
label = {2}
size = [300, 200]
[nesting]
evaluations = 100
[prices]
currency = "<b>"
sheet = {{ clear = 2 }}
"""

DESIGN = """\
format = 1
name = {3}
outer_diameter = 60
bore = {{ diameter = 6 }}
speed_rpm = 600
hub_diameter = 30
[[layer]]
name = {4}
inner_diameter = 20
sector = [
  {{ film = "clear", degrees = 180, name = {1} }},
  {{ film = "none", degrees = 180 }},
]
"""


def quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def planned(folder: Path, names: tuple[str, ...]) -> Path:
    """Plan a job with these names in all formats; return the folder of the run."""
    folder.mkdir()
    texts = [quoted(name) for name in names]
    (folder / "job.toml").write_text(JOB.format(*texts), "utf-8")
    (folder / "disc.toml").write_text(DESIGN.format(*texts), "utf-8")
    out = folder / "runs" / "run"
    done("plan", folder / "job.toml", "--out", out, "--format", "dxf", "--format", "gcode")
    return out


@pytest.fixture(scope="module")
def runs(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Return the run of the nasty names and that of tame ones."""
    folder = tmp_path_factory.mktemp("harmless")
    tame = tuple(f"tame {'abcde'[number]}" for number in range(5))
    return planned(folder / "nasty", NASTY), planned(folder / "tame", tame)


class Elements(HTMLParser):
    """The tags, with the names of their attributes, and the words of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, tuple[str, ...]]] = []
        self.words = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, tuple(name for name, _ in attrs)))

    def handle_data(self, data: str) -> None:
        self.words += data


def shown(name: str) -> str:
    """Return a name as pages show it: what turns words round is replaced."""
    return re.sub("[\u202a-\u202e\u2066-\u2069]", "\N{REPLACEMENT CHARACTER}", name)


def test_nothing_is_written_outside_the_run(runs: tuple[Path, Path]) -> None:
    nasty, tame = runs
    for run in runs:
        beside = {path.name for path in run.parents[1].iterdir()}
        assert beside == {"job.toml", "disc.toml", "runs"}
        assert [path.name for path in run.parent.iterdir()] == ["run"]
    names = [sorted(path.name for path in run.iterdir()) for run in (nasty, tame)]
    assert names[0] == names[1]
    assert "clear.gcode" in names[0]


def test_drawing_has_the_same_elements_and_the_very_names(runs: tuple[Path, Path]) -> None:
    nasty, tame = (ElementTree.parse(run / "clear.svg").getroot() for run in runs)
    assert [(e.tag, list(e.attrib)) for e in nasty.iter()] == [
        (e.tag, list(e.attrib)) for e in tame.iter()
    ]
    titles = " ".join(e.text or "" for e in nasty.iter("{http://www.w3.org/2000/svg}title"))
    for name in (NASTY[0], NASTY[1], NASTY[3], NASTY[4]):
        assert name in titles


def test_page_has_the_same_elements_and_a_policy(runs: tuple[Path, Path]) -> None:
    nasty, tame = (Elements((run / "job-sheet.html").read_text("utf-8")) for run in runs)
    assert [tag for tag in nasty.tags if tag[0] in ("script", "img", "a", "iframe", "style")] == [
        tag for tag in tame.tags if tag[0] in ("script", "img", "a", "iframe", "style")
    ]
    assert {tag for tag, _ in nasty.tags} == {tag for tag, _ in tame.tags}
    assert {name for _, names in nasty.tags for name in names} == {
        name for _, names in tame.tags for name in names
    }
    for name in NASTY:
        assert shown(name) in nasty.words
    page = unescape((runs[0] / "job-sheet.html").read_text("utf-8"))
    assert "Content-Security-Policy" in page
    assert "default-src 'none'" in page


def test_dxf_has_the_same_entities_and_no_names(runs: tuple[Path, Path]) -> None:
    texts = [(run / "clear.dxf").read_text("utf-8") for run in runs]
    counts = []
    for text in texts:
        space = ezdxf.read(StringIO(text)).modelspace()
        counts.append([(entity.dxftype(), entity.dxf.layer) for entity in space])
    assert counts[0] == counts[1]
    assert "script" not in texts[0]


def test_machine_code_has_the_same_blocks_outside_comments(runs: tuple[Path, Path]) -> None:
    blocks = []
    for run in runs:
        text = (run / "clear.gcode").read_text("utf-8")
        assert text.isascii()
        for line in text.splitlines():
            assert re.fullmatch(r"\([^()]*\)|[^();%]*", line)
        blocks.append([line for line in text.splitlines() if not line.startswith("(")])
    assert blocks[0] == blocks[1]


def test_prints_say_the_names_and_hold_no_actions(runs: tuple[Path, Path]) -> None:
    found = []
    for run in runs:
        out = run.parents[1] / "prints"
        done("print", run.parents[1] / "job.toml", "--out", out)
        found.append(sorted(path.name for path in out.iterdir()))
        for path in out.iterdir():
            assert b"/JavaScript" not in path.read_bytes()
            reader = PdfReader(path)
            assert "/OpenAction" not in reader.trailer["/Root"]
            assert all("/Annots" not in page for page in reader.pages)
    assert found[0] == found[1]
    assert found[0]
    words = "".join(
        page.extract_text()
        for path in (runs[0].parents[1] / "prints").iterdir()
        for page in PdfReader(path).pages
    )
    assert "<script>" in re.sub(r"\s", "", words)


@pytest.mark.parametrize("suffix", ["svg", "pdf"])
def test_label_of_a_piece_with_nasty_words(suffix: str, tmp_path: Path) -> None:
    stock = tmp_path / "stock.toml"
    words = ("--shelf", NASTY[0], "--origin", NASTY[1], "--remark", NASTY[2])
    done("stock", "add", "clear", "--stock", stock, *words)
    out = tmp_path / f"label.{suffix}"
    done("stock", "label", "clear-1", "--stock", stock, "--out", out)
    if suffix == "svg":
        tags = {element.tag.rpartition("}")[2] for element in ElementTree.parse(out).iter()}
        assert not tags & {"script", "img", "image", "foreignObject", "a"}
    else:
        assert len(PdfReader(out).pages) == 1
    page = tmp_path / "stock.html"
    done("stock", "list", "--stock", stock, "--html", page)
    read = Elements(page.read_text("utf-8"))
    assert not {tag for tag, _ in read.tags} & {"script", "img"}
    assert NASTY[0] in read.words


def test_record_that_names_a_way_out_is_refused(runs: tuple[Path, Path], tmp_path: Path) -> None:
    text = (runs[1] / "run.toml").read_text("utf-8")
    bad = tmp_path / "run.toml"
    bad.write_text(text.replace('"clear"', '"../../clear"').replace("films.clear", 'films."../x"'))
    result = done("recut", bad, "--out", tmp_path / "again", code=2)
    assert "cannot name a film" in result.output
    assert [path.name for path in tmp_path.iterdir()] == ["run.toml"]


def test_book_does_not_follow_a_record_out_of_its_place(
    runs: tuple[Path, Path], tmp_path: Path
) -> None:
    away = tmp_path / "away"
    away.mkdir()
    run = tmp_path / "shop" / "run"
    run.mkdir(parents=True)
    text = (runs[1] / "run.toml").read_text("utf-8")
    (run / "run.toml").write_text(
        re.sub(r'(?m)^origin = ".*"$', f'origin = "{away}"', text, count=1)
    )
    words = ("--stock", tmp_path / "stock.toml", "--spoiled", "1")
    done("stock", "book", run, *words)
    assert list(away.iterdir()) == []
    assert (tmp_path / "shop" / "run-recut.toml").exists()
