"""Pictures of regions for a page: filled, outlined, labelled. No cutter reads them.

A picture is drawn in mm, y up, from (0, 0) to (width, height), and scales to the space it gets.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from jobprep.colour import darkened
from jobprep.disc.part import Part
from jobprep.geometry.flatten import flatten_path
from jobprep.geometry.outline import Point, Region
from jobprep.report.markup import Markup, element
from jobprep.report.outline_data import DECIMALS, decimals_for, region_data, transform, where_moved
from jobprep.units import number

LABEL_CHORDS = 0.2
"""How finely outlines are flattened to find room for a label, mm."""

LEAST_LABEL = 0.4
"""Least height of a label as a share of the greatest."""

DARKEN = 0.45
"""Share of a film's colour left in the outline around it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """One region to draw: ``colour`` as ``#rrggbb``, ``label`` inside it, ``title`` to hover over.

    A hatched shape has no fill of its own. ``data`` are names and values for the page's script.
    One that shows a ``part`` of the page's definitions uses its outline.
    """

    region: Region
    colour: str
    part: Part | None = None
    label: str = ""
    title: str = ""
    is_hatched: bool = False
    data: tuple[tuple[str, str], ...] = ()


class _Room(NamedTuple):
    """The largest circle inside a region."""

    middle: Point
    radius: float


def picture(
    name: str,
    size: tuple[float, float],
    shapes: Iterable[Shape],
    *,
    ground: Region | None = None,
    over: Markup | None = None,
    border: float = 2.0,
    label_share: float = 0.045,
) -> Markup:
    """Return an inline SVG picture.

    Parameters
    ----------
    name
        What the picture shows, for those who cannot see it.
    size
        Width and height in mm.
    shapes
        What to draw, the first lowest.
    ground
        The sheet that the shapes lie on.
    over
        Further SVG elements on top, in the picture's own frame (y down).
    border
        Empty space around, mm.
    label_share
        Greatest height of a label as a share of the picture's larger side.
    """
    width, height = size
    drawn = []
    if ground is not None:
        drawn.append(element("path", class_="ground", d=region_data(ground, height)))
    labels = []
    label_size = label_share * max(size)
    for shape in shapes:
        drawn.append(_shape(shape, height))
        if shape.label:
            labels.append(_label(shape, height, label_size))
    box = f"{-border:g} {-border:g} {number(width + 2 * border)} {number(height + 2 * border)}"
    return element(
        "svg",
        element("title", name),
        *drawn,
        *labels,
        *(() if over is None else (over,)),
        role="img",
        viewBox=box,
        class_="picture",
    )


def definitions(parts: Sequence[Part]) -> Markup:
    """Return what a page draws more than once: hatching, the dots of glue, each part's outline."""
    line = element("line", x1="0", y1="0", x2="0", y2="6")
    hatch = _pattern("hatch", line, 6.0, patternTransform="rotate(45)")
    dots = _pattern("glue", element("circle", cx="1", cy="1", r="0.6"), 2.0)
    return element(
        "svg",
        hatch,
        dots,
        *_outlines(parts),
        class_="definitions",
        width="0",
        height="0",
        aria_hidden="true",
    )


def _outlines(parts: Sequence[Part]) -> Iterator[Markup]:
    decimals = decimals_for(part.region for part in parts)
    for part in parts:
        data = region_data(part.region, 0.0, decimals)
        # Inherited by no use, so that it stands here.
        yield element("path", id=_name(part), d=data, vector_effect="non-scaling-stroke")


def _name(part: Part) -> str:
    return f"outline-{part.number}"


def _pattern(name: str, content: Markup, step: float, **attributes: str) -> Markup:
    return element(
        "pattern",
        content,
        id=name,
        width=step,
        height=step,
        patternUnits="userSpaceOnUse",
        **attributes,
    )


def _shape(shape: Shape, height: float) -> Markup:
    title = (element("title", shape.title),) if shape.title else ()
    if shape.is_hatched:
        data = region_data(shape.region, height)
        return element("path", *title, class_="hatched", fill="url(#hatch)", d=data)
    told = {f"data_{name}": value for name, value in shape.data}
    edge = darkened(shape.colour, DARKEN)
    paint = {"class_": "part", "fill": shape.colour, "stroke": edge, **told}
    moved = None if shape.part is None else where_moved(shape.part.region, shape.region)
    if shape.part is None or moved is None:
        return element("path", *title, d=region_data(shape.region, height), **paint)
    link = f"#{_name(shape.part)}"
    return element("use", *title, href=link, transform=transform(moved, height), **paint)


def _label(shape: Shape, height: float, size: float) -> Markup:
    """Return a label at the roomiest place, smaller where the room is small."""
    room = _room(shape.region)
    # About two thirds of a digit's height is its width; the text's diagonal must fit the circle.
    fitting = 1.6 * room.radius / max(1.0, 0.66 * len(shape.label))
    font_size = min(size, max(fitting, LEAST_LABEL * size))
    return element(
        "text",
        shape.label,
        x=number(room.middle.x, DECIMALS),
        y=number(height - room.middle.y, DECIMALS),
        font_size=number(font_size, DECIMALS),
    )


def _room(region: Region) -> _Room:
    from shapely.geometry import Polygon
    from shapely.ops import polylabel

    outer, *holes = (flatten_path(each.segments, LABEL_CHORDS) for each in region.contours)
    polygon = Polygon(outer, [hole for hole in holes if len(hole) > 2])
    if not polygon.is_valid:
        polygon = Polygon(outer).convex_hull
    middle = polylabel(polygon, tolerance=LABEL_CHORDS)
    return _Room(Point(middle.x, middle.y), middle.distance(polygon.boundary))


def dial(size: float) -> Markup:
    """Return a mark at 12 o'clock above a disc that fills a picture of this size."""
    middle, arm, drop = (number(part * size, DECIMALS) for part in (0.5, 0.02, 0.035))
    return element("path", class_="dial", d=f"M {middle} 0 l -{arm} -{drop} h {arm} h {arm} Z")
