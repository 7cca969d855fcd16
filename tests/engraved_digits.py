"""Reads the numbers engraved in a cut drawing as an eye does: by the shapes of their digits.

Nothing of the package is used. The digits below are drawn by hand, coarsely, on a grid of 4 by 6;
a digit is the one that lies nearest everywhere. A number stands with its foot to the centre of the
disc, which is that of the outline's largest arc; beside the leading side runs a tick.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from xml.etree import ElementTree

import numpy as np
import shapely
import svgpathtools
from second.cut_drawing import Cut, CutDrawing, read_cuts

SVG = "{http://www.w3.org/2000/svg}"

RING = [(0, 2), (0, 4), (0.6, 5.4), (2, 6), (3.4, 5.4), (4, 4), (4, 2), (3.4, 0.6), (2, 0)]
RING += [(0.6, 0.6), (0, 2)]
LOOP = [(0, 2), (0.6, 3.4), (2, 4), (3.4, 3.4), (4, 2), (3.4, 0.6), (2, 0), (0.6, 0.6), (0, 2)]
SIX = [(3.5, 6), (2, 6), (0.6, 5.4), (0, 4), *LOOP]
UPPER = [(2, 3), (3.1, 3.4), (3.5, 4.5), (3.1, 5.6), (2, 6), (0.9, 5.6), (0.5, 4.5), (0.9, 3.4)]
DIGITS = {
    "0": [RING],
    "1": [[(0, 4), (2, 6), (2, 0)]],
    "2": [[(0, 4), (0.6, 5.4), (2, 6), (3.4, 5.4), (4, 4), (0, 0), (4, 0)]],
    "3": [
        [(0, 6), (2.5, 6), (3.6, 5.6), (4, 4.5), (3.6, 3.4), (2.5, 3), (1, 3)],
        [(2.5, 3), (3.6, 2.6), (4, 1.5), (3.6, 0.4), (2.5, 0), (0, 0)],
    ],
    "4": [[(3, 0), (3, 6), (0, 2), (4, 2)]],
    "5": [
        [
            (3.6, 6),
            (0.4, 6),
            (0.4, 3.5),
            (2.2, 3.5),
            (3.5, 3),
            (4, 1.75),
            (3.5, 0.5),
            (2, 0),
            (0, 0),
        ]
    ],
    "6": [SIX],
    "7": [[(0, 6), (4, 6), (1.2, 0)]],
    "8": [[*UPPER, (2, 3)], [(x, 3 - (y - 3)) for x, y in [*UPPER, (2, 3)]]],
    "9": [[(4 - x, 6 - y) for x, y in SIX]],
}
NEAR = 0.1
"""How far a digit may lie from its shape, as a share of its height."""


@dataclass(frozen=True)
class Engraved:
    """A piece in a cut drawing: what is cut out, mm, y up, and the number on it, empty if none."""

    title: str
    shape: shapely.Polygon
    number: str


def engraved_pieces(text: str) -> list[Engraved]:
    """Return every piece that a cut drawing cuts, with the number that it engraves on it."""
    drawing = read_cuts(text)
    centres = _centres(text, drawing)
    marks = [stroke for cut in drawing.cuts if cut.kind == "mark" for stroke in cut.strokes]
    return [_piece(cut, centres[cut.id], marks) for cut in drawing.cuts if cut.kind == "cut-outer"]


def _centres(text: str, drawing: CutDrawing) -> dict[str, complex]:
    """Return of each path the centre of its largest arc."""
    found = {}
    for path in ElementTree.fromstring(text).iter(f"{SVG}path"):
        arcs = [s for s in svgpathtools.parse_path(path.attrib["d"]) if hasattr(s, "radius")]
        if arcs:
            centre = max(arcs, key=lambda arc: arc.radius.real).center
            found[path.attrib["id"]] = complex(centre.real, drawing.height - centre.imag)
    return found


def _piece(cut: Cut, centre: complex, marks: list[np.ndarray]) -> Engraved:
    shape = shapely.Polygon(cut.strokes[0])
    own = [m @ (1.0, 1.0j) for m in marks if shape.contains(shapely.LineString(m))]
    return Engraved(cut.title, shape, number_of(own, centre) if own else "")


def number_of(strokes: list[np.ndarray], centre: complex) -> str:
    """Return the number that strokes draw, one of which is a tick; ``centre`` is the disc's."""
    straight = [stroke for stroke in strokes if _is_straight(stroke)]
    middle = np.mean([stroke.mean() for stroke in strokes]) - centre

    def ahead(stroke: np.ndarray) -> float:
        """How far anticlockwise of the middle it lies: the leading side passes first."""
        return float(np.angle((stroke.mean() - centre) / middle))

    tick = max(straight, key=ahead)
    rest = [stroke for stroke in strokes if stroke is not tick]
    if not rest:
        return ""
    box = shapely.MultiPoint([(p.real, p.imag) for s in rest for p in s]).minimum_rotated_rectangle
    up = complex(box.centroid.x, box.centroid.y) - centre
    turned = [(stroke - centre) * (1j * abs(up) / up) for stroke in rest]
    underline = min(turned, key=lambda stroke: stroke.imag.mean())
    above = [stroke for stroke in turned if stroke is not underline]
    if (
        _is_straight(underline)
        and above
        and underline.imag.max() < min(s.imag.min() for s in above)
    ):
        turned = above
    low, high = min(s.imag.min() for s in turned), max(s.imag.max() for s in turned)
    return "".join(_digit(group, low, high - low) for group in _side_by_side(turned))


def _is_straight(stroke: np.ndarray) -> bool:
    way = stroke[-1] - stroke[0]
    return abs(way) > 0.0 and bool(np.abs(((stroke - stroke[0]) / way).imag).max() < 1e-6)


def _side_by_side(strokes: list[np.ndarray]) -> list[list[np.ndarray]]:
    """Return the strokes of each digit, from the left: those of one lie over each other."""
    groups: list[list[np.ndarray]] = []
    reach = -math.inf
    for stroke in sorted(strokes, key=lambda each: each.real.min()):
        if stroke.real.min() > reach:
            groups.append([])
        groups[-1].append(stroke)
        reach = max(reach, stroke.real.max())
    return groups


def _digit(strokes: list[np.ndarray], low: float, height: float) -> str:
    left = min(stroke.real.min() for stroke in strokes)
    drawn = shapely.MultiLineString(
        [
            [((p.real - left) / height, (p.imag - low) / height) for p in stroke]
            for stroke in strokes
        ]
    )
    off = {}
    for digit, lines in DIGITS.items():
        first = min(x for line in lines for x, _ in line)
        known = shapely.MultiLineString([[((x - first) / 6, y / 6) for x, y in ln] for ln in lines])
        off[digit] = shapely.hausdorff_distance(drawn, known, densify=0.05)
    best = min(off, key=lambda digit: off[digit])
    assert off[best] < NEAR, f"no digit is drawn there; the nearest, {best}, is off by {off[best]}"
    return best
