"""Every reader of the program: files to begin with, how to change one, and what reads it."""

from __future__ import annotations

import io
import json
import random
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

from files.sample_job import DESIGN, JOB
from fuzz.bounded import bounded
from fuzz.mutations import (
    mutated_bytes,
    mutated_journal,
    mutated_png,
    mutated_record,
    mutated_svg,
    mutated_text,
    with_checksums,
)

from jobprep.errors import InputError, JobprepError

ROOT = Path(__file__).parents[2]
MOST_MESSAGE = 2500
"""Characters of the longest sentence: one that lists every field of a table."""

Mutate = Callable[[bytes, random.Random], bytes]


@dataclass(frozen=True, slots=True, kw_only=True)
class Target:
    """A reader: the name of its file, the bytes to begin with, and what reads the file.

    ``whole`` makes right what a change leaves wrong in any file of this kind, so that the change
    itself is looked at.
    """

    file: str
    seeds: Callable[[], list[bytes]]
    mutate: Mutate
    read: Callable[[Path], object]
    beside: Callable[[], dict[str, bytes]] = dict
    whole: Callable[[bytes], bytes] = bytes


def check_reads_or_refuses(target: Target, data: bytes, folder: Path) -> None:
    """Read a file; all that may come of it, within bounded time, are values or sentences."""
    path = placed(target, data, folder)
    try:
        with bounded():
            target.read(path)
    except InputError as error:
        assert error.problems
        for problem in error.problems:
            assert problem.place.file
            assert problem.message.strip()
            assert str(problem).isprintable()
            assert len(str(problem)) < MOST_MESSAGE
    except JobprepError as error:
        assert str(error).strip()


def placed(target: Target, data: bytes, folder: Path) -> Path:
    """Write a file, and what is to lie beside it, into a folder; return its path."""
    for name, content in {**target.beside(), target.file: data}.items():
        place = folder / name
        if place.is_file() and place.read_bytes() == content:
            continue
        place.parent.mkdir(parents=True, exist_ok=True)
        place.unlink(missing_ok=True)  # some disks wait for one that is cut short and filled again
        place.write_bytes(content)
    return folder / target.file


def _texts(*globs: str) -> Callable[[], list[bytes]]:
    @cache
    def read() -> list[bytes]:
        return [path.read_bytes() for glob in globs for path in sorted(ROOT.glob(glob))]

    return read


def _text(*snippets: str) -> Mutate:
    def mutate(data: bytes, chance: random.Random) -> bytes:
        text = data.decode("utf-8", "surrogateescape")
        changed = mutated_text(text, chance, snippets)
        return changed.encode("utf-8", "surrogateescape")

    return mutate


def _svg(data: bytes, chance: random.Random) -> bytes:
    text = data.decode("utf-8", "surrogateescape")
    return mutated_svg(text, chance, SVG_SNIPPETS).encode("utf-8", "surrogateescape")


def _edited_record(data: bytes, chance: random.Random) -> bytes:
    """Change a record as text, or as one does who knows what its values mean."""
    text = data.decode("utf-8", "surrogateescape")
    if chance.random() < 0.5:
        changed = mutated_text(text, chance, ("film = 3", "[job]", "x = 1"))
    else:
        changed = mutated_record(text, chance)
    return changed.encode("utf-8", "surrogateescape")


def _journal(data: bytes, chance: random.Random) -> bytes:
    text = data.decode("utf-8", "replace")
    return mutated_journal(text, chance, ("settled", "{}", "[]", '{"action":1}')).encode()


def _image(data: bytes, chance: random.Random) -> bytes:
    is_png = data.startswith(b"\x89PNG")
    return (mutated_png if is_png and chance.random() < 0.7 else mutated_bytes)(data, chance)


def _check(path: Path) -> object:
    from jobprep.pipeline import check

    return check(path)


def _design(path: Path) -> object:
    from jobprep.disc.build_parts import disc_parts
    from jobprep.files.design.design import design_text
    from jobprep.pipeline import read_disc

    design, _ = read_disc(path)
    design_text(design)
    return disc_parts(design)


