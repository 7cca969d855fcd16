"""Cut a written drawing in the computer and look at what falls out.

The drawing is read by parsers that share no code with the package (the standard library's XML
parser, svgpathtools for the paths). A round beam as wide as the kerf is swept along each path in
document order; whatever it parts from the sheet drops, and must not be cut again.

Everything here is in the drawing's frame turned upright: mm, y up, origin at the lower left.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any
from xml.etree import ElementTree

import numpy as np
import shapely
import svgpathtools
from numpy.typing import NDArray
from shapely.geometry import LineString, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

SVG = "{http://www.w3.org/2000/svg}"
OPERATIONS = ("mark", "cut-inner", "cut-outer")
SAGITTA = 1e-4
"""How far the chords of a flattened arc may lie inside it, mm."""
TOUCH = 2e-3
"""Cuts that come this close to a dropped piece only touch it, mm: above the flattening, far below
a kerf."""
BLADE = 1e-4
"""Width of the slot of a cutter that removes nothing, mm."""
WRITTEN = 1e-6
"""The last decimal of a written coordinate, mm: by so much a path may seem to leave the sheet."""
QUADRANT = 32
"""Chords in a quarter of the beam's round."""


class CutFault(AssertionError):
    """The drawing would spoil the work, or breaks a rule of the cut drawings."""


@dataclass(frozen=True)
class CutPath:
    """One ``<path>``: its attributes, its own segments, and its subpaths as fine polylines."""

    id: str
    operation: str
    title: str
    data: str
    closed: bool
    segments: tuple[Any, ...]
    lines: tuple[NDArray[np.float64], ...]


@dataclass(frozen=True)
class CutFile:
    """A cut drawing as read: page size in mm and its paths in document order."""

    width: float
    height: float
    paths: tuple[CutPath, ...]


@dataclass(frozen=True)
class Piece:
    """What fell: its shape, and the path that set it free.

    ``operation`` is that of the path for what lay inside it, ``scrap`` for what a cut parted from
    the sheet on its outer side.
    """

    polygon: Polygon
    path: str
    operation: str
    title: str


def read_cut_drawing(svg_text: str) -> CutFile:
    """Read a cut drawing and hold it to the rules of its format."""
    root = ElementTree.fromstring(svg_text)
    require(root.tag == f"{SVG}svg", f"the root is {root.tag}")
    box = [float(number) for number in root.attrib["viewBox"].split()]
    require(box[:2] == [0.0, 0.0], f"the viewBox starts at {box[:2]}")
    for name, extent in zip(("width", "height"), box[2:], strict=True):
        require(root.attrib[name].endswith("mm"), f"{name} is not in mm: {root.attrib[name]}")
        require(float(root.attrib[name][:-2]) == extent, f"{name} and viewBox differ")
    paths = []
    for element in root:
        if element.tag == f"{SVG}title":
            continue
        require(element.tag == f"{SVG}g", f"{element.tag} on the page")
        operation = element.get("class", "")
        require(operation in OPERATIONS, f"a group of class {operation!r}")
        require(element.get("fill") == "none", "a group is filled")
        require(bool(re.fullmatch("#[0-9a-fA-F]{6}", element.get("stroke", ""))), "no stroke")
        paths += [_read_path(child, operation, box[3]) for child in element]
    for element in root.iter():
        require("transform" not in element.attrib, f"{element.get('id')} is transformed")
    for id, count in Counter(path.id for path in paths).items():
        require(count == 1, f"{count} paths have the id {id}")
    return CutFile(box[2], box[3], tuple(paths))


