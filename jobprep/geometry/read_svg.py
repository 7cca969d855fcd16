"""Read the outlines of an SVG drawing as lines and arcs.

Drawn are ``path``, ``rect``, ``circle``, ``ellipse``, ``line``, ``polyline``, ``polygon`` and
``use`` of them, in groups, with their transforms; stroke and fill do not matter, hidden elements
are left out. What would change or hide the outline (text, images, clips, animation, a style sheet
that moves or hides) is refused by name, and so are scripts, entities and references to anything
outside the file.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any, NamedTuple
from xml.etree import ElementTree

from jobprep.geometry.affine import Affine
from jobprep.geometry.fit_arcs import bezier, elliptic_path, fit_arcs
from jobprep.geometry.join_paths import MOST_SEGMENTS, OutlineError
from jobprep.geometry.outline import Line, Path, Point, Segment
from jobprep.geometry.svg_document import (
    NUMBER,
    Page,
    element_name,
    length_of,
    page_box,
    page_of,
    parse_svg,
    style_of,
    transform_of,
)
from jobprep.units import TURN

DEEPEST = 64
"""Groups within groups."""

LONGEST_POINTS = 50 * MOST_SEGMENTS
"""Characters of a polygon's corners."""

_PATH_DATA = re.compile(r"[\sMmZzLlHhVvCcSsQqTtAaeE0-9.,+-]*")
_SHAPES = ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")
_GROUPS = ("g", "a")
_NOT_DRAWN = (
    *("title", "desc", "metadata", "defs", "style", "symbol", "linearGradient", "radialGradient"),
    *("marker", "pattern", "clipPath", "mask", "filter", "view", "cursor"),
)


class Shape(NamedTuple):
    """One drawn element: its paths, and the elements it stands in, itself the last.

    ``to_mm`` maps its own user units, in which its strokes are measured.
    """

    paths: tuple[Path, ...]
    within: tuple[ElementTree.Element, ...]
    to_mm: Affine


class Shapes(NamedTuple):
    """All shapes of a drawing and the middle and size of its page; mm, y up.

    ``units_per_mm`` is how many user units a mm of a length with a unit stands for.
    """

    shapes: tuple[Shape, ...]
    middle: Point
    width: float
    height: float
    units_per_mm: float


def read_svg(data: bytes, tolerance: float) -> list[Path]:
    """Return the paths of a drawing in document order, mm, y up.

    Parameters
    ----------
    data
        The file.
    tolerance
        Greatest distance between a curve that is neither straight nor round and its arcs, mm.

    Raises
    ------
    OutlineError
        If the drawing cannot be read or holds what is not an outline.
    """
    root = parse_svg(data)
    return _read(root, page_of(root), tolerance).paths


def read_svg_shapes(data: bytes, tolerance: float) -> Shapes:
    """Return the shapes of a drawing in document order, each with the elements that style it.

    Arguments and errors are those of ``read_svg``; a drawing without a page is refused too.
    """
    root = parse_svg(data)
    page = page_of(root)
    left, top, width, height = page_box(root, page.units_per_mm)
    middle = page.to_mm.at(left + width / 2.0, top + height / 2.0)
    across, up = page.to_mm.turned(width, 0.0).x, -page.to_mm.turned(0.0, height).y
    shapes = _read(root, page, tolerance).shapes
    return Shapes(tuple(shapes), middle, across, up, page.units_per_mm)


def _read(root: ElementTree.Element, page: Page, tolerance: float) -> _Reader:
    reader = _Reader(
        tolerance=tolerance,
        units_per_mm=page.units_per_mm,
        by_id={element.get("id", ""): element for element in root.iter()},
        within=[root],
    )
    reader.children(root, page.to_mm.after(transform_of(root)), hidden=False, depth=0)
    return reader