EDITS: list[dict[str, object]] = [
    {"do": "set", "at": "layer[2].joint_gap", "value": 0.2},
    {"do": "move separation", "layer": 2, "after": 1, "angle": 62.5},
    {"do": "split sector", "layer": 2, "sector": 1, "at": 12},
    {"do": "merge sectors", "layer": 2, "after": 2},
    {"do": "recolour", "layer": 2, "sector": 1, "film": "red"},
    {"do": "sectors", "layer": 1, "films": ["red", "?", "none"]},
    {"do": "add hole", "name": "b", "diameter": 2, "radius": 20, "angle": 4.5},
    {"do": "add layer", "name": "c", "film": "?", "before": 1},
    {"do": "move layer", "layer": 1, "to": 2},
    {"do": "remove layer", "layer": 1},
    {"do": "remove hole", "hole": 1},
]


def _edited(path: Path) -> object:
    """Show a design and try every edit on what the earlier ones have left of it."""
    from jobprep.workbench.design_file import edited_design
    from jobprep.workbench.design_view import opened
    from jobprep.workbench.document import Document

    raw = path.read_bytes()
    for edit in EDITS:
        json.dumps(opened("design.toml", path, Document(raw)), allow_nan=False)
        try:
            raw = edited_design(path, raw, [edit])
        except JobprepError as error:
            assert str(error).strip()
    return raw


def _edits(path: Path) -> object:
    """Take a file for what a page sends, and edit a design by it."""
    from jobprep.workbench.declared import EditRequest, asked
    from jobprep.workbench.design_file import edited_design

    try:
        edits = json.loads(path.read_bytes())
    except (ValueError, RecursionError):
        raise InputError.of(path, "not JSON") from None
    request = asked(EditRequest, {"path": "lamp.toml", "digest": "0" * 64, "edits": edits})
    return edited_design(path.with_name("lamp.toml"), DESIGN.encode(), request.edits)


def _machine(path: Path) -> object:
    from jobprep.disc.facts import disc_facts
    from jobprep.files.design.design import design_text
    from jobprep.pipeline import read_disc

    design, films = read_disc(path.with_name("beacon.toml"))
    return design_text(design), disc_facts(design, films)


def _film(path: Path) -> object:
    from jobprep.files.materials.film import read_film

    return read_film(path)


def _curves() -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in (ROOT / "materials" / "films").glob("*.csv")}


def _film_of_curve(path: Path) -> object:
    """Read a film whose curve stands in a file beside it."""
    return _film(path.with_name("curved.toml"))


def _lamp(path: Path) -> object:
    from jobprep.files.materials.lamp import read_lamp

    return read_lamp(path)


def _cutter(path: Path) -> object:
    from jobprep.files.materials.cutter import read_cutter

    return read_cutter(path)


def _ledger(path: Path) -> object:
    from jobprep.files.ledger.ledger import ledger_text
    from jobprep.files.ledger.on_disk import history, read_ledger
    from jobprep.stock.ledger import with_ledger

    ledger = read_ledger(path.with_name("stock.toml"))
    ledger_text(ledger)
    history(path.with_name("stock.toml"))
    return with_ledger, ledger


def _run(path: Path) -> object:
    from jobprep.runs.cut_run import cut_run
    from jobprep.runs.recorded_run import changed_inputs, recorded_run
    from jobprep.runs.recut import RecutWishes, recut
    from jobprep.runs.spoiled import spoiled_job
    from jobprep.runs.text import read_run, write_run

    read_run(path)  # a command takes a folder of this name for a run's
    record = recorded_run(path).record
    write_run(record)
    list(changed_inputs(record, path))
    spoiled_job(record, {part.number: 1 for part in record.parts}, "again")
    cut_run(record, "0" * 64)
    return recut(record, RecutWishes(same_nest=True))  # no search, which may be asked to take a day


