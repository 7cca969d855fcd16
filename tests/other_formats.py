"""The strokes of a drawing in DXF and in machine code, to be held against those of its SVG."""

from __future__ import annotations

import io
import math
import re
from typing import NamedTuple

import ezdxf
import svgpathtools
from drawn_numbers import segment_length
from virtual_cut import CutFile, require

Point = tuple[float, float]


class Stroke(NamedTuple):
    """One run of the beam; ``start`` and ``end`` are mm, y up from the lower left."""

    operation: str
    start: Point
    end: Point
    length: float


def svg_strokes(drawing: CutFile) -> list[Stroke]:
    """Return the strokes of a drawing that was read from SVG."""
    return [
        Stroke(
            path.operation,
            (stroke.start.real, drawing.height - stroke.start.imag),
            (stroke.end.real, drawing.height - stroke.end.imag),
            math.fsum(map(segment_length, stroke)),
        )
        for path in drawing.paths
        for stroke in svgpathtools.Path(*path.segments).continuous_subpaths()
    ]


def dxf_strokes(text: str) -> list[Stroke]:
    """Return the polylines of a DXF file in order."""
    document = ezdxf.read(io.StringIO(text))
    require(document.header["$INSUNITS"] == 4, "the DXF is not in mm")
    strokes = []
    for entity in document.modelspace():
        require(entity.dxftype() == "LWPOLYLINE", f"{entity} in the DXF")
        corners = list(entity.get_points("xyb"))
        ends = [*corners[1:], corners[0]] if entity.closed else corners[1:]
        length = math.fsum(
            _bulge_length(math.dist(corner[:2], end[:2]), corner[2])
            for corner, end in zip(corners, ends, strict=False)
        )
        strokes.append(Stroke(entity.dxf.layer, corners[0][:2], (ends or corners)[-1][:2], length))
    return strokes


def _bulge_length(chord: float, bulge: float) -> float:
    if bulge == 0.0:
        return chord
    sweep = 4.0 * math.atan(abs(bulge))
    return chord / (2.0 * math.sin(sweep / 2.0)) * sweep


def gcode_strokes(text: str, origin: str, size: Point, passes: int) -> list[Stroke]:
    """Return the strokes of machine code, each once, as seen from the sheet's lower left."""
    strokes: list[Stroke] = []
    operation, here = "", (0.0, 0.0)
    start: Point | None = None
    length = 0.0

    def finish() -> None:
        if start is not None and length > 0.0:
            ends = [_from_corner(point, origin, size) for point in (start, here)]
            strokes.append(Stroke(operation, ends[0], ends[1], length))

    for line in text.splitlines():
        if line.startswith("("):
            # the comment of the next stroke comes before its travel
            named = re.match(r"\((mark|cut-inner|cut-outer):", line)
            if named:
                finish()
                start, length = None, 0.0
                operation = named[1]
            continue
        words = dict(re.findall(r"([A-Z])([-\d.]+)", line))
        if words.get("G") == "0":
            finish()
            here = (float(words["X"]), float(words["Y"]))
            start, length = here, 0.0
        elif words.get("G") in ("1", "2", "3") and "X" in words:
            end = (float(words["X"]), float(words["Y"]))
            length += _block_length(here, end, words)
            here = end
    once = []
    run = 0
    for stroke in strokes:
        run = run + 1 if once and stroke == once[-1] else 1
        if run == 1 or stroke.operation == "mark" or run > passes:
            once.append(stroke)
            run = 1
    return once


def _block_length(here: Point, end: Point, words: dict[str, str]) -> float:
    if words["G"] == "1":
        return math.dist(here, end)
    centre = (here[0] + float(words["I"]), here[1] + float(words["J"]))
    radius = math.dist(here, centre)
    require(abs(radius - math.dist(end, centre)) < 0.002, f"an arc that does not close: {words}")
    angles = [math.atan2(p[1] - centre[1], p[0] - centre[0]) for p in (here, end)]
    sweep = (angles[1] - angles[0]) * (1 if words["G"] == "3" else -1)
    return radius * (sweep % math.tau)


def _from_corner(point: Point, origin: str, size: Point) -> Point:
    """Turn a point that counts from a corner towards the sheet's middle."""
    x = size[0] - point[0] if origin.endswith("right") else point[0]
    y = size[1] - point[1] if origin.startswith("upper") else point[1]
    return x, y


def assert_same_strokes(one: list[Stroke], other: list[Stroke], name: str, slack: float) -> None:
    """Check that two formats hold the same strokes in the same order."""
    require(len(one) == len(other), f"{name}: {len(other)} strokes, not {len(one)}")
    for number, (a, b) in enumerate(zip(one, other, strict=True), start=1):
        require(a.operation == b.operation, f"{name}: stroke {number} is {b.operation}")
        for p, q in ((a.start, b.start), (a.end, b.end)):
            require(math.dist(p, q) <= slack, f"{name}: stroke {number} is at {q}, not {p}")
        close = math.isclose(a.length, b.length, rel_tol=1e-4, abs_tol=4.0 * slack)
        require(close, f"{name}: stroke {number} is {b.length} mm long, not {a.length}")
