"""Read the outlines of an SVG drawing as lines and arcs.

Drawn are ``path``, ``rect``, ``circle``, ``ellipse``, ``line``, ``polyline``, ``polygon`` and
``use`` of them, in groups, symbols and nested ``svg`` elements, with their transforms and styles;
stroke and fill do not matter, hidden elements are left out. ``svg_properties`` lists what changes
an outline: it is followed or refused by name. Text, images and whatever else is no outline is
refused, and so are scripts, entities and references to anything outside the file.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import NamedTuple
from xml.etree import ElementTree

from jobprep.geometry.affine import IDENTITY, Affine, shift
from jobprep.geometry.join_paths import MOST_SEGMENTS, OutlineError
from jobprep.geometry.measure import bounds
from jobprep.geometry.outline import Path, Point
from jobprep.geometry.svg_document import element_name, label_of, parse_svg
from jobprep.geometry.svg_lengths import Lengths
from jobprep.geometry.svg_path_data import too_many_segments
from jobprep.geometry.svg_properties import GROUPS, NOT_DRAWN, SHAPES
from jobprep.geometry.svg_shapes import shape_paths
from jobprep.geometry.svg_style import (
    Style,
    Styles,
    is_displayed,
    is_hidden,
    refuse_unfollowed,
    shown,
)
from jobprep.geometry.svg_transform import Box, has_transform, transform_of
from jobprep.geometry.svg_viewport import Page, is_within, page_of, shows_all, viewport_of

DEEPEST = 64
"""Groups within groups."""

FINER = 0.1
"""Share of the tolerance within which the box of an element is measured: turns enlarge it."""

_HREF = "{http://www.w3.org/1999/xlink}href"


class Within(NamedTuple):
    """An element that a shape stands in, with what it declares."""

    element: ElementTree.Element
    style: Style


class Shape(NamedTuple):
    """One drawn element: its paths, and the elements it stands in, itself the last.

    ``to_mm`` maps its own user units, in which its strokes are measured; ``lengths`` reads them.
    """

    paths: tuple[Path, ...]
    within: tuple[Within, ...]
    to_mm: Affine
    lengths: Lengths


class DrawnShapes(NamedTuple):
    """All shapes of a drawing and the middle and size of its page; mm, y up."""

    shapes: tuple[Shape, ...]
    middle: Point
    width: float
    height: float


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
    _, shapes = _read(data, tolerance, frozenset())
    return [path for shape in shapes for path in shape.paths]


def read_svg_shapes(data: bytes, tolerance: float, further: frozenset[str]) -> DrawnShapes:
    """Return the shapes of a drawing in document order, each with the elements that style it.

    ``further`` are the properties asked for beside those of geometry. The other arguments and the
    errors are those of ``read_svg``; a drawing without a page is refused too.
    """
    page, shapes = _read(data, tolerance, further)
    if not (page.width and page.height):
        raise OutlineError(
            "has no page; give it a width and height in mm, or a viewBox, so that its middle is "
            "known"
        )
    middle = Point(0.5 * page.width, 0.5 * page.height)
    return DrawnShapes(tuple(shapes), middle, page.width, page.height)


def _read(data: bytes, tolerance: float, further: frozenset[str]) -> tuple[Page, list[Shape]]:
    root = parse_svg(data)
    styles = Styles(root=root, further=further)
    style = styles.of(root)
    page = page_of(root, style)
    reader = _Reader(styles=styles, by_id=_by_id(root), tolerance=tolerance)
    if is_displayed(root, style):
        refuse_unfollowed(root, style)
        reader.within.append(Within(root, style))
        hidden = is_hidden(root, style, parent=False)
        reader.children(root, _Place(page.to_mm, page.lengths, hidden=hidden, depth=0))
    return page, reader.shapes


def _by_id(root: ElementTree.Element) -> dict[str, ElementTree.Element]:
    """Return the elements by their ids, of several with one id the first (DOM, 4.2.4)."""
    found: dict[str, ElementTree.Element] = {}
    for element in root.iter():
        found.setdefault(element.get("id", ""), element)
    return found


class _Place(NamedTuple):
    """Where elements are read: ``to_mm`` maps the user units around them."""

    to_mm: Affine
    lengths: Lengths
    hidden: bool
    depth: int

    def inside(self, to_mm: Affine) -> _Place:
        return self._replace(to_mm=to_mm, depth=self.depth + 1)


@dataclass(kw_only=True)
class _Reader:
    """Walks the elements; ``within`` are those that are being read, the outermost first."""

    styles: Styles
    by_id: Mapping[str, ElementTree.Element]
    tolerance: float
    elements: int = 0
    segments: int = 0
    looked_at: int = 0
    within: list[Within] = field(default_factory=list)
    shapes: list[Shape] = field(default_factory=list)

    def children(self, element: ElementTree.Element, place: _Place) -> None:
        """Read everything drawn in a group."""
        for child in element:
            self.element(child, place)

    def element(
        self, element: ElementTree.Element, place: _Place, use: Within | None = None
    ) -> None:
        """Read one element; ``use`` is what stands for it elsewhere."""
        name = element_name(element)
        self.elements += 1
        if self.elements > MOST_SEGMENTS:
            raise OutlineError(f"holds more than {MOST_SEGMENTS} elements; simplify it")
        is_symbol = name == "symbol" and use is not None
        if not name or (name in NOT_DRAWN and not is_symbol):
            return
        if place.depth > DEEPEST:
            raise OutlineError(f"nests groups or uses more than {DEEPEST} deep; flatten them")
        style = self.styles.of(element)
        if not is_displayed(element, style) and not is_symbol:
            return
        if name not in (*SHAPES, *GROUPS, "use", "svg", "symbol"):
            raise OutlineError(
                f"holds a <{name}>, which is no outline; convert it to a path or remove it"
            )
        if name == "a" and element_name(self.within[-1].element) == "a":
            raise OutlineError("holds an <a> in an <a>, which is not shown; ungroup one of them")
        refuse_unfollowed(element, style)
        place = place._replace(hidden=is_hidden(element, style, parent=place.hidden))
        self.within.append(Within(element, style))
        if is_symbol and has_transform(style):
            raise OutlineError(
                f"has a transform on {label_of(element)}, which is not followed; move it to the"
                " <use>"
            )
        box = cache(lambda: self.fill_box(place))
        placed = place.to_mm.after(transform_of(element, style, place.lengths, box))
        self.contents(place._replace(to_mm=placed), use)
        self.within.pop()

    def contents(self, place: _Place, use: Within | None) -> None:
        """Read what the last element within holds, itself placed already."""
        element, style = self.within[-1]
        name = element_name(element)
        if name in GROUPS:
            self.children(element, place.inside(place.to_mm))
        elif name == "use":
            self.use(place)
        elif name in ("svg", "symbol"):
            self.viewport(place, use)
        elif not place.hidden:
            self.shape(element, style, place)

    def use(self, place: _Place) -> None:
        """Read what a ``use`` stands for."""
        element, style = self.within[-1]
        href = element.get("href", element.get(_HREF, ""))
        target = self.by_id.get(href.removeprefix("#"))
        if target is None:
            raise OutlineError(f"uses {href!r}, which it does not hold")
        x, y = (place.lengths.of(element, style, key) or 0.0 for key in ("x", "y"))
        to_mm = place.to_mm.after(shift(x, y))
        self.element(target, place.inside(to_mm), use=self.within[-1])

    def viewport(self, place: _Place, use: Within | None) -> None:
        """Read a nested ``svg`` or a used ``symbol``; refuses what it cuts off."""
        element, style = self.within[-1]
        viewport = viewport_of(element, style, place.lengths, use)
        if viewport is None:
            return
        before = len(self.shapes)
        to_mm = place.to_mm.after(viewport.to_parent)
        self.children(element, place.inside(to_mm)._replace(lengths=viewport.lengths))
        paths = [path for shape in self.shapes[before:] for path in shape.paths]
        if shows_all(style):
            return
        self.looked_at += sum(map(len, paths))
        if self.looked_at > 5 * MOST_SEGMENTS:
            raise OutlineError("nests too many <svg> or <symbol> in each other; flatten them")
        if is_within(paths, place.to_mm, viewport.seen, 2.0 * self.tolerance):
            return
        raise OutlineError(
            f"draws beyond the edge of {label_of(element)}, which hides that; draw it within or set"
            " overflow to visible"
        )

    def shape(self, element: ElementTree.Element, style: Style, place: _Place) -> None:
        """Read one drawn shape."""
        paths = []
        for path in shape_paths(element, style, place.lengths, place.to_mm, self.tolerance):
            self.segments += len(path)
            if self.segments > MOST_SEGMENTS:
                raise OutlineError(too_many_segments())
            paths.append(path)
        self.shapes.append(Shape(tuple(paths), tuple(self.within), place.to_mm, place.lengths))

    def fill_box(self, place: _Place) -> Box:
        """Return the bounding box of the last element within, in its own units, without strokes."""
        element, style = self.within[-1]
        if element_name(element) not in SHAPES:
            raise OutlineError(
                f"has {shown('transform-box', style['transform-box'])} on {label_of(element)},"
                " which is followed on shapes alone; give its transform-origin in px"
            )
        scale = place.to_mm.scale
        tolerance = self.tolerance * FINER / scale if 0.0 < scale < math.inf else self.tolerance
        paths = shape_paths(element, style, place.lengths, IDENTITY, tolerance)
        found = [bounds(path) for path in paths]
        if not found:
            return Box(0.0, 0.0, 0.0, 0.0)
        x, y = min(box.x_min for box in found), min(box.y_min for box in found)
        across, down = max(box.x_max for box in found) - x, max(box.y_max for box in found) - y
        return Box(x, y, across, down)
