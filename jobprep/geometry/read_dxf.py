"""Read the outlines of a DXF drawing as lines and arcs.

Read is what lies in model space on layers that are shown: ``LINE``, ``ARC``, ``CIRCLE``,
``ELLIPSE``, ``SPLINE``, ``LWPOLYLINE`` and ``POLYLINE`` with their bulges, and blocks of these.
``$INSUNITS`` sets the scale; a drawing without units is taken as mm. What is no outline (text,
dimensions, hatches, images, references to other files) is refused by name.

DXF angles are in degrees, anticlockwise about the entity's own extrusion direction, y up. A bulge
is the tangent of a quarter of the sweep, negative clockwise (DXF reference, LWPOLYLINE group 42).
"""

from __future__ import annotations

import logging
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any

from jobprep.errors import extra
from jobprep.geometry.fit_arcs import Curve, elliptic_path, fit_arcs
from jobprep.geometry.join_paths import MOST_SEGMENTS, OutlineError
from jobprep.geometry.outline import Arc, Line, Path, Point, Segment
from jobprep.units import MM_PER_INCH, TURN, from_degrees

if TYPE_CHECKING:
    from ezdxf.document import Drawing

MM_PER_UNIT = {
    0: 1.0,
    1: MM_PER_INCH,
    2: 304.8,
    4: 1.0,
    5: 10.0,
    6: 1000.0,
    8: 25.4e-6,
    9: 0.0254,
    10: 914.4,
    13: 0.001,
    14: 100.0,
}
"""mm per drawing unit by $INSUNITS: none, inch, foot, mm, cm, m, microinch, mil, yard, micron,
decimetre; the others (kilometres, light years) are no units for a part."""

BROKEN = (ArithmeticError, AttributeError, LookupError, TypeError, ValueError)
"""What broken values in a file lead to where they are used."""

DEEPEST = 16
"""Blocks within blocks."""

MOST_DEGREE = 15
"""Of a spline; drawing programs write 3, some 5."""

SPLINE_FRAME = 16
"""Vertex flag of a control point that the curve does not pass through."""


def read_dxf(path: FilePath, tolerance: float) -> list[Path]:
    """Return the paths of a drawing in document order, mm, y up.

    Parameters
    ----------
    path
        The file.
    tolerance
        Greatest distance between a curve that is neither straight nor round and its arcs, mm.

    Raises
    ------
    OutlineError
        If the drawing cannot be read or holds what is not an outline.
    """
    try:
        from ezdxf.filemanagement import readfile
    except ModuleNotFoundError:
        raise OutlineError(f"needs one more package to be read: {extra('dxf')}") from None

    logging.getLogger("ezdxf").addHandler(logging.NullHandler())  # it reports small repairs
    try:
        return _paths(readfile(path), tolerance, names_units=_names_units(path))
    except OutlineError:
        raise
    except Exception as error:  # broken files break the parser in as many ways
        raise OutlineError(f"cannot be read as DXF ({error})") from error


def _paths(document: Drawing, tolerance: float, *, names_units: bool) -> list[Path]:
    units = document.header.get("$INSUNITS", 0) if names_units else 0
    if units not in MM_PER_UNIT:
        raise OutlineError(f"is drawn in unit {units} of $INSUNITS; use mm (4) or inches (1)")
    shown = {
        layer.dxf.name.lower(): not (layer.is_off() or layer.is_frozen())
        for layer in document.layers
    }
    reader = _Reader(tolerance=tolerance, scale=MM_PER_UNIT[units], shown=shown)
    reader.entities(document.modelspace(), depth=0)
    return reader.paths


def _names_units(path: FilePath) -> bool:
    """Return whether a file sets $INSUNITS itself; the parser fills it in with metres."""
    return b"$INSUNITS" in path.read_bytes()


