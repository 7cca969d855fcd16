"""Write a drawing as SVG: one user unit is one mm, y down from the upper left as SVG has it."""

from __future__ import annotations

import base64
import io
import math
import re
from collections.abc import Iterable, Iterator, Mapping
from html import escape
from xml.etree import ElementTree
from xml.etree.ElementTree import Element as Node

from jobprep.drawing.drawing import Drawing, Element, Fill, Group, Pen, Raster, Stroke, Text
from jobprep.drawing.path_data import EXACT, MANY, SHORT, SHORTER, Spelling, path_data
from jobprep.geometry.affine import IDENTITY, Affine
from jobprep.units import number, to_degrees

NAMESPACE = "http://www.w3.org/2000/svg"
LETTER_WIDTH = 0.6
"""Mean width of a letter as a share of the font's size, for most sans-serif fonts."""
DROP = 0.35
"""How far the foot of a line lies under the middle of its capitals, as a share of its size."""
QUALITY = 88
"""Of a photograph in a picture, as JPEG has it, out of 100."""
FONTS = "system-ui, sans-serif"
DECLARATION = '<?xml version="1.0" encoding="utf-8"?>\n'

_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What XML 1.0 cannot hold, not even escaped."""

Attributes = Mapping[str, str | float | None]


def svg_file(drawing: Drawing, more: Attributes | None = None) -> str:
    """Return a drawing as a file of its true size; ``more`` are attributes of its root.

    Raises
    ------
    ValueError
        If two elements share an id.
    """
    size = {"width": f"{_exact(drawing.width)}mm", "height": f"{_exact(drawing.height)}mm"}
    return svg_document(svg_root(drawing, EXACT, {**size, "xmlns": NAMESPACE, **(more or {})}))


def svg_document(root: Node, start: str = DECLARATION) -> str:
    """Return a root with all it holds as the text of a file, the same bytes for the same root."""
    ElementTree.indent(root)
    return f"{start}{ElementTree.tostring(root, 'unicode')}\n"


def svg_fragment(elements: Iterable[Element], spelling: Spelling) -> str:
    """Return elements to stand inside an SVG of a page, y down about the origin."""
    return "".join(
        ElementTree.tostring(_element(each, 0.0, spelling), "unicode") for each in elements
    )


def svg_root(drawing: Drawing, spelling: Spelling, more: Attributes) -> Node:
    """Return a drawing as the root of a file, or to stand in a page."""
    _check_ids(drawing.elements, set())
    content = (_element(each, drawing.height, spelling) for each in drawing.elements)
    box = f"0 0 {_exact(drawing.width)} {_exact(drawing.height)}"
    return _node("svg", {"viewBox": box, **more}, [*_title(drawing.title), *content])


def picture_spelling(elements: Iterable[Element]) -> Spelling:
    """Return how the paths of a picture are written: more briefly where they are many."""
    return SHORT if sum(map(_n_segments, elements)) <= MANY else SHORTER


def _n_segments(element: Element) -> int:
    match element:
        case Stroke() | Fill():
            return sum(map(len, element.paths))
        case Group():
            return sum(map(_n_segments, element.elements))
    return 0


def width_of(text: str, size: float) -> float:
    """Return about how wide a line of text is."""
    return LETTER_WIDTH * size * len(text)


def cleaned(text: str) -> str:
    """Return a text without what XML cannot hold."""
    return _NOT_XML.sub("\N{REPLACEMENT CHARACTER}", text)


def escaped(text: str) -> str:
    """Return a text as it stands in HTML and XML, between tags or in quotes."""
    return escape(cleaned(text))


def _exact(value: float) -> str:
    return number(value, EXACT.decimals)


def _node(name: str, attributes: Attributes, children: Iterable[Node] = (), text: str = "") -> Node:
    """Return an element with its attributes in order of their names, those that say nothing out."""
    told = {
        key: cleaned(value) if isinstance(value, str) else number(value)
        for key, value in sorted(attributes.items())
        if value is not None and value != ""
    }
    node = Node(name, told)
    node.text = cleaned(text) or None
    node.extend(children)
    return node


def _check_ids(elements: Iterable[Element], seen: set[str]) -> None:
    for element in elements:
        if isinstance(element, Group):
            _check_ids(element.elements, seen)
        elif isinstance(element, Stroke | Fill) and element.id:
            if element.id in seen:
                raise ValueError(f"two strokes have the id {element.id!r}")
            seen.add(element.id)


def _element(element: Element, height: float, spelling: Spelling) -> Node:
    match element:
        case Stroke():
            data = path_data(element.paths, height, spelling, closed=element.closed)
            told = {"id": element.id, "class": element.layer, "d": data, **_pen(element.pen)}
            return _node("path", told, _title(element.title))
        case Fill():
            return _fill(element, height, spelling)
        case Text():
            return _text(element, height, spelling)
        case Raster():
            return _image(element, height)
        case Group(window=()):
            # Inside a group that is mapped, y is turned down about the group's own origin.
            inner = height if element.place == IDENTITY else 0.0
            content = (_element(each, inner, spelling) for each in element.elements)
            told = {"class": element.layer, "transform": _transform(element.place, height)}
            return _node("g", told | _pen(element.pen), content)
    raise ValueError(f"no SVG is written of a {type(element).__name__} or a window")


def _fill(fill: Fill, height: float, spelling: Spelling) -> Node:
    told = _pen(fill.pen) | {"class": fill.layer, "id": fill.id, "fill": fill.colour}
    told |= {f"data-{name}": value for name, value in fill.data}
    told["fill-opacity"] = number(fill.opacity) if fill.opacity < 1.0 else None
    if fill.copy is not None:
        told |= {"href": f"#{fill.copy.id}", "transform": _transform(fill.copy.place, height)}
        return _node("use", told, _title(fill.title))
    told["fill-rule"] = "evenodd" if fill.is_even_odd else None
    told["d"] = path_data(fill.paths, height, spelling, closed=True)
    return _node("path", told, _title(fill.title))


def _text(text: Text, height: float, spelling: Spelling) -> Node:
    wide = width_of(text.text, text.size)
    size = text.size if text.room is None or wide <= text.room else text.size * text.room / wide
    x, y = number(text.at.x, spelling.decimals), number(height - text.at.y, spelling.decimals)
    told = {} if text.rim is None else _pen(text.rim) | {"paint-order": "stroke"}
    told |= {"class": text.layer, "x": x, "y": y, "fill": text.colour}
    told["transform"] = f"rotate({number(-to_degrees(text.turn))} {x} {y})" if text.turn else None
    told["font-size"] = number(size, spelling.decimals)
    told["font-weight"] = "600" if text.is_bold else None
    told["text-anchor"] = None if text.anchor == "start" else text.anchor
    return _node("text", told, text=text.text)


def _image(raster: Raster, height: float) -> Node:
    """Return a picture that carries its own bytes, so that nothing is fetched."""
    stream = io.BytesIO()
    kind = "jpeg" if raster.pixels.mode == "RGB" else "png"
    raster.pixels.save(stream, kind, **({"quality": QUALITY} if kind == "jpeg" else {}))
    data = base64.b64encode(stream.getvalue()).decode()
    told: dict[str, str | float | None] = {
        "x": -raster.width / 2.0,
        "y": height - raster.height / 2.0,
        "width": raster.width,
        "height": raster.height,
        "preserveAspectRatio": "none",
        "href": f"data:image/{kind};base64,{data}",
    }
    return _node("image", told)


def _title(title: str) -> Iterator[Node]:
    if title:
        yield _node("title", {}, text=title)


def _pen(pen: Pen | None) -> dict[str, str | float | None]:
    if pen is None:
        return {}
    return {
        "fill": "none",
        "stroke": pen.colour,
        "stroke-width": pen.width,
        "stroke-dasharray": " ".join(map(number, pen.dashes)),
        "stroke-linecap": None if pen.cap == "butt" else pen.cap,
        "stroke-linejoin": None if pen.join == "miter" else pen.join,
    }


def _transform(place: Affine, height: float) -> str | None:
    """Return a map of a drawing as one of pictures with y down: turned over before and after."""
    if place == IDENTITY:
        return None
    a, b, c, d, x, y = place
    shift = f"{number(x, 3)} {number(height - y, 3)}"
    if (a, b) == (d, -c) and math.isclose(math.hypot(a, b), 1.0):
        turn = number(-to_degrees(math.atan2(b, a)))
        return f"translate({shift})" + (f"rotate({turn})" if turn != "0" else "")
    return f"matrix({number(a, 6)} {number(-b, 6)} {number(-c, 6)} {number(d, 6)} {shift})"
