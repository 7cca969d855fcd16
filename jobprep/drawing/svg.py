"""Write a drawing as SVG 1.1: one user unit is one mm, nothing in it but the strokes.

Coordinates are absolute and untransformed, y runs down from the upper left as SVG has it. Strokes
keep their order; neighbours of one layer share a group whose class names it. A path uses ``M``,
``L``, ``A`` and ``Z`` only, one command for each segment.

An arc command names its end points, not its centre, so near a half turn a rounded end point moves
the centre by many times its own error, and near a full turn nothing is left to find it by. Arcs of
more than ``LONGEST_SWEEP`` are therefore written as equal shorter ones; a circle is three. No
arc needs the large-arc flag.
"""

from __future__ import annotations

import re
from itertools import groupby
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

from jobprep.drawing.arcs import split_arc
from jobprep.drawing.drawing import Drawing, Stroke
from jobprep.geometry.outline import Arc, Path, Point
from jobprep.units import from_degrees, number

if TYPE_CHECKING:
    import svgwrite

DECIMALS = 6
"""Of a coordinate, mm; moves an arc's centre by less than 0.00002 mm, see below."""

LONGEST_SWEEP = from_degrees(170.0)
"""Longest arc written in one piece. Up to here the centre moves by at most 1 / cos(85 degrees),
about 11.5 times the rounding of its end points and as much again for that of its radius; at 180
degrees it could be a hundredth of a mm."""

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 cannot hold, not even escaped."""

STROKE_WIDTH = 0.1
"""Thin enough to see neighbouring cuts apart, mm."""


def svg_text(drawing: Drawing) -> str:
    """Return the drawing as SVG, the same bytes for the same drawing.

    Raises
    ------
    ValueError
        If two strokes share an id.
    """
    import svgwrite

    _check_ids(drawing)
    width, height = number(drawing.width, DECIMALS), number(drawing.height, DECIMALS)
    page = svgwrite.Drawing(
        size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}", debug=False
    )
    page.elements.remove(page.defs)
    page.set_desc(title=_clean(drawing.title))
    for layer, strokes in groupby(drawing.strokes, key=lambda stroke: stroke.layer):
        group = page.g(
            class_=layer, fill="none", stroke=drawing.colours[layer], stroke_width=STROKE_WIDTH
        )
        for stroke in strokes:
            group.add(_path_element(page, stroke, drawing.height))
        page.add(group)
    tree = page.get_xml()
    ElementTree.indent(tree)
    return '<?xml version="1.0" encoding="utf-8"?>\n' + ElementTree.tostring(tree, "unicode") + "\n"


def _check_ids(drawing: Drawing) -> None:
    seen: set[str] = set()
    for stroke in drawing.strokes:
        if stroke.id in seen:
            raise ValueError(f"two strokes have the id {stroke.id!r}")
        seen.add(stroke.id)


def _path_element(page: svgwrite.Drawing, stroke: Stroke, height: float) -> Any:
    commands = " ".join(path_data(path, height, closed=stroke.closed) for path in stroke.paths)
    element = page.path(d=commands, id=stroke.id, class_=stroke.layer)
    element.set_desc(title=_clean(stroke.title))
    return element


def path_data(path: Path, height: float, *, closed: bool, decimals: int = DECIMALS) -> str:
    """Return the commands of a path on a page ``height`` mm high.

    A closed path ends on the very digits it starts with.
    """
    first = here = _point(path[0].start, height, decimals)
    commands = [f"M {first}"]
    for index, segment in enumerate(path):
        pieces = split_arc(segment, LONGEST_SWEEP) if isinstance(segment, Arc) else (segment,)
        for piece in pieces:
            last = closed and index == len(path) - 1 and piece is pieces[-1]
            end = first if last else _point(piece.end, height, decimals)
            if end == here:
                continue  # shorter than the last decimal: draws nothing
            if isinstance(piece, Arc):
                # Anticlockwise with y up is anticlockwise on the screen too: SVG's flag 0.
                radius = number(piece.radius, decimals)
                commands.append(f"A {radius} {radius} 0 0 {int(piece.sweep < 0.0)} {end}")
            else:
                commands.append(f"L {end}")
            here = end
    if closed:
        commands.append("Z")
    return " ".join(commands)


def _point(point: Point, height: float, decimals: int) -> str:
    return f"{number(point.x, decimals)} {number(height - point.y, decimals)}"


def _clean(text: str) -> str:
    return _NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text)