@dataclass(kw_only=True)
class _Reader:
    """Goes through entities; ``scale`` is mm per unit, ``shown`` says which layers are."""

    tolerance: float
    scale: float
    shown: Mapping[str, bool]
    paths: list[Path] = field(default_factory=list)
    visited: int = 0
    segments: int = 0

    def entities(self, entities: Iterable[Any], depth: int) -> None:
        """Read entities and, one level deeper, those of the blocks they insert."""
        for entity in entities:
            self.visited += 1
            if self.visited > MOST_SEGMENTS:
                raise OutlineError(f"holds more than {MOST_SEGMENTS} entities; simplify it")
            if self.is_hidden(entity):
                continue
            kind = entity.dxftype()
            if kind == "INSERT":
                self.block(entity, depth)
            elif kind in _READERS:
                self.entity(entity, _READERS[kind])
            else:
                raise OutlineError(f"holds a {kind}, which is no outline; remove it or its layer")

    def is_hidden(self, entity: Any) -> bool:
        """Return whether an entity is not to be seen; kinds unknown to the parser have no layer."""
        values = entity.dxf
        if values.hasattr("invisible") and values.invisible:
            return True
        return values.hasattr("layer") and not self.shown.get(values.layer.lower(), True)

    def block(self, insert: Any, depth: int) -> None:
        """Read an inserted block, once or as an array."""
        name = insert.dxf.name
        block = insert.block()
        if block is None:
            raise OutlineError(f"inserts the block {name!r}, which it does not hold")
        if block.block.is_xref or block.block.is_xref_overlay:
            raise OutlineError(f"refers to another drawing ({name!r}); bind it into this one first")
        self.visited += insert.mcount - 1
        if depth >= DEEPEST or self.visited > MOST_SEGMENTS:
            raise OutlineError(f"nests or repeats the block {name!r} too often; explode it first")

        def refuse(entity: Any, reason: str) -> None:
            kind = entity.dxftype()
            raise OutlineError(f"holds a {kind} in the block {name!r} that cannot be placed")

        for copy in insert.multi_insert() if insert.mcount > 1 else (insert,):
            self.entities(copy.virtual_entities(skipped_entity_callback=refuse), depth + 1)

    def entity(self, entity: Any, reader: Callable[[Any, float, float], Iterable[Path]]) -> None:
        """Keep the paths of one entity."""
        try:
            paths = tuple(reader(entity, self.scale, self.tolerance))
        except OutlineError:
            raise
        except BROKEN as error:
            raise OutlineError(
                f"holds a {entity.dxftype()} ({entity.dxf.handle}) that cannot be read"
            ) from error
        self.segments += sum(map(len, paths))
        if self.segments > MOST_SEGMENTS:
            raise OutlineError(f"has more than {MOST_SEGMENTS} segments; simplify the outline")
        self.paths += (path for path in paths if path)


def _line(entity: Any, scale: float, tolerance: float) -> list[Path]:
    return [_corners([entity.dxf.start, entity.dxf.end], scale, tolerance)]


def _circle(entity: Any, scale: float, tolerance: float) -> list[Path]:
    mirror = _mirror(entity)
    x, y, _ = entity.dxf.center
    centre = Point(mirror * x * scale, y * scale)
    radius = abs(entity.dxf.radius) * scale
    if radius == 0.0:
        return []
    start, sweep = 0.0, TURN
    if entity.dxftype() == "ARC":
        start = from_degrees(entity.dxf.start_angle)
        sweep = from_degrees((entity.dxf.end_angle - entity.dxf.start_angle) % 360.0) or TURN
    if mirror < 0.0:
        start, sweep = 0.5 * TURN - start, -sweep
    return [(Arc(centre, radius, start, sweep),)]


def _ellipse(entity: Any, scale: float, tolerance: float) -> list[Path]:
    _mirror(entity)  # refuses a tilted one; its axes say the rest
    centre, u, v = entity.dxf.center, entity.dxf.major_axis, entity.minor_axis
    start = entity.dxf.start_param
    sweep = (entity.dxf.end_param - start) % TURN or TURN
    middle, right, up = (Point(each.x * scale, each.y * scale) for each in (centre, u, v))
    return [elliptic_path(middle, right, up, start, sweep, tolerance)]


def _spline(entity: Any, scale: float, tolerance: float) -> list[Path]:
    if not entity.control_point_count():
        raise OutlineError("holds a SPLINE with fit points only; save it with its control points")
    _corners(entity.control_points, scale, tolerance)  # refuses one that is not flat
    spline = entity.construction_tool()
    if spline.degree > MOST_DEGREE or spline.count > MOST_SEGMENTS:
        raise OutlineError("holds a SPLINE of a high degree or too many points; simplify it")
    knots = spline.knots()
    order = spline.order
    evaluator = spline.evaluator
    spans = sorted(set(knots[order - 1 : len(knots) - order + 1]))
    path: list[Segment] = []
    for low, high in pairwise(spans):
        path += fit_arcs(_span(evaluator, low, high, scale), tolerance)
        if len(path) > MOST_SEGMENTS:
            raise OutlineError(f"has more than {MOST_SEGMENTS} segments; simplify the outline")
    return [tuple(path)]


