"""How a drawing paints a shape, as far as a print can show it: plain colours, filled and stroked.

Properties are those of SVG 2, chapters 11 and 13, as attributes, in style sheets and in style
attributes, with their inheritance. What would come out otherwise than drawn is refused by name.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import NamedTuple, get_args

from jobprep.drawing.drawing import Cap, Join, Pen
from jobprep.geometry.affine import Affine
from jobprep.geometry.join_paths import OutlineError
from jobprep.geometry.read_svg import Shape
from jobprep.geometry.svg_document import label_of
from jobprep.geometry.svg_properties import WIDE
from jobprep.geometry.svg_sheets import Declared

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
    "opacity": ("1", "is partly transparent"),
    "mix-blend-mode": ("normal", "is blended"),
    "vector-effect": ("none", "has a vector effect"),
    "paint-order": ("normal", "has a paint order of its own"),
}
"""Properties that are not followed: the only value that is taken, and what any other means."""

_REMEDY = "draw it in plain colours"
_COLOUR = re.compile(r"#(?:[0-9a-f]{3}|[0-9a-f]{6})|(?:rgb|hsl)\([0-9.,% ]+\)|[a-z]+")
_CAPS: Mapping[str, Cap] = {name: name for name in get_args(Cap)}
_JOINS: Mapping[str, Join] = {name: name for name in get_args(Join)}
_UNEVEN = 1e-6


class Paint(NamedTuple):
    """The fill of a shape, ``#rrggbb``, and the pen of its stroke."""

    fill: str | None
    is_even_odd: bool
    pen: Pen | None


FOLLOWED = frozenset((*INITIAL, *REFUSED))
"""What is asked of a drawing beside its geometry."""


def paint_of(shape: Shape) -> Paint:
    """Return how a shape is painted; raises ``OutlineError`` with what cannot be printed."""
    values = dict(INITIAL)
    for element, style in shape.within:
        for key, (taken, meaning) in REFUSED.items():
            if key in style and style[key].word not in (taken, "100%", *WIDE):
                raise OutlineError(f"has a {label_of(element)} that {meaning}; {_REMEDY}")
        for key, initial in INITIAL.items():
            word = style[key].word if key in style else "inherit"
            if word == "initial":
                values[key] = initial
            elif word not in WIDE:
                values[key] = word
    stroke = _colour(values["stroke"], values)
    pen = None
    if stroke is not None:
        width = _width(values, shape) * _scale(shape.to_mm)
        cap = _CAPS.get(values["stroke-linecap"], "butt")
        pen = Pen(width, stroke, cap=cap, join=_JOINS.get(values["stroke-linejoin"], "miter"))
    return Paint(_colour(values["fill"], values), values["fill-rule"] == "evenodd", pen)


def _colour(value: str, style: Mapping[str, str]) -> str | None:
    """Return a paint as a colour, None where nothing is painted."""
    from tinycss2.color3 import parse_color

    if value == "currentcolor":
        value = style["color"]
    if value in ("none", "transparent"):
        return None
    if not _COLOUR.fullmatch(value):
        raise OutlineError(f"is painted with {value!r}, which is no plain colour; use #rrggbb")
    found = parse_color(value)
    if found is None:
        raise OutlineError(f"is painted with {value!r}, which is no known colour; use #rrggbb")
    return "#" + "".join(f"{round(255 * min(max(channel, 0.0), 1.0)):02x}" for channel in found[:3])


def _width(values: Mapping[str, str], shape: Shape) -> float:
    """Return a stroke's width in user units."""
    text = values["stroke-width"]
    what = f"the stroke width {text!r}"
    width = shape.lengths.read(Declared(text, in_css=False), what, "diagonal")
    if width < 0.0:
        raise OutlineError(f"has {what}; a length of at least 0 is needed")
    return width


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
