"""The shape of a part that a job gives as a drawing: SVG as far as jobs here use it, and DXF.

DXF is read group by group, SVG by ``xml.etree``; curves become chords close by.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import shapely
from second.cut_drawing import SVG, Points, arc_points
from second.shapes import disc, rectangle
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

SLACK = 0.011
"""How far an outline may lie from curves that are neither straight nor round, mm: they are read to
0.01 mm, and their chords here are near them."""
CHORDS = 400
"""Of a Bezier curve."""
_WORD = re.compile(r"[A-Za-z]|[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")
_CALL = re.compile(r"(\w+)\(([^)]*)\)")


def drawn_shape(path: Path) -> tuple[BaseGeometry, float]:
    """Return the shape drawn in a file, mm, y up, and how near to it an outline must be."""
    text = path.read_text(encoding="utf-8")
    if path.suffix == ".dxf":
        return _nested(list(_dxf_rings(text))), 0.0
    root = ElementTree.fromstring(text)
    box = [float(number) for number in root.attrib["viewBox"].split()]
    assert root.attrib["width"] == f"{root.attrib['viewBox'].split()[2]}mm", "one unit is 1 mm"
    rings = list(_svg_rings(root, np.eye(3)))
    turned = np.array(((1.0, 0.0), (0.0, -1.0)))
    upright = [
        Polygon(shapely.get_coordinates(ring.exterior) @ turned + (0.0, box[3])) for ring in rings
    ]
    is_bent = "<ellipse" in text or any("C" in each.get("d", "") for each in root.iter())
    return _nested(upright), SLACK if is_bent else 0.0


def _nested(rings: list[Polygon]) -> BaseGeometry:
    """Return the largest ring less the others."""
    rings.sort(key=lambda ring: -ring.area)
    return rings[0].difference(shapely.union_all(rings[1:])) if rings[1:] else rings[0]


def _svg_rings(element: ElementTree.Element, matrix: Points) -> Iterator[Polygon]:
    matrix = matrix @ _matrix(element.get("transform", ""))
    shape = _svg_shape(element)
    if shape is not None:
        points = shapely.get_coordinates(shape.exterior)
        yield Polygon(points @ matrix[:2, :2].T + matrix[:2, 2])
    for child in element:
        yield from _svg_rings(child, matrix)


def _matrix(transform: str) -> Points:
    whole = np.eye(3)
    for name, numbers in _CALL.findall(transform):
        values = [float(number) for number in numbers.replace(",", " ").split()]
        own = np.eye(3)
        if name == "translate":
            own[:2, 2] = values
        elif name == "rotate":
            turn = math.radians(values[0])
            own[:2, :2] = (math.cos(turn), -math.sin(turn)), (math.sin(turn), math.cos(turn))
        else:
            raise NotImplementedError(transform)
        whole = whole @ own
    return whole


def _svg_shape(element: ElementTree.Element) -> BaseGeometry | None:
    name = element.tag.removeprefix(SVG)

    def value(key: str) -> float:
        return float(element.get(key, "0"))

    if name == "rect":
        size = value("width"), value("height")
        shape = rectangle(*size, min(value("rx"), *(side / 2.0 for side in size)))
        return shapely.affinity.translate(shape, value("x"), value("y"))
    if name == "circle":
        return disc(value("r"), (value("cx"), value("cy")))
    if name == "ellipse":
        unit = disc(1000.0)  # of many corners
        round_one = shapely.affinity.scale(unit, value("rx") / 1000.0, value("ry") / 1000.0)
        return shapely.affinity.translate(round_one, value("cx"), value("cy"))
    if name in ("polygon", "polyline"):
        numbers = [float(each) for each in element.attrib["points"].replace(",", " ").split()]
        return Polygon(np.reshape(numbers, (-1, 2)))
    if name == "path":
        return Polygon(_path(element.attrib["d"]))
    assert name in ("svg", "g", "title", "desc"), f"{name} in a drawing"
    return None


def _path(data: str) -> Points:
    """Return the corners of a path of one contour: M, L, H, V, C, A and Z with absolute numbers."""
    words = _WORD.findall(data)
    assert words[0] == "M" and words[-1] == "Z" and words.count("M") == 1, data
    points = [np.array([[float(words[1]), float(words[2])]])]
    at, command = 3, "L"
    while words[at] != "Z":
        if words[at].isalpha():
            command, at = words[at], at + 1
        count = {"L": 2, "H": 1, "V": 1, "C": 6, "A": 7}[command]
        numbers, at = [float(word) for word in words[at : at + count]], at + count
        here = points[-1][-1]
        if command == "A":
            points.append(arc_points(here, numbers))
        elif command == "C":
            points.append(_bezier(here, np.reshape(numbers, (3, 2))))
        else:
            end = {"H": (numbers[0], here[1]), "V": (here[0], numbers[0])}
            points.append(np.array([end.get(command, numbers)]))
    return np.concatenate(points)


def _bezier(start: Points, controls: Points) -> Points:
    t = np.arange(1, CHORDS + 1)[:, None] / CHORDS
    a, b, c = controls
    return (1 - t) ** 3 * start + 3 * t * (1 - t) ** 2 * a + 3 * t**2 * (1 - t) * b + t**3 * c


def _dxf_rings(text: str) -> Iterator[Polygon]:
    """Read closed polylines with bulges and circles, in mm or inches."""
    lines = [line.strip() for line in text.splitlines()]
    groups = list(zip(map(int, lines[::2]), lines[1::2], strict=False))
    at = groups.index((9, "$INSUNITS"))
    unit = {"4": 1.0, "1": 25.4}[groups[at + 1][1]]
    first = groups.index((2, "ENTITIES"))
    last = groups.index((0, "ENDSEC"), first)
    starts = [index for index in range(first, last) if groups[index][0] == 0]
    for start, end in zip(starts, [*starts[1:], last], strict=True):
        kind, body = groups[start][1], groups[start + 1 : end]
        values = {code: float(value) for code, value in body if code in (10, 20, 40)}
        if kind == "CIRCLE":
            yield disc(unit * values[40], (unit * values[10], unit * values[20]))
        else:
            assert kind == "LWPOLYLINE", f"{kind} in a drawing"
            yield _polyline(body, unit)


def _polyline(body: list[tuple[int, str]], unit: float) -> Polygon:
    corners: list[list[float]] = []
    for code, value in body:
        if code == 10:
            corners.append([unit * float(value), 0.0, 0.0])
        elif code == 20:
            corners[-1][1] = unit * float(value)
        elif code == 42:
            corners[-1][2] = float(value)
    points: list[Points] = []
    for (x0, y0, bulge), (x1, y1, _) in zip(corners, corners[1:] + corners[:1], strict=True):
        end = np.array((x1, y1))
        if bulge:  # the tangent of a quarter of the arc's angle, positive anticlockwise
            angle = 4.0 * math.atan(abs(bulge))
            radius = math.dist((x0, y0), (x1, y1)) / (2.0 * math.sin(angle / 2.0))
            arc = [radius, radius, 0.0, angle > math.pi, bulge > 0.0, x1, y1]
            points.append(arc_points(np.array((x0, y0)), arc))
        else:
            points.append(end[None])
    return Polygon(np.concatenate(points))
