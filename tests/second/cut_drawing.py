"""Read a cut drawing: the standard library's XML parser, and a parser of M, L, A and Z of its own.

Everything is turned upright: mm, y up, origin at the lower left of the page.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from xml.etree import ElementTree

import numpy as np
from numpy.typing import NDArray

SVG = "{http://www.w3.org/2000/svg}"
KINDS = ("mark", "cut-inner", "cut-outer")
SAGITTA = 1e-4
"""How far a chord may lie inside its arc, mm."""
ARGUMENTS = {"M": 2, "L": 2, "A": 7, "Z": 0}
_TOKEN = re.compile(r"\s*,?\s*([A-Za-z]|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")

Points = NDArray[np.float64]


class Fault(AssertionError):
    """The drawing does not give what its job asks for, or spoils something on the way."""


def need(condition: bool, fault: str) -> None:
    """Raise a ``Fault`` unless a condition holds."""
    if not condition:
        raise Fault(fault)


@dataclass(frozen=True)
class Cut:
    """One ``<path>``: what it is, and its strokes as rows of points."""

    id: str
    kind: str
    title: str
    strokes: tuple[Points, ...]
    is_closed: bool

    @property
    def is_trim(self) -> bool:
        """Whether it parts a leftover from the scrap; it may run out over the edge."""
        return "trim-" in self.id


@dataclass(frozen=True)
class CutDrawing:
    """A page, mm, and its paths in document order."""

    width: float
    height: float
    cuts: tuple[Cut, ...]


def read_cuts(text: str) -> CutDrawing:
    """Read a drawing of nothing but cuts; anything else in it is a fault."""
    root = ElementTree.fromstring(text)
    need(root.tag == f"{SVG}svg", f"no SVG but {root.tag}")
    x, y, width, height = map(float, root.attrib["viewBox"].split())
    need(x == y == 0.0, f"the page begins at {x}, {y}")
    need(root.get("width") == f"{root.attrib['viewBox'].split()[2]}mm", "the page's width")
    need(root.get("height") == f"{root.attrib['viewBox'].split()[3]}mm", "the page's height")
    cuts: list[Cut] = []
    for group in root:
        if group.tag != f"{SVG}title":
            need(group.tag == f"{SVG}g", f"{group.tag} on the page")
            cuts += (_cut(element, group.get("class", ""), height) for element in group)
    ids = [cut.id for cut in cuts]
    need(len(set(ids)) == len(ids), "two paths have one id")
    need(not any("transform" in each.attrib for each in root.iter()), "something is transformed")
    return CutDrawing(width, height, tuple(cuts))


def _cut(element: ElementTree.Element, kind: str, height: float) -> Cut:
    id = element.get("id", "")
    need(element.tag == f"{SVG}path", f"{element.tag} among the paths")
    need(kind in KINDS and element.get("class") == kind, f"{id} is {element.get('class')}")
    strokes, closed = path_strokes(element.attrib["d"])
    need(closed in ([True], [False] * len(strokes)), f"{id} is closed and open")
    title = element.findtext(f"{SVG}title") or ""
    upright = tuple(stroke * (1.0, -1.0) + (0.0, height) for stroke in strokes)
    return Cut(id, kind, title, upright, closed == [True])


def path_strokes(data: str) -> tuple[list[Points], list[bool]]:
    """Return the strokes of a path's data as points, and whether each is closed."""
    tokens = _tokens(data)
    strokes: list[list[Points]] = []
    closed: list[bool] = []
    here = np.zeros(2)
    at = 0
    command = ""
    while at < len(tokens):
        if tokens[at].isalpha():
            command = tokens[at]
            at += 1
        need(command in ARGUMENTS, f"the command {command!r} in {data[:60]}")
        count = ARGUMENTS[command]
        numbers = [float(token) for token in tokens[at : at + count]]
        need(len(numbers) == count, f"numbers are missing in {data[:60]}")
        at += count
        if command == "M":
            here = np.array(numbers)
            strokes.append([here[None]])
            closed.append(False)
            command = "L"
        elif command == "Z":
            first = strokes[-1][0][0]
            if math.dist(first, here) > 0.0:
                strokes[-1].append(first[None])
            here, closed[-1], command = first, True, ""
        else:
            end = np.array(numbers[-2:])
            points = end[None] if command == "L" else arc_points(here, numbers)
            strokes[-1].append(points)
            here = end
    return [np.concatenate(stroke) for stroke in strokes], closed


def _tokens(data: str) -> list[str]:
    tokens, at = [], 0
    while data[at:].strip():
        found = _TOKEN.match(data, at)
        need(found is not None, f"{data[at : at + 20]!r} in a path")
        assert found is not None
        tokens.append(found[1])
        at = found.end()
    return tokens


def arc_points(start: Points, numbers: list[float]) -> Points:
    """Return points along an elliptical arc, without its start.

    Source: Scalable Vector Graphics (SVG) 2, appendix B.2.4, conversion from endpoint to centre.
    """
    rx, ry, degrees, large, sweep, x, y = numbers
    end = np.array((x, y))
    turn = math.radians(degrees)
    axes = np.array(((math.cos(turn), math.sin(turn)), (-math.sin(turn), math.cos(turn))))
    half = axes @ (start - end) / 2.0 / (rx, ry)
    square = float(half @ half)
    if square > 1.0:  # too small for the chord: enlarged till it just reaches
        rx, ry, half, square = (
            rx * math.sqrt(square),
            ry * math.sqrt(square),
            half / math.sqrt(square),
            1.0,
        )
    away = math.sqrt(max(0.0, 1.0 / square - 1.0)) * (-1.0 if bool(large) == bool(sweep) else 1.0)
    centre = away * np.array((half[1], -half[0]))
    first, last = half - centre, -half - centre
    begin = math.atan2(first[1], first[0])
    angle = math.atan2(last[1], last[0]) - begin
    if sweep and angle < 0.0:
        angle += math.tau
    elif not sweep and angle > 0.0:
        angle -= math.tau
    count = max(2, math.ceil(abs(angle) / math.sqrt(8.0 * SAGITTA / max(rx, ry, 4.0 * SAGITTA))))
    angles = begin + angle * np.arange(1, count + 1) / count
    unit = np.column_stack((np.cos(angles), np.sin(angles))) + centre
    points = (unit * (rx, ry)) @ axes + (start + end) / 2.0
    points[-1] = end
    return np.asarray(points)