def virtual_cut(
    svg_text: str,
    sheet_outline_points: Sequence[tuple[float, float]] | Polygon | MultiPolygon,
    kerf: float,
) -> list[Piece]:
    """Cut the drawing out of a sheet; return the pieces in the order in which they drop.

    Parameters
    ----------
    svg_text
        The written drawing.
    sheet_outline_points
        The sheet's corners, or its polygon; a MultiPolygon where several lie side by side.
    kerf
        Full width of the beam in mm; 0 for a knife.

    Raises
    ------
    CutFault
        If a path leaves the sheet, cuts into a piece that has dropped, or frees nothing.
    """
    sheet: BaseGeometry = (
        sheet_outline_points
        if isinstance(sheet_outline_points, BaseGeometry)
        else Polygon(sheet_outline_points)
    )
    bed = _Bed(sheet, list(polygons_of(sheet)))
    for path in read_cut_drawing(svg_text).paths:
        require(path.closed or path.operation == "mark", f"{path.id} is open")
        for line in path.lines:
            if path.operation == "mark":
                bed.mark(path, LineString(line))
            else:
                bed.cut(path, line, max(kerf, BLADE))
    return bed.fallen


@dataclass
class _Bed:
    """The sheets, what is still whole of them, and what has fallen out, in order."""

    sheet: BaseGeometry
    standing: list[Polygon]
    fallen: list[Piece] = field(default_factory=list)
    cores: list[BaseGeometry] = field(default_factory=list)

    def mark(self, path: CutPath, line: LineString) -> None:
        require(self.sheet.covers(line), f"{path.id} leaves the sheet")
        self._require_on_bed(path, line)

    def cut(self, path: CutPath, line: NDArray[np.float64], width: float) -> None:
        inside = Polygon(line)
        require(inside.is_valid, f"{path.id} crosses itself")
        beam = LineString(line).buffer(width / 2, quad_segs=QUADRANT)
        over = beam.difference(self.sheet.buffer(WRITTEN, join_style="mitre"))
        require(over.area < 1e-6, f"{path.id} leaves the sheet")
        self._require_on_bed(path, beam)
        # Of a hole under two kerfs wide the beam leaves nothing that could fall.
        is_all_beam = inside.difference(beam.buffer(TOUCH)).is_empty and any(
            whole.buffer(TOUCH).covers(inside) for whole in self.standing
        )
        before = len(self.fallen)
        standing = []
        for whole in self.standing:
            if beam.intersects(whole):
                standing += self._parted(path, whole.difference(beam), inside)
            else:
                standing.append(whole)
        self.standing = standing
        require(is_all_beam or len(self.fallen) > before, f"{path.id} frees nothing")

    def _parted(self, path: CutPath, rest: BaseGeometry, inside: Polygon) -> list[Polygon]:
        """Let fall what lies inside the path and all but the largest piece outside."""
        outside = []
        for polygon in polygons_of(rest):
            if inside.contains(polygon.representative_point()):
                self._drop(Piece(polygon, path.id, path.operation, path.title))
            else:
                outside.append(polygon)
        outside.sort(key=lambda polygon: -polygon.area)
        for polygon in outside[1:]:
            self._drop(Piece(polygon, path.id, "scrap", path.title))
        return outside[:1]

    def _drop(self, piece: Piece) -> None:
        self.fallen.append(piece)
        self.cores.append(piece.polygon.buffer(-TOUCH))

    def _require_on_bed(self, path: CutPath, shape: BaseGeometry) -> None:
        for piece, core in zip(self.fallen, self.cores, strict=True):
            require(
                not shape.intersects(core),
                f"{path.id} runs over the piece that {piece.path} has dropped",
            )


def assert_cut_gives(
    pieces: Iterable[Piece],
    expected_polygons: Iterable[Polygon],
    tolerance: float,
    kerf: float = 0.0,
) -> None:
    """Check that the parts among the pieces are the expected ones, each exactly once.

    A round beam of diameter ``kerf`` cannot leave a sharper hollow than its own: every expected
    polygon is first closed by it (morphological closing: J. Serra, Image Analysis and Mathematical
    Morphology, 1982, from memory). After that no boundary may lie farther than ``tolerance`` mm
    from its counterpart, and no area may differ by more than this times the boundary's length.
    """
    parts = [piece for piece in pieces if piece.operation == "cut-outer"]
    expected = [closed_by_beam(polygon, kerf) for polygon in expected_polygons]
    if len(parts) != len(expected):
        raise CutFault(f"{len(parts)} parts dropped, {len(expected)} were expected")
    for polygon in expected:
        best = min(parts, key=lambda piece: boundary_distance(piece.polygon, polygon))
        distance = boundary_distance(best.polygon, polygon)
        centre = f"({polygon.centroid.x:.3f}, {polygon.centroid.y:.3f})"
        if distance > tolerance:
            raise CutFault(f"the part at {centre}: the nearest piece is {distance:.4f} mm off")
        if abs(best.polygon.area - polygon.area) > tolerance * polygon.length:
            raise CutFault(f"the part at {centre} has {best.polygon.area} mm2, not {polygon.area}")
        parts.remove(best)


