"""Pictures of regions for a page: filled, outlined, labelled. No cutter reads them.

A picture is drawn in mm from (0, 0) to (width, height), and scales to the space it gets. What its
layers look like stands in ``page.css``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from jobprep.colour import darkened
from jobprep.disc.part import Part
from jobprep.drawing.drawing import (
    Drawing,
    Element,
    Fill,
    Group,
    Pen,
    Reuse,
    Text,
    region_paths,
    straight,
)
from jobprep.drawing.svg import DROP, picture_spelling, svg_fragment
from jobprep.geometry.affine import moving, where_moved
from jobprep.geometry.flatten import flatten_path
from jobprep.geometry.outline import Point, Region
from jobprep.report.markup import Markup, drawn, element

LABEL_CHORDS = 0.2
"""How finely outlines are flattened to find room for a label, mm."""

LEAST_LABEL = 0.4
"""Least height of a label as a share of the greatest."""

DARKEN = 0.45
"""Share of a film's colour left in the outline around it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pictured:
    """One region to draw: ``colour`` as ``#rrggbb``, ``label`` inside it, ``title`` to hover over.

    A hatched region has no fill of its own. ``data`` are names and values for the page's script.
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
    shown: Iterable[Pictured],
    *,
    ground: Region | None = None,
    over: Sequence[Element] = (),
    border: float = 2.0,
    label_share: float = 0.045,
    mm_per_rem: float | None = None,
) -> Markup:
    """Return an inline picture.

    Parameters
    ----------
    name
        What the picture shows, for those who cannot see it.
    size
        Width and height in mm.
    shown
        What to draw, the first lowest.
    ground
        The sheet that all lies on.
    over
        Further elements on top.
    border
        Empty space around, mm.
    label_share
        Greatest height of a label as a share of the picture's larger side.
    mm_per_rem
        The scale of pictures to compare with each other, mm to a rem of the page; one without
        fills the space it gets.
    """
    told = tuple(shown)
    labels = (_label(each, label_share * max(size)) for each in told if each.label)
    elements: tuple[Element, ...] = (*map(_fill, told), *labels, *over)
    if ground is not None:
        lowest = Fill(paths=region_paths([ground]), colour=None, layer="ground")
        elements = (lowest, *elements)
    whole = Drawing(
        width=size[0] + 2.0 * border,
        height=size[1] + 2.0 * border,
        title=name,
        elements=(Group(elements=elements, place=moving(0.0, border, border)),),
    )
    if mm_per_rem is None:
        return drawn(whole, {"role": "img", "class": "picture"})
    width = f"{whole.width / mm_per_rem:.2f}rem"
    return drawn(whole, {"role": "img", "class": "picture to-scale", "width": width})


def definitions(parts: Sequence[Part]) -> Markup:
    """Return what a page draws more than once: hatching, the dots of glue, each part's outline."""
    line = element("line", x1="0", y1="0", x2="0", y2="6")
    hatch = _pattern("hatch", line, 6.0, patternTransform="rotate(45)")
    dots = _pattern("glue", element("circle", cx="1", cy="1", r="0.6"), 2.0)
    outlines = [
        Fill(paths=region_paths([part.region]), colour=None, id=_name(part), layer="outline")
        for part in parts
    ]
    return element(
        "svg",
        hatch,
        dots,
        Markup(svg_fragment(outlines, picture_spelling(outlines))),
        class_="definitions",
        width="0",
        height="0",
        aria_hidden="true",
    )


def word(text: str, middle: Point, size: float) -> Text:
    """Return a word of a picture about its middle."""
    at = Point(middle.x, middle.y - DROP * size)
    return Text(text=text, at=at, size=size, anchor="middle", colour=None)


def dial(size: float) -> Fill:
    """Return a mark at 12 o'clock above a disc that fills a picture of this size."""
    middle, arm, top = 0.5 * size, 0.02 * size, 1.035 * size
    corners = straight((middle, size), (middle - arm, top), (middle + arm, top), (middle, size))
    return Fill(paths=(corners,), colour=None, layer="dial")


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


def _fill(shown: Pictured) -> Fill:
    paths = region_paths([shown.region])
    if shown.is_hatched:
        return Fill(paths=paths, colour=None, layer="hatched", title=shown.title)
    place = None if shown.part is None else where_moved(shown.part.region, shown.region)
    return Fill(
        paths=paths,
        colour=shown.colour,
        pen=Pen(1.0, darkened(shown.colour, DARKEN)),
        layer="part",
        title=shown.title,
        data=shown.data,
        copy=None if shown.part is None or place is None else Reuse(_name(shown.part), place),
    )


def _label(shown: Pictured, size: float) -> Text:
    """Return a label at the roomiest place, smaller where the room is small."""
    room = _room(shown.region)
    # About two thirds of a digit's height is its width; the text's diagonal must fit the circle.
    fitting = 1.6 * room.radius / max(1.0, 0.66 * len(shown.label))
    return word(shown.label, room.middle, min(size, max(fitting, LEAST_LABEL * size)))


def _room(region: Region) -> _Room:
    from shapely.geometry import Polygon
    from shapely.ops import polylabel

    outer, *holes = (flatten_path(each.segments, LABEL_CHORDS) for each in region.contours)
    polygon = Polygon(outer, [hole for hole in holes if len(hole) > 2])
    if not polygon.is_valid:
        polygon = Polygon(outer).convex_hull
    middle = polylabel(polygon, tolerance=LABEL_CHORDS)
    return _Room(Point(middle.x, middle.y), middle.distance(polygon.boundary))