def _printer(path: Path) -> object:
    from jobprep.files.materials.printer import read_printer

    return read_printer(path)


def _points(path: Path) -> object:
    from jobprep.files.measurements.points import read_points
    from jobprep.measuring.points import measure_points
    from jobprep.measuring.write_design import design_text

    return design_text(measure_points(read_points(path)))


def _corrections(path: Path) -> object:
    from jobprep.files.measurements.corrections import read_corrections

    return read_corrections(path)


def _kerf(path: Path) -> object:
    from jobprep.files.measurements.readings import read_readings
    from jobprep.measuring.kerf import doubts, fit_kerfs, refusals

    fits = fit_kerfs(read_readings(path).readings)
    return list(refusals(fits)), list(doubts(fits))


def _outline(path: Path) -> object:
    from jobprep.geometry.read_outline import read_outline

    return read_outline(path)


def _artwork(path: Path) -> object:
    from jobprep.printing.artwork import read_figure

    return read_figure(path, 50.0)


def _picture(path: Path) -> object:
    from jobprep.measuring.picture import read_picture

    return read_picture(path)


SVG = b"""<?xml version="1.0"?>
<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"
 width="80mm" height="60mm" viewBox="0 0 80 60">
<style>.a { stroke: #f00; fill: none } .b { rx: 2px; transform-origin: 30% top } path { scale: 1.1
</style><style>.off { display: none } rect.b { rotate: 20deg; transform-box: fill-box }</style>
<defs><circle id="hole" r="2"/>
<symbol id="s" viewBox="0 0 2 2"><rect width="1" height="1"/></symbol></defs>
<g transform="translate(2 3) rotate(10)" class="a">
<path d="M5,5 h40 v30 a8,8 0 0 1 -8,8 q-8,4 -16,0 C15,43 5,40 5,30 z"/>
<use xlink:href="#hole" x="15" y="15"/>
<ellipse cx="30" cy="20" rx="6" ry="3" transform="matrix(1 .1 0 1 0 0)"/>
<polygon points="12,25 16,25 14,29"/>
<rect class="b" x="20" y="28" width="9" height="6" rx="1"/>
<svg id="v" x="12" y="10" width="5" height="5" viewBox="0 0 50 50" overflow="visible">
<circle style="r: 10%; cx: 25px; translate: 1mm" cy="25"/></svg>
<text class="off">A7</text>
</g>
</svg>
"""
FILLED = SVG.replace(b"stroke: #f00; fill: none", b"fill: #f00")
SVG_SNIPPETS = (
    *('<use href="#s"/>', '<use href="#hole" x="1e300"/>', '<g id="hole">', "</g>", "<g>"),
    *('<path d="M0 0 A1e9 1 0 1 1 5 5 z"/>', '<path d="M0 0C1e308 0 0 1e308 3 3z"/>', "<text/>"),
    *('<image href="file:///etc/hosts"/>', "<script>1</script>", '<!DOCTYPE a [<!ENTITY b "c">]>'),
    *('<circle r="1e12" cx="-1e12"/>', '<rect width="3" height="3" rx="nan"/>', "<![CDATA["),
    *('<line x1="1e999" x2="0"/>', '<polyline points="1,2,3"/>', '<g transform="scale(0)"/>'),
    *('<style>@import "a.css";</style>', "<style>.a { zoom: 3 }</style>", '<svg viewBox="0 0 1">'),
    *('<path d="m0,0 t1,1 s1,1,1,1 z z z"/>', '<path d="z"/>', '<path d="M"/>', "<!-- -->"),
)  # fmt: skip