def command_counts(data: str) -> Counter[str]:
    """Count the commands of a path's data by their letter."""
    return Counter(re.findall("[A-Za-z]", data))


def shape_counts(path: CutPath) -> tuple[int, int]:
    """Count the (arcs, lines) of a path; neighbours on one circle or one line count once."""
    segments = [segment for segment in path.segments if abs(segment.end - segment.start) > 1e-9]
    carriers = [_carrier(segment) for segment in segments]
    runs = [
        carrier
        for index, carrier in enumerate(carriers)
        if not _same(carrier, carriers[index - 1]) or len(carriers) == 1
    ]
    if not runs:  # all on one carrier: a circle
        runs = carriers[:1]
    kinds = Counter(carrier[0] for carrier in runs)
    return kinds["arc"], kinds["line"]


def assert_no_chords(paths: Iterable[CutPath]) -> None:
    """Check that no three lines in a row turn the same way by the same small angle."""
    for path in paths:
        lines = [s if isinstance(s, svgpathtools.Line) else None for s in path.segments]
        turns = [
            _turn(a, b) if a is not None and b is not None else 0.0
            for a, b in zip(lines, lines[1:] + lines[:1], strict=True)
        ]
        for a, b in zip(turns, turns[1:] + turns[:1], strict=True):
            # A cut may start inside a straight side: its two halves turn by rounding alone.
            turned = math.radians(0.01) < abs(a) < math.radians(20)
            chord_like = turned and abs(a - b) < 1e-3 * abs(a) + 1e-6
            require(not chord_like, f"{path.id} has chords where an arc belongs")


def nominal_polygon(region: Any) -> Polygon:
    """Flatten a region made of lines and arcs into a fine polygon."""
    return Polygon(_ring(region.outer), [_ring(hole) for hole in region.holes])


def require(condition: bool, fault: str) -> None:
    if not condition:
        raise CutFault(fault)


def _read_path(element: ElementTree.Element, operation: str, height: float) -> CutPath:
    id = element.get("id", "")
    require(element.tag == f"{SVG}path", f"{element.tag} in a group")
    require(bool(id), "a path has no id")
    require(element.get("class") == operation, f"{id} is of another class than its group")
    titles = [child.text or "" for child in element]
    require([child.tag for child in element] == [f"{SVG}title"], f"{id} needs one title")
    data = element.attrib["d"]
    require(set(command_counts(data)) <= set("MLAZ"), f"{id} has other commands: {data}")
    closed = data.rstrip().endswith("Z")
    require(not closed or data.count("M") == data.count("Z") == 1, f"{id} has several contours")
    parsed = svgpathtools.parse_path(data)
    lines = []
    for subpath in parsed.continuous_subpaths():
        corners = np.concatenate([_flattened(segment) for segment in subpath] + [[subpath.end]])
        lines.append(np.column_stack((corners.real, height - corners.imag)))
    return CutPath(id, operation, titles[0], data, closed, tuple(parsed), tuple(lines))


