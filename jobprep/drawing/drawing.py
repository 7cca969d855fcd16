"""A neutral drawing: strokes, fills, texts and groups, in mm, y up; every format is one writer.

Terminology
-----------
element   a stroke, a fill, a text, a raster, or a group of elements
layer     what an element is for; how a layer looks is said once for the whole drawing: in a drawing
          to cut by its colours, on a page by the page's style
ink       the colour of the text around a drawing, black on paper

Elements lie in the order in which they are cut, or painted, the first lowest. What has no pen or
colour of its own has that of its group or its layer. Windows are for paper alone; rasters are for
paper and pictures, never for what is cut.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any, Literal, NamedTuple

from jobprep.geometry.affine import IDENTITY, Affine
from jobprep.geometry.outline import (
    Line,
    Path,
    Point,
    Region,
    mirrored_path,
    moved_path,
)

INK = "currentColor"

Anchor = Literal["start", "middle", "end"]
Cap = Literal["butt", "round", "square"]
Join = Literal["miter", "round", "bevel"]


class Pen(NamedTuple):
    """How a stroke is drawn: ``width`` and the on and off lengths of ``dashes`` are mm."""

    width: float
    colour: str = INK
    dashes: tuple[float, ...] = ()
    cap: Cap = "butt"
    join: Join = "miter"


class Reuse(NamedTuple):
    """Says that a fill is the element ``id`` of its page, mapped: it is not written again."""

    id: str
    place: Affine


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """Lines along paths, each ``closed`` or all open.

    ``id`` is its own in a drawing; ``title`` says what it belongs to.
    """

    paths: tuple[Path, ...]
    closed: bool = False
    pen: Pen | None = None
    id: str = ""
    layer: str = ""
    title: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fill:
    """What closed paths enclose by the non-zero rule, unless ``is_even_odd``; ``pen`` edges it.

    ``data`` are names and values for a page's script.
    """

    paths: tuple[Path, ...]
    colour: str | None = INK
    opacity: float = 1.0
    is_even_odd: bool = False
    pen: Pen | None = None
    id: str = ""
    layer: str = ""
    title: str = ""
    data: tuple[tuple[str, str], ...] = ()
    copy: Reuse | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A line of text, its foot at ``at``, turned by ``turn`` radians anticlockwise.

    ``size`` is the height of the letters' body, mm; text wider than ``room`` mm is set smaller.
    ``rim`` is drawn round the letters, under them.
    """

    text: str
    at: Point
    size: float
    anchor: Anchor = "start"
    turn: float = 0.0
    room: float | None = None
    colour: str | None = INK
    is_bold: bool = False
    rim: Pen | None = None
    layer: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Raster:
    """A picture ``width`` by ``height`` mm, its middle at the origin; ``pixels`` is Pillow's."""

    pixels: Any
    width: float
    height: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Group:
    """Elements mapped by ``place`` to the frame around them; ``pen`` is for strokes without one.

    Nothing is seen outside ``window``: closed paths (even-odd) in the frame around, none for all.
    """

    elements: tuple[Element, ...]
    place: Affine = IDENTITY
    window: tuple[Path, ...] = ()
    pen: Pen | None = None
    layer: str = ""


Element = Stroke | Fill | Text | Raster | Group


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Elements on a page of ``width`` by ``height`` mm, the origin at its lower left.

    ``colours`` maps each layer of a drawing to cut to its colour, ``#rrggbb``.
    """

    width: float
    height: float
    title: str
    elements: tuple[Element, ...]
    colours: Mapping[str, str] = field(default_factory=dict)

    @property
    def strokes(self) -> tuple[Stroke, ...]:
        """The elements of a drawing to cut, which are all strokes.

        Raises ``ValueError`` where one is not: nothing but a stroke can be cut.
        """
        strokes = tuple(each for each in self.elements if isinstance(each, Stroke))
        if len(strokes) < len(self.elements):
            raise ValueError("a drawing to cut holds strokes alone")
        return strokes


def side_by_side(drawings: Sequence[Drawing], gap: float) -> Drawing:
    """Lay drawings to cut in a row, ``gap`` mm apart, on one page, their lower edges in line.

    The strokes keep their order, one drawing after the other. With more than one drawing every id
    starts with ``sheet-N-``, counted from 1, so that ids stay unique. The drawings must agree on
    their colours.
    """
    if len(drawings) == 1:
        return drawings[0]
    strokes: list[Stroke] = []
    colours: dict[str, str] = {}
    x = 0.0
    for n, drawing in enumerate(drawings, start=1):
        colours |= drawing.colours
        strokes += (_shifted(stroke, f"sheet-{n}-{stroke.id}", x) for stroke in drawing.strokes)
        x += drawing.width + gap
    return Drawing(
        width=x - gap,
        height=max(drawing.height for drawing in drawings),
        title=", ".join(dict.fromkeys(drawing.title for drawing in drawings)),
        elements=tuple(strokes),
        colours=colours,
    )


def counted_from(drawing: Drawing, corner: str) -> Drawing:
    """Return a drawing to cut whose coordinates count from another corner, towards its middle.

    ``corner`` is ``lower-left`` (as drawings are), ``lower-right``, ``upper-left`` or
    ``upper-right``.
    """
    x = 0.5 * drawing.width if corner.endswith("right") else None
    y = 0.5 * drawing.height if corner.startswith("upper") else None
    strokes = tuple(
        replace(stroke, paths=tuple(mirrored_path(path, x=x, y=y) for path in stroke.paths))
        for stroke in drawing.strokes
    )
    return replace(drawing, elements=strokes)


def _shifted(stroke: Stroke, id: str, x: float) -> Stroke:
    return replace(
        stroke, id=id, paths=tuple(moved_path(path, 0.0, x, 0.0) for path in stroke.paths)
    )


def region_paths(regions: Iterable[Region]) -> tuple[Path, ...]:
    """Return every contour of some regions as a path."""
    return tuple(contour.segments for region in regions for contour in region.contours)


def straight(*points: tuple[float, float]) -> Path:
    """Return the open path from point to point."""
    corners = [Point(*point) for point in points]
    return tuple(Line(a, b) for a, b in pairwise(corners))