@cache
def _dxf() -> list[bytes]:
    import ezdxf
    from ezdxf import options

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True  # else the time and random numbers are in it
    document = ezdxf.new("R2010")
    document.header["$INSUNITS"] = 4
    space = document.modelspace()
    space.add_lwpolyline([(0, 0, 0.3), (40, 0, 0), (40, 30, 0.2), (0, 30, 0)], "xyb", close=True)
    space.add_circle((10, 10), 3)
    space.add_ellipse((25, 15), (5, 0), 0.5)
    block = document.blocks.new("dot")
    block.add_circle((0, 0), 1)
    space.add_blockref("dot", (30, 22), {"xscale": 1.5, "rotation": 20})
    space.add_open_spline([(5, 20), (9, 20), (9, 25), (5, 25), (5, 20)])
    space.add_line((30, 10), (34, 10))
    space.add_arc((32, 10), 2, 0, 180)
    space.add_polyline2d([(16, 20, 0, 0, 1), (18, 20, 0, 0, 1)], format="xyseb", close=True)
    texts = []
    for version in ("R2010", "R12"):
        document.dxfversion = version
        text = io.StringIO()
        document.write(text)
        texts.append(text.getvalue().encode())
    options.write_fixed_meta_data_for_testing = before
    start = texts[0].index(b"ENTITIES")
    small = b"  0\nSECTION\n  2\n" + texts[0][start:]
    return [*texts, small]


DXF_SNIPPETS = (
    *("  0\nINSERT\n  2\ndot\n 70\n30000\n 71\n30000\n 44\n1\n 45\n1", "  0\nENDSEC", " 40\nnan"),
    *("  0\nLINE", "  0\nSPLINE\n100\nAcDbSpline\n 71\n3", " 42\n1e308", "210\n1\n220\n0\n230\n0"),
    *("  0\nTEXT", "  0\nHATCH", "  0\nVERTEX", " 10\n1e308", "  5\nFFFFFFFFFFFFFFFFFF", " 70\n-1"),
)


@cache
def _pictures() -> list[bytes]:
    from PIL import Image, ImageDraw

    small = Image.new("RGB", (120, 110), "white")
    ImageDraw.Draw(small).ellipse((10, 10, 100, 100), fill="red", outline="black")
    kinds = (("PNG", "RGB"), ("PNG", "P"), ("PNG", "LA"), ("PNG", "I;16"), ("JPEG", "RGB"),
             ("TIFF", "RGB"), ("TIFF", "F"), ("GIF", "P"), ("BMP", "RGB"))  # fmt: skip
    found = []
    for format_, mode in kinds:
        stream = io.BytesIO()
        grey = small.convert("L")
        image = grey.convert(mode) if mode in ("I;16", "F", "LA") else small.convert(mode)
        exif = small.getexif()
        exif[274] = 6
        extra = {"exif": exif} if format_ in ("PNG", "JPEG", "TIFF") else {}
        image.save(stream, format_, **extra)
        found.append(stream.getvalue())
    return found