def _flattened(segment: Any) -> NDArray[np.complex128]:
    """Return points along a segment, without its end."""
    if isinstance(segment, svgpathtools.Line):
        return np.array([segment.start])
    require(isinstance(segment, svgpathtools.Arc), f"{segment} is neither line nor arc")
    require(abs(segment.radius.real - segment.radius.imag) < 1e-9, f"{segment} is no circle")
    radius, start, sweep = (
        segment.radius.real,
        math.radians(segment.theta),
        math.radians(segment.delta),
    )
    angles = start + np.linspace(0.0, sweep, _chords(radius, sweep), endpoint=False)
    points = np.asarray(segment.center + radius * np.exp(1j * angles))
    points[0] = segment.start  # the very end of the segment before, whatever the rounding
    return points


def _chords(radius: float, sweep: float) -> int:
    return max(2, math.ceil(abs(sweep) / (2.0 * math.acos(max(0.0, 1.0 - SAGITTA / radius)))))


def _ring(contour: Any) -> list[tuple[float, float]]:
    """Return points along a contour; its arcs are (centre, radius, start angle, sweep)."""
    points: list[tuple[float, float]] = []
    for segment in contour.segments:
        if len(segment) == 4:
            (x, y), radius, start, sweep = segment
            angles = start + np.linspace(0.0, sweep, _chords(radius, sweep), endpoint=False)
            points += zip(x + radius * np.cos(angles), y + radius * np.sin(angles), strict=True)
        else:
            points.append(segment[0])
    return points


def polygons_of(shape: BaseGeometry) -> Iterable[Polygon]:
    return (part for part in shapely.get_parts(shape) if isinstance(part, Polygon))


def closed_by_beam(polygon: Polygon, kerf: float) -> Polygon:
    """Return what is left of a polygon that a beam, or the slot of a blade, runs round."""
    if kerf == 0.0:
        # Next to nothing, but for the tips: a very narrow one is shorter by many times the slot.
        worn = polygon.buffer(-BLADE / 2)
        return worn if isinstance(worn, Polygon) and not worn.is_empty else polygon
    reach = kerf / 2 + 1e-6  # a slot just as wide as the beam is closed, wherever it lies
    closed = polygon.buffer(reach, quad_segs=2 * QUADRANT).buffer(-reach, quad_segs=2 * QUADRANT)
    *dust, whole = sorted(polygons_of(closed), key=lambda part: part.area)
    require(sum(part.area for part in dust) < 1e-6, "the closing of a part falls to pieces")
    return whole


def boundary_distance(a: Polygon, b: Polygon) -> float:
    """Return the Hausdorff distance of two boundaries; of their bounds where those differ."""
    rough = float(np.max(np.abs(np.subtract(a.bounds, b.bounds))))
    if rough > 1.0 or len(a.interiors) != len(b.interiors):
        return rough + 1.0
    return max(_farthest_corner(a, b), _farthest_corner(b, a))


def _farthest_corner(a: Polygon, b: Polygon) -> float:
    """Return how far the corners of one boundary lie from the other at most."""
    rings = [shapely.get_coordinates(ring) for ring in (b.exterior, *b.interiors)]
    sides = [shapely.linestrings(np.stack((ring[:-1], ring[1:]), axis=1)) for ring in rings]
    corners = shapely.points(shapely.get_coordinates(a))
    tree = shapely.STRtree(np.concatenate(sides))
    _, distances = tree.query_nearest(corners, return_distance=True, all_matches=False)
    return float(distances.max())


def _carrier(segment: Any) -> tuple[str, complex, float]:
    """Return what a segment lies on: an arc's centre and radius, a line's direction."""
    if isinstance(segment, svgpathtools.Arc):
        return "arc", segment.center, segment.radius.real
    direction = segment.end - segment.start
    return "line", direction / abs(direction), 0.0


def _same(a: tuple[str, complex, float], b: tuple[str, complex, float]) -> bool:
    slack = 1e-3 if a[0] == "arc" else 1e-6
    return a[0] == b[0] and abs(a[1] - b[1]) < slack and abs(a[2] - b[2]) < slack


def _turn(a: Any, b: Any) -> float:
    ratio = (b.end - b.start) / (a.end - a.start)
    return math.atan2(ratio.imag, ratio.real)
