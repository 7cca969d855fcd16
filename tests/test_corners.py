"""Every corner of what is engraved and of every slot stands in every format that drives a cutter.

Each format is read by a parser that is not ours: svgpathtools, ezdxf, pypdf, and for machine code
the few words it has. Engraving is as the part has it; a slot's path lies half a kerf inside the
slot, by shapely, and its corners stay sharp.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import Any

import ezdxf
import pypdf
import pytest
import shapely
import svgpathtools
from virtual_cut import read_cut_drawing

from jobprep import pipeline
from jobprep.geometry.outline import Arc, Contour, Line
from jobprep.outputs import run_files
from jobprep.planning.plan import FilmPlan, Plan

Point = tuple[float, float]
Corners = list[Point]
CLOSE = 0.0002
"""How far a corner may be off, mm: three times what the digits of a PDF were found to take away."""

WHEEL = """\
format = 1
name = "Slot wheel"
outer_diameter = 90
bore = { square = 8 }
hub_diameter = 40
marks = { height = 2.0 }

[[layer]]
name = "front"
film = "clear"

[[layer.opening]]
degrees = 9
count = 7
inner_diameter = 55
outer_diameter = 75
angle = 11

[[layer]]
name = "colour"
start_angle = 17
sector = [
  { film = "amber", degrees = 100 },
  { film = "amber", degrees = 80 },
  { film = "clear", degrees = 180 },
]

[[layer]]
name = "back"
film = "clear"
"""
JOB = """\
format = 1
title = "Slots"
cutter = "bench-co2"

[[disc]]
design = "wheel.toml"
copies = 4

[[part]]
name = "plate"
film = "amber"
copies = 3
drawing = "plate.svg"