CSV_POINTS = b"""# lens wheel
kind,x,y,label
y,down
rim,1080,500
rim,600,20
rim,120,500
rim,600,980
rim,940,160
bore,610,500
bore,600,490
bore,590,500
separation,600,100,amber
separation,1000,500,green
hole,600,900,index
scale,10,10,120
scale,970,10,120
diameter,120
reading,0.5
"""
TOML_POINTS = b"""format = 1
name = "wheel"
diameter = 120
y = "up"
rim = [[1080, 500], [600, 20], [120, 500], [600, 980]]
zero = [600, 20]
[separation]
amber = [[600, 100], [600, 150]]
green = [[1000, 500]]
[hole]
index = [[600, 900]]
[[scale]]
points = [[0, 0], [100, 0]]
distance = 12.5
"""
MORE_POINTS = b"""bore = [[610, 500], [600, 490], [590, 500]]
inner = [[700, 500], [600, 400], [500, 500]]
outer = [[1000, 500], [600, 100], [200, 500]]
reading = 0.5
reference = [
  { at = [600, 500], mm = [0, 0] },
  { at = [1080, 500], mm = [60, 0] },
  { at = [600, 20], mm = [0, 60] },
  { at = [120, 20], mm = [-60, 60] },
]
[separation]"""
REFERENCES = b"""y,down
reference,0,0,0 0
reference,100,0,10 0
reference,100,100,10 10
reference,0,100,0 10
rim,50,0
rim,0,50
rim,100,50
"""
CORRECTIONS = b"""format = 1
diameter = 120
zero = 90
white = [3, 4]
white_reflects = 0.5
rim = [[0, 1], [1, 0], [2, 1], [1, 2], [0.3, 0.3]]
bore = [[3, 1], [4, 2], [5, 1]]
scan = 300
light = "behind"
add_edges = [10, 20]
hold_edges = [40]
sure_edges = [50]
remove_edges = [30]
remove_holes = true
no_holes = [[7, 8]]
add_holes = [[7, 9, 2]]
"""
KERF_CSV = b"""kind;along;drawn;reading;strips;ends;enters;refuses;sense
film;amber
plus_minus;0,02
comb;x;80;78,71;8;cut
piece;x;100;99,84
fit;y;;;;;14;16
width;y;;0,16;;;;;full
slot;y;20;20,16
"""
KERF_TOML = b"""format = 1
film = "amber"
cutter = "bench-co2"
plus_minus = 0.02
[[comb]]
along = "x"
strips = 8
drawn = 80
readings = [78.71, 78.74, 78.70]
[[piece]]
along = "x"
drawn = 100
readings = [99.84, 99.85]
[[slot]]
along = "y"
drawn = 20
readings = [20.16]
[[fit]]
along = "y"
enters = 14
refuses = 16
[[width]]
along = "y"
sense = "edge"
readings = [0.08]
"""
PRINTER = b"format = 1\nscale_x = 1.0042\nscale_y = 0.998\n"


@cache
def _stock() -> dict[str, bytes]:
    """Return a ledger and its journal after a few changes."""
    import datetime
    import tempfile

    from jobprep.files.ledger.on_disk import change_ledger, undo_last
    from jobprep.model import rectangle_points
    from jobprep.stock.ledger import Piece, with_new_pieces

    day = datetime.date(2026, 3, 1)
    corners = ((0.0, 0.0), (90.0, 0.0), (90.0, 50.0), (0.0, 60.0))
    spot = ((20.0, 20.0), (30.0, 20.0), (30.0, 30.0))
    pieces = [
        Piece(id="", film="amber", kind="leftover", outline=corners, defects=(spot,), added=day),
        Piece(id="", film="clear", kind="sheet", outline=rectangle_points(508.0, 610.0), added=day,
              count=3, price=4.5),
    ]  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "stock.toml"
        for _ in range(3):
            change_ledger(
                path, "add", "added", day, lambda ledger, _: with_new_pieces(ledger, pieces)
            )
        undo_last(path, day)
        return {name: (Path(folder) / name).read_bytes() for name in (path.name, JOURNAL)}


JOURNAL = "stock.toml.journal"


@cache
def _record() -> list[bytes]:
    """Return the record of a small run, made without a search, in format 1 and as it is today.

    A third one is made in the light of a lamp, through films with curves.
    """
    from jobprep.model import Machine
    from jobprep.model.spectrum import Lamp, Spectrum, Transmission
    from jobprep.runs.text import read_run, write_run

    path = Path(__file__).with_name("run.toml")
    record = read_run(path)
    curve = Spectrum((380.0, 555.5, 780.0), (0.1, 0.6, 0.9))
    films = {
        name: replace(film, transmission=Transmission(curve=curve), refractive_index=1.6)
        for name, film in record.job.films.items()
    }
    machine = Machine(sensor=0.0, lamp=Lamp(name="quay", title="Quay lamp", spectrum=curve))
    discs = tuple(
        replace(order, design=replace(order.design, machine=machine)) for order in record.job.discs
    )
    lit = replace(record, job=replace(record.job, films=films, discs=discs))
    return [path.read_bytes(), write_run(record).encode(), write_run(lit).encode()]


EVERY = {path.name: path.read_bytes() for path in Path(__file__).with_name("every_field").iterdir()}
"""Files in which every field that holds a number stands: a job and what it names."""

