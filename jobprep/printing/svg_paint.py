"""How a drawing paints a shape, as far as a print can show it: plain colours, filled and stroked.

Properties are those of SVG 2, chapters 11 and 13, as attributes or in a style attribute, with their
inheritance. What would come out otherwise than drawn is refused by name.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import NamedTuple
from xml.etree import ElementTree

from jobprep.colour import Channels, channels
from jobprep.geometry.affine import Affine
from jobprep.geometry.join_paths import OutlineError
from jobprep.geometry.read_svg import Shape
from jobprep.geometry.svg_document import MM_PER_UNIT, NUMBER, element_name

INITIAL = {
    "color": "black",
    "fill": "black",
    "fill-rule": "nonzero",
    "stroke": "none",
    "stroke-width": "1",
    "stroke-linecap": "butt",
    "stroke-linejoin": "miter",
}
"""The inherited properties that are followed, and what holds where nothing is said."""

REFUSED = {
    "fill-opacity": ("1", "is partly transparent"),
    "stroke-opacity": ("1", "is partly transparent"),
    "stroke-dasharray": ("none", "has a dashed stroke"),
    "marker": ("none", "has markers"),
    "marker-start": ("none", "has markers"),
    "marker-mid": ("none", "has markers"),
    "marker-end": ("none", "has markers"),
    "opacity": ("1", "is partly transparent"),
    "filter": ("none", "has a filter"),
    "mix-blend-mode": ("normal", "is blended"),
    "vector-effect": ("none", "has a vector effect"),
    "paint-order": ("normal", "has a paint order of its own"),
}
"""Properties that are not followed: the only value that is taken, and what any other means."""

_LENGTH = re.compile(rf"\s*({NUMBER})\s*([a-z]*)\s*")
_COLOUR = re.compile(r"#(?:[0-9a-f]{3}|[0-9a-f]{6})|(?:rgb|hsl)\([0-9.,% ]+\)|[a-z]+")
_CAPS = {"butt": 0, "round": 1, "square": 2}
_JOINS = {"miter": 0, "round": 1, "bevel": 2}
_UNEVEN = 1e-6


class Paint(NamedTuple):
    """Fill and stroke of a shape; ``width`` in mm, ``cap`` and ``join`` as PDF counts them."""

    fill: Channels | None
    is_even_odd: bool
    stroke: Channels | None
    width: float
    cap: int
    join: int


def refuse_style_sheets(shapes: tuple[Shape, ...]) -> None:
    """Raise ``OutlineError`` if a drawing has a style sheet, which would not be followed."""
    root = shapes[0].within[0] if shapes else None
    for element in () if root is None else root.iter():
        if element_name(element) == "style" and "".join(element.itertext()).strip():
            raise OutlineError(
                "has a style sheet, which is not followed; set its colours on the elements"
            )


def paint_of(shape: Shape, units_per_mm: float) -> Paint:
    """Return how a shape is painted; raises ``OutlineError`` with what cannot be printed."""
    style = dict(INITIAL)
    for element in shape.within:
        declared = _declared(element)
        for key, (taken, meaning) in REFUSED.items():
            if declared.get(key, taken) not in (taken, "inherit", "100%"):
                name = element_name(element)
                raise OutlineError(f"has a <{name}> that {meaning}; draw it in plain colours")
        style |= {
            key: value for key, value in declared.items() if key in INITIAL and value != "inherit"
        }
    stroke = _colour(style["stroke"], style)
    return Paint(
        fill=_colour(style["fill"], style),
        is_even_odd=style["fill-rule"] == "evenodd",
        stroke=stroke,
        width=0.0 if stroke is None else _width(style, units_per_mm) * _scale(shape.to_mm),
        cap=_CAPS.get(style["stroke-linecap"], 0),
        join=_JOINS.get(style["stroke-linejoin"], 0),
    )


def _declared(element: ElementTree.Element) -> dict[str, str]:
    """Return the properties an element sets itself; those in its style attribute win."""
    found = {
        key: value.strip().lower()
        for key, value in element.attrib.items()
        if key in INITIAL or key in REFUSED
    }
    for declaration in element.get("style", "").split(";"):
        key, _, value = declaration.partition(":")
        found[key.strip().lower()] = value.partition("!")[0].strip().lower()
    return found


def _colour(value: str, style: Mapping[str, str]) -> Channels | None:
    """Return a paint as a colour, None where nothing is painted."""
    from svgelements import Color

    if value == "currentcolor":
        value = style["color"]
    if value in ("none", "transparent"):
        return None
    if not _COLOUR.fullmatch(value):
        raise OutlineError(f"is painted with {value!r}, which is no plain colour; use #rrggbb")
    found = Color(value)
    # What is not a name either comes back as black.
    if value.isalpha() and value != "black" and (found.red, found.green, found.blue) == (0, 0, 0):
        raise OutlineError(f"is painted with {value!r}, which is no known colour; use #rrggbb")
    return channels(found.hexrgb)


def _width(style: Mapping[str, str], units_per_mm: float) -> float:
    """Return a stroke's width in user units."""
    match = _LENGTH.fullmatch(style["stroke-width"])
    if not match or (match[2] and match[2] not in MM_PER_UNIT) or float(match[1]) < 0.0:
        width = style["stroke-width"]
        raise OutlineError(f"has the stroke width {width!r}; a length of at least 0 is needed")
    return float(match[1]) * (MM_PER_UNIT[match[2]] * units_per_mm if match[2] else 1.0)


def _scale(to_mm: Affine) -> float:
    """Return by how much a map enlarges strokes; refuses one that does so unevenly."""
    across, up = math.hypot(to_mm.a, to_mm.b), math.hypot(to_mm.c, to_mm.d)
    slant = abs(to_mm.a * to_mm.c + to_mm.b * to_mm.d)
    most = max(across, up)
    if abs(across - up) > _UNEVEN * most or slant > _UNEVEN * most * most:
        raise OutlineError(
            "stretches a stroke more one way than the other; convert strokes to paths"
        )
    return across