[nesting]
evaluations = 300
"""
PLATE = """\
<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="30mm" viewBox="0 0 60 30">
<path d="M0 0H60V30H0Z M5 5V9.25H25V5Z M40 5L35 17.5L47.5 16Z"/></svg>
"""
WISHES = {
    "as it is": "",
    "with leads and overcut": "[cutting]\nlead_in = 0.4\nlead_out = 0.3\novercut = 0.2\n",
    "with tabs": "[cutting]\ntabs = { count = 3, width = 0.4 }\n",
}


@pytest.fixture(scope="module", params=WISHES)
def planned(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Plan:
    folder = tmp_path_factory.mktemp("slots")
    (folder / "wheel.toml").write_text(WHEEL, "utf-8")
    (folder / "plate.svg").write_text(PLATE, "utf-8")
    (folder / "job.toml").write_text(JOB + WISHES[request.param], "utf-8")
    return pipeline.plan(pipeline.check(folder / "job.toml"))


def svg_lines(data: Any, height: float) -> list[Corners]:
    strokes = [
        stroke
        for path in read_cut_drawing(data).paths
        for stroke in svgpathtools.Path(*path.segments).continuous_subpaths()
    ]
    ends = ([stroke[0].start, *(segment.end for segment in stroke)] for stroke in strokes)
    return [[(point.real, height - point.imag) for point in points] for points in ends]


def dxf_lines(data: Any, height: float) -> list[Corners]:
    lines = []
    for entity in ezdxf.read(io.StringIO(data)).modelspace():
        points = [(x, y) for x, y in entity.get_points("xy")]
        lines.append([*points, points[0]] if entity.closed else points)
    return lines


def gcode_lines(data: Any, height: float) -> list[Corners]:
    lines: list[Corners] = []
    for kind, x, y in re.findall(r"^G([0-3]) X(\S+) Y(\S+)", data, re.MULTILINE):
        if kind == "0":
            lines.append([])
        lines[-1].append((float(x), float(y)))
    return lines


def pdf_lines(data: Any, height: float) -> list[Corners]:
    (page,) = pypdf.PdfReader(io.BytesIO(data)).pages
    content = page.get_contents()
    assert content is not None
    operations = [
        (op.decode(), list(map(float, given)))
        for given, op in content.operations
        if op in (b"cm", b"m", b"l", b"c", b"h")
    ]
    scale = math.prod(given[0] for op, given in operations if op == "cm") * 25.4 / 72.0
    assert scale == pytest.approx(1.0, rel=1e-6)
    lines: list[Corners] = []
    for op, given in operations:
        if op == "m":
            lines.append([])
        if op in ("m", "l", "c"):
            lines[-1].append((given[-2], given[-1]))
        if op == "h":
            lines[-1].append(lines[-1][0])
    return lines


READERS: dict[str, Callable[[Any, float], list[Corners]]] = {
    "svg": svg_lines,
    "dxf": dxf_lines,
    "gcode": gcode_lines,
    "pdf": pdf_lines,
}


Edge = tuple[Point, Point]


def engraved(film: FilmPlan, sheet: int) -> list[Edge]:
    """Return the two ends of every straight line that is engraved on a sheet."""
    return [
        (tuple(segment.start), tuple(segment.end))
        for part in film.sheets[sheet].cuts.parts
        for mark in part.marks
        for segment in mark
        if isinstance(segment, Line)
    ]


def slots(film: FilmPlan, sheet: int) -> list[Corners]:
    """Return the sharp corners of the path inside every slot, opening and bore that has any."""
    return [
        sharp(shapely.Polygon(list(drawn(hole))).buffer(-film.kerf / 2.0, join_style="mitre"))
        for part in film.sheets[sheet].cuts.parts
        for hole in part.region.holes
        if any(isinstance(segment, Line) for segment in hole.segments)
    ]


def drawn(hole: Contour) -> Iterator[Point]:
    """Yield points of a contour; chords between those of an arc miss it by less than 1e-5 mm."""
    for segment in hole.segments:
        yield segment.start
        if isinstance(segment, Arc):
            start = math.atan2(
                segment.start.y - segment.centre.y, segment.start.x - segment.centre.x
            )
            for step in range(1, 400):
                angle = start + segment.sweep * step / 400
                yield (
                    segment.centre.x + segment.radius * math.cos(angle),
                    segment.centre.y + segment.radius * math.sin(angle),
                )


def sharp(outline: shapely.Polygon) -> Corners:
    """Return the corners at which an outline turns by more than ten degrees."""
    ring = list(outline.exterior.coords)[:-1]
    found = []
    for before, here, after in zip(ring[-1:] + ring[:-1], ring, ring[1:] + ring[:1], strict=True):
        first = math.atan2(here[1] - before[1], here[0] - before[0])
        then = math.atan2(after[1] - here[1], after[0] - here[0])
        if abs(math.remainder(then - first, math.tau)) > math.radians(10.0):
            found.append(here)
    return found


def nearest(corner: Point, points: Sequence[Point]) -> float:
    return min(math.dist(corner, point) for point in points)


def nearest_edge(edge: Edge, edges: Sequence[Edge]) -> float:
    """Return how far an edge is from the nearest one, whichever way that runs."""
    (a, b) = edge
    return min(
        min(max(math.dist(a, p), math.dist(b, q)), max(math.dist(a, q), math.dist(b, p)))
        for p, q in edges
    )


def misses(planned: Plan, suffix: str, *, bevel: float = 0.0) -> tuple[list[float], list[float]]:
    """Return how far off the ends of engraved lines are, and the corners of slots, mm.

    A ``bevel`` cuts off every corner that was read, by so much on either side.
    """
    formats = () if suffix == "svg" else (suffix,)
    files = run_files(planned, pipeline.summary_of(planned), "", formats)
    marks, corners = [], []
    for film in planned.films:
        for number, sheet in enumerate(film.sheets):
            which = f"-sheet-{number + 1}" if len(film.sheets) > 1 else ""
            drawing = files[f"{film.film.name}{which}.{suffix}"]
            lines = READERS[suffix](drawing, sheet.sheet.height)
            if bevel:
                lines = [list(bevelled(line, bevel)) for line in lines]
            edges = [edge for line in lines for edge in pairwise(line)]
            points = [point for line in lines for point in line]
            marks += [nearest_edge(edge, edges) for edge in engraved(film, number)]
            corners += [nearest(corner, points) for slot in slots(film, number) for corner in slot]
    return marks, corners


def bevelled(line: Corners, size: float) -> Iterator[Point]:
    """Yield each side of a line shortened by a size at both ends."""
    for a, b in pairwise(line):
        share = min(0.4, size / (math.dist(a, b) or 1.0))
        for near, far in ((a, b), (b, a)):
            yield near[0] + share * (far[0] - near[0]), near[1] + share * (far[1] - near[1])


@pytest.mark.parametrize("suffix", READERS)
def test_every_corner_is_written(planned: Plan, suffix: str) -> None:
    marks, corners = misses(planned, suffix)
    assert len(marks) >= 40 and len(corners) >= 160
    assert max(*marks, *corners) < CLOSE


@pytest.mark.parametrize("suffix", READERS)
def test_corners_that_are_cut_off_would_be_found(planned: Plan, suffix: str) -> None:
    marks, corners = misses(planned, suffix, bevel=0.002)
    assert min(*marks, *corners) > CLOSE