@dataclass(kw_only=True)
class _Reader:
    """Walks the elements; ``units_per_mm`` is for lengths written with a unit.

    ``within`` are the elements that are being read, the outermost first.
    """

    tolerance: float
    units_per_mm: float
    by_id: Mapping[str, ElementTree.Element]
    within: list[ElementTree.Element]
    paths: list[Path] = field(default_factory=list)
    shapes: list[Shape] = field(default_factory=list)
    visited: int = 0
    segments: int = 0

    def children(
        self, element: ElementTree.Element, to_mm: Affine, *, hidden: bool, depth: int
    ) -> None:
        """Read everything drawn in a group."""
        for child in element:
            self.element(child, to_mm, hidden=hidden, depth=depth)

    def element(
        self, element: ElementTree.Element, to_mm: Affine, *, hidden: bool, depth: int
    ) -> None:
        """Read one element; ``to_mm`` maps its parent's user units to mm."""
        name = element_name(element)
        self.visited += 1
        if self.visited > MOST_SEGMENTS:
            raise OutlineError(f"holds more than {MOST_SEGMENTS} elements; simplify it")
        if not name or name in _NOT_DRAWN:
            return
        if depth > DEEPEST:
            raise OutlineError(f"nests groups or uses more than {DEEPEST} deep; flatten them")
        style = style_of(element)
        if style.get("display") == "none":
            return
        hidden = style.get("visibility", "hidden" if hidden else "") in ("hidden", "collapse")
        for key in ("clip-path", "mask", "transform"):
            if style.get(key, "none") != "none":
                raise OutlineError(
                    f"has a {key} style on <{name}>, which is not followed; apply it first"
                )
        to_mm = to_mm.after(transform_of(element))
        self.within.append(element)
        if name in _GROUPS:
            self.children(element, to_mm, hidden=hidden, depth=depth + 1)
        elif name == "use":
            self.use(element, to_mm, hidden=hidden, depth=depth)
        elif name not in _SHAPES:
            raise OutlineError(
                f"holds a <{name}>, which is no outline; convert it to a path or remove it"
            )
        elif not hidden:
            before = len(self.paths)
            try:
                self.shape(element, to_mm)
            except OutlineError:
                raise
            except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as error:
                label = element.get("id", "without id")
                raise OutlineError(f"has a <{name}> ({label}) that cannot be read") from error
            self.shapes.append(Shape(tuple(self.paths[before:]), tuple(self.within), to_mm))
        self.within.pop()

    def use(self, element: ElementTree.Element, to_mm: Affine, *, hidden: bool, depth: int) -> None:
        """Read what a ``use`` stands for."""
        href = element.get("href") or element.get("{http://www.w3.org/1999/xlink}href") or ""
        target = self.by_id.get(href.removeprefix("#"))
        if target is None:
            raise OutlineError(f"uses {href!r}, which it does not hold")
        shift = Affine(1.0, 0.0, 0.0, 1.0, *self.lengths(element, "x", "y"))
        if element_name(target) == "symbol":
            if target.get("viewBox"):
                raise OutlineError("uses a symbol with its own viewBox; unlink it first")
            self.within.append(target)
            self.children(target, to_mm.after(shift), hidden=hidden, depth=depth + 1)
            self.within.pop()
        else:
            self.element(target, to_mm.after(shift), hidden=hidden, depth=depth + 1)

    def shape(self, element: ElementTree.Element, to_mm: Affine) -> None:
        """Read one drawn shape."""
        name = element_name(element)
        if name == "path":
            self.path_data(element, to_mm)
        elif name in ("circle", "ellipse"):
            self.round_shape(element, to_mm)
        elif name == "rect":
            self.rect(element, to_mm)
        elif name == "line":
            ends = [self.lengths(element, "x1", "y1"), self.lengths(element, "x2", "y2")]
            self.corners(ends, to_mm, closed=False)
        else:
            text = element.get("points", "")
            if len(text) > LONGEST_POINTS:
                raise OutlineError(_too_many())
            numbers = [float(n) for n in re.findall(NUMBER, text)]
            points = list(zip(numbers[::2], numbers[1::2], strict=False))
            self.corners(points, to_mm, closed=name == "polygon")

    def corners(self, points: Iterable[Sequence[float]], to_mm: Affine, *, closed: bool) -> None:
        """Read straight lines from point to point."""
        mapped = [to_mm.at(*point) for point in points]
        if closed:
            mapped += mapped[:1]
        self.add(Line(a, b) for a, b in pairwise(mapped))

    def round_shape(self, element: ElementTree.Element, to_mm: Affine) -> None:
        """Read a circle or an ellipse."""
        keys = ("r", "r") if element_name(element) == "circle" else ("rx", "ry")
        rx, ry = self.lengths(element, *keys)
        if rx > 0.0 and ry > 0.0:
            centre = to_mm.at(*self.lengths(element, "cx", "cy"))
            u, v = to_mm.turned(rx, 0.0), to_mm.turned(0.0, ry)
            self.add(elliptic_path(centre, u, v, 0.0, TURN, self.tolerance))

    def rect(self, element: ElementTree.Element, to_mm: Affine) -> None:
        """Read a rectangle, corners rounded by quarter ellipses where it says so."""
        x, y, width, height = self.lengths(element, "x", "y", "width", "height")
        if not (width > 0.0 and height > 0.0):
            return
        rx, ry = self.lengths(
            element,
            *[key if element.get(key) else other for key, other in (("rx", "ry"), ("ry", "rx"))],
        )
        rx, ry = min(rx, 0.5 * width), min(ry, 0.5 * height)
        if not (rx > 0.0 and ry > 0.0):
            box = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
            self.corners(box, to_mm, closed=True)
            return
        left, right, top, bottom = x + rx, x + width - rx, y + ry, y + height - ry
        u, v = to_mm.turned(rx, 0.0), to_mm.turned(0.0, ry)
        corners = [
            elliptic_path(to_mm.at(*corner), u, v, 0.25 * TURN * i, 0.25 * TURN, self.tolerance)
            for i, corner in enumerate(((right, bottom), (left, bottom), (left, top), (right, top)))
        ]
        rounded = [arcs for arcs in corners if arcs]
        segments: list[Segment] = []
        for before, arcs in zip(rounded[-1:] + rounded, rounded, strict=False):
            segments += (Line(before[-1].end, arcs[0].start), *arcs)
        self.add(segments)

    def path_data(self, element: ElementTree.Element, to_mm: Affine) -> None:
        """Read the data of a path, each of its subpaths as a path of its own."""
        from svgelements import Close, Move
        from svgelements import Path as PathData

        data = element.get("d", "")
        if not _PATH_DATA.fullmatch(data):
            raise ValueError(data)
        if len(re.findall(r"[0-9.]+", data)) > 7 * MOST_SEGMENTS:  # an arc takes 7 numbers
            raise OutlineError(_too_many())
        run: list[Segment] = []
        for command in PathData(data):
            if isinstance(command, Move):
                self.add(run)
                run = []
                continue
            run += self.command(command, to_mm)
            if len(run) > MOST_SEGMENTS:
                raise OutlineError(_too_many())
            if isinstance(command, Close):
                self.add(run)
                run = []
        self.add(run)

    def command(self, command: Any, to_mm: Affine) -> Iterable[Segment]:
        """Return the segments of one path command."""
        from svgelements import Arc as EllipticArc
        from svgelements import CubicBezier, QuadraticBezier

        start, end = to_mm.at(*command.start), to_mm.at(*command.end)
        if isinstance(command, EllipticArc):
            if command.rx > 0.0 and command.ry > 0.0:
                cos, sin = math.cos(command.get_rotation()), math.sin(command.get_rotation())
                u = to_mm.turned(command.rx * cos, command.rx * sin)
                v = to_mm.turned(-command.ry * sin, command.ry * cos)
                first, sweep = float(command.get_start_t()), float(command.sweep)
                return elliptic_path(to_mm.at(*command.center), u, v, first, sweep, self.tolerance)
        elif isinstance(command, CubicBezier):
            controls = (to_mm.at(*command.control1), to_mm.at(*command.control2))
            return fit_arcs(bezier([start, *controls, end]), self.tolerance)
        elif isinstance(command, QuadraticBezier):
            return fit_arcs(bezier([start, to_mm.at(*command.control), end]), self.tolerance)
        return (Line(start, end),)

    def lengths(self, element: ElementTree.Element, *keys: str) -> list[float]:
        """Return length attributes in user units."""
        return [length_of(element, key, self.units_per_mm) for key in keys]

    def add(self, segments: Iterable[Segment]) -> None:
        """Keep one path, if there is anything of it."""
        path = tuple(segments)
        if path:
            self.segments += len(path)
            if self.segments > MOST_SEGMENTS:
                raise OutlineError(_too_many())
            self.paths.append(path)


def _too_many() -> str:
    return f"has more than {MOST_SEGMENTS} segments; simplify the outline"