PALE = "materials/films/pale.toml"


def _with_units(design: bytes) -> bytes:
    """Return a design with some lengths written with their units."""
    for plain, written in (
        (b"= 90.0", b'= "9 cm"'),
        (b"= 41.0", b'= "1 5/8 in"'),
        (b"joint_gap = 0.1", b'joint_gap = "0.1 mm"'),
    ):
        assert plain in design
        design = design.replace(plain, written)
    return design


_TOML = _text("film = 3", "[[layer]]", "[kerf]", "name = 1", "a.b.c = 1", "[[stock]]", "[[part]]")

CURVE = b"""nm,transmission
380,0.01
400,0.02
550.5,0.85
780,0.9
"""

_CURVED = EVERY["pale.toml"].replace(b"[[sheet]]", b'transmission = "curve.csv"\n[[sheet]]', 1)

_NAMING_IT = b"""format = 1
name = "Beacon"
outer_diameter = 90
machine_file = "stand.toml"
[[layer]]
name = "light"
sector = [{ film = "red", degrees = 90 }, { film = "black", share = 1 }]
"""


def _own_machine() -> bytes:
    """Return the machine of the design with every field as a file of its own."""
    machine = EVERY["bell.toml"].partition(b"[machine]\n")[2]
    return b"format = 1\n" + machine.replace(b"[[machine.", b"[[")


