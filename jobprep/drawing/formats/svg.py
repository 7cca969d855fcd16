"""A cut drawing as SVG 1.1: one user unit is one mm, nothing in it but the strokes.

Coordinates are absolute and untransformed. Strokes keep their order; neighbours of one layer share
a group whose class names it. A path uses ``M``, ``L``, ``A`` and ``Z`` only, one command for each
segment.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import groupby

from jobprep.drawing.drawing import Drawing, Group, Pen
from jobprep.drawing.formats import Control
from jobprep.drawing.svg import Attributes, svg_file

STROKE_WIDTH = 0.1
"""Thin enough to see neighbouring cuts apart, mm."""

VERSION: Attributes = {
    "baseProfile": "full",
    "version": "1.1",
    "xmlns:ev": "http://www.w3.org/2001/xml-events",
    "xmlns:xlink": "http://www.w3.org/1999/xlink",
}
"""Of the root, as SVG 1.1 has it."""


def write(drawing: Drawing, control: Control | None = None) -> str:
    """Return the drawing as SVG; raises ``ValueError`` if two strokes share an id."""
    groups = tuple(
        Group(elements=tuple(strokes), layer=layer, pen=Pen(STROKE_WIDTH, drawing.colours[layer]))
        for layer, strokes in groupby(drawing.strokes, key=lambda stroke: stroke.layer)
    )
    return svg_file(replace(drawing, elements=groups), VERSION)