def _span(evaluator: Any, low: float, high: float, scale: float) -> Curve:
    """Return a spline between two neighbouring knots, where it is smooth."""
    length = high - low
    # At a knot the spline may turn; a velocity is therefore taken a little inside its own span.
    inside = 1e-11

    def point(t: float) -> Point:
        x, y, _ = evaluator.point(low + t * length)
        return Point(x * scale, y * scale)

    def velocity(t: float) -> Point:
        t = min(max(t, inside), 1.0 - inside)
        x, y, _ = evaluator.derivative(low + t * length, 1)[1]
        return Point(x * scale * length, y * scale * length)

    return Curve(point, velocity)


def _lwpolyline(entity: Any, scale: float, tolerance: float) -> list[Path]:
    mirror = _mirror(entity)
    corners = [
        (Point(mirror * x * scale, y * scale), mirror * bulge)
        for x, y, bulge in (map(float, point) for point in entity.get_points("xyb"))
    ]
    return [_bulged(corners, closed=entity.closed)]


def _polyline(entity: Any, scale: float, tolerance: float) -> list[Path]:
    vertices = [each for each in entity.vertices if not each.dxf.flags & SPLINE_FRAME]
    if entity.is_3d_polyline:
        points = [vertex.dxf.location for vertex in vertices]
        return [_corners(points + points[:1] * entity.is_closed, scale, tolerance)]
    if not entity.is_2d_polyline:
        raise OutlineError("holds a mesh (POLYLINE), which is no outline; remove it")
    mirror = _mirror(entity)
    corners = [
        (
            Point(mirror * vertex.dxf.location.x * scale, vertex.dxf.location.y * scale),
            mirror * vertex.dxf.get("bulge", 0.0),
        )
        for vertex in vertices
    ]
    return [_bulged(corners, closed=entity.is_closed)]


def _bulged(corners: list[tuple[Point, float]], *, closed: bool) -> Path:
    """Return lines and arcs from corner to corner; each bulge is that of the way onwards."""
    ring = corners + corners[:1] if closed else corners
    return tuple(
        bulge_segment(start, end, bulge)
        for (start, bulge), (end, _) in pairwise(ring)
        if start != end
    )


def bulge_segment(start: Point, end: Point, bulge: float) -> Segment:
    """Return the arc between two points that sweeps four times the arc tangent of ``bulge``."""
    sweep = 4.0 * math.atan(bulge)
    if sweep == 0.0:
        return Line(start, end)
    dx, dy = end.x - start.x, end.y - start.y
    # From the chord's middle the centre lies this share of the chord to the left.
    left = 0.25 * (1.0 / bulge - bulge)
    centre = Point(0.5 * (start.x + end.x) - left * dy, 0.5 * (start.y + end.y) + left * dx)
    angle = math.atan2(start.y - centre.y, start.x - centre.x)
    return Arc(centre, math.dist(centre, start), angle, sweep)


def _corners(points: Iterable[Any], scale: float, tolerance: float) -> Path:
    """Return lines through points in space that lie at one height."""
    points = list(points)
    heights = [point[2] * scale for point in points]
    if max(heights) - min(heights) > tolerance:
        raise OutlineError("is not flat; draw the outline in the plane z = 0")
    flat = [Point(point[0] * scale, point[1] * scale) for point in points]
    return tuple(Line(a, b) for a, b in pairwise(flat) if a != b)


def _mirror(entity: Any) -> float:
    """Return -1 for an entity seen from below, whose own x axis runs to the left, else 1."""
    x, y, z = entity.dxf.get("extrusion", (0.0, 0.0, 1.0))
    if math.hypot(x, y) > 1e-9 * abs(z):
        raise OutlineError("holds a tilted entity; draw the outline in the plane z = 0")
    return math.copysign(1.0, z)


_READERS: Mapping[str, Callable[[Any, float, float], Iterable[Path]]] = {
    "LINE": _line,
    "ARC": _circle,
    "CIRCLE": _circle,
    "ELLIPSE": _ellipse,
    "SPLINE": _spline,
    "LWPOLYLINE": _lwpolyline,
    "POLYLINE": _polyline,
}