TARGETS = {
    "job": Target(
        file="job.toml",
        seeds=lambda: [JOB.encode(), EVERY["job.toml"], *_texts("examples/*/job.toml")()],
        mutate=_text(
            *("[[part]]", 'drawing = "drawing.svg"', "ring = { outer_diameter = 9 }", "[cutting]"),
            *('web = "shared"', "tabs = { count = 3 }", "[leftovers]", "cut_trim = true"),
            *('shape = "trim"', "[[stock]]", "lead_in = 2", "copies = 3"),
        ),
        read=_check,
        beside=lambda: {
            "pier.toml": DESIGN.encode(),
            "drawing.svg": SVG,
            PALE: EVERY["pale.toml"],
            **{name: EVERY[name] for name in ("bell.toml", "bench.toml", "waves.svg")},
        },
    ),
    "design": Target(
        file="design.toml",
        seeds=lambda: [
            DESIGN.encode(),
            EVERY["bell.toml"],
            _with_units(EVERY["bell.toml"]),
            EVERY["bell.toml"].replace(
                b"diameter = 8, key_width = 2, key_depth = 1", b"square = 6"
            ),
            *_texts("examples/0[1-3]*/[!j]*.toml", "examples/05*/[!j]*.toml")(),
        ],
        mutate=_text(
            *("joint_gap = -3", "marks = { height = 9 }", "bore = { square = 5 }", "[[hole]]"),
            *("bore = { diameter = 6, flat = 5 }", "[[layer]]", "[[layer.opening]]", "[[dot]]"),
            *("bore = { diameter = 6, key_width = 2, key_depth = 1 }", "count = 360"),
        ),
        read=_design,
        beside=lambda: {PALE: EVERY["pale.toml"]},
    ),
    "edited": Target(
        file="design.toml",
        seeds=lambda: [
            EVERY["bell.toml"],
            _with_units(EVERY["bell.toml"]),
            *_texts("examples/0[1-3]*/[!j]*.toml")(),
        ],
        mutate=_text("bore.diameter = 6", "[[layer.opening]]", "# here", "share = 1", "ms = 2"),
        read=_edited,
        beside=lambda: {PALE: EVERY["pale.toml"]},
    ),
    "edits": Target(
        file="edits.json",
        seeds=lambda: [json.dumps([edit]).encode() for edit in EDITS],
        mutate=_text('"layer": -1', '"angle": 1e400', "null", "[[]]", '"at": "layer[1].sector"'),
        read=_edits,
    ),
    "machine": Target(
        file="stand.toml",
        seeds=lambda: [_own_machine(), *_texts("examples/*/machines/*.toml")()],
        mutate=_text("[[window]]", 'rotation = "clockwise"', "diameter = 9", "flashes_hz = [2]"),
        read=_machine,
        beside=lambda: {"beacon.toml": _NAMING_IT},
    ),
    "film": Target(
        file="amber.toml",
        seeds=lambda: [EVERY["pale.toml"], *_texts("materials/films/*.toml")()],
        mutate=_TOML,
        read=_film,
        beside=_curves,
    ),
    "curve": Target(
        file="curve.csv",
        seeds=lambda: [CURVE, CURVE.replace(b",", b";").replace(b".", b",")],
        mutate=_text("nm,transmission", "500,0.5", "500;0,5", "780,1e-9", "# read off", "nan,nan"),
        read=_film_of_curve,
        beside=lambda: {"curved.toml": _CURVED},
    ),
    "lamp": Target(
        file="quay.toml",
        seeds=_texts("materials/lamps/*.toml"),
        mutate=_text('kind = "led"', "colour_temperature_k = 3000", 'illuminant = "E"'),
        read=_lamp,
    ),
    "cutter": Target(
        file="bench.toml",
        seeds=lambda: [EVERY["bench.toml"], *_texts("materials/cutters/*.toml")()],
        mutate=_TOML,
        read=_cutter,
    ),
    "ledger": Target(
        file="stock.toml",
        seeds=lambda: [_stock()["stock.toml"]],
        mutate=_text("[[piece]]", "[[booked]]", "[next_number]", "count = 2", "outline = [[0, 0]]"),
        read=_ledger,
        beside=lambda: {JOURNAL: _stock()[JOURNAL]},
    ),
    "journal": Target(
        file=JOURNAL,
        seeds=lambda: [_stock()[JOURNAL]],
        mutate=_journal,
        read=_ledger,
        beside=lambda: {"stock.toml": _stock()["stock.toml"]},
        whole=with_checksums,
    ),
    "run": Target(file="run.toml", seeds=_record, mutate=_edited_record, read=_run),
    "printer": Target(file="p.toml", seeds=lambda: [PRINTER], mutate=_TOML, read=_printer),
    "points-csv": Target(
        file="points.csv",
        seeds=lambda: [CSV_POINTS, REFERENCES],
        mutate=_text(
            "bore,1,2", "y,up", "zero,1,2", "scale,1,2,3", "inner;1;2", "reference,1,2,1 2"
        ),
        read=_points,
    ),
    "points-toml": Target(
        file="points.toml",
        seeds=lambda: [TOML_POINTS, TOML_POINTS.replace(b"[separation]", MORE_POINTS)],
        mutate=_text("bore = [[1, 2]]", "[hole]", "[[reference]]", "at = [0, 0]", "mm = [0, 0]"),
        read=_points,
    ),
    "corrections": Target(
        file="corrections.toml", seeds=lambda: [CORRECTIONS], mutate=_TOML, read=_corrections
    ),
    "kerf-csv": Target(
        file="kerf.csv",
        seeds=lambda: [KERF_CSV],
        mutate=_text("piece;x;1;2", "fit,y,1", "film,", "kind,along", "comb;x;80;78;1;sheet"),
        read=_kerf,
    ),
    "kerf-toml": Target(
        file="kerf.toml", seeds=lambda: [KERF_TOML], mutate=_text("[[slot]]", "[[fit]]"), read=_kerf
    ),
    "svg": Target(file="drawing.svg", seeds=lambda: [SVG], mutate=_svg, read=_outline),
    "artwork": Target(file="drawing.svg", seeds=lambda: [FILLED], mutate=_svg, read=_artwork),
    "dxf": Target(file="drawing.dxf", seeds=_dxf, mutate=_text(*DXF_SNIPPETS), read=_outline),
    "picture": Target(file="photo.png", seeds=_pictures, mutate=_image, read=_picture),
}
