"""An SVG file as a document: parsed without risk, its scale, its lengths, maps and styles.

Scale: a width and height with units, together with the viewBox, say how many mm a user unit is,
and lengths with units inside follow the CSS rule of 96 px to the inch. Without them one user unit
is one mm, whatever a plain number of the width may say. y is turned up; the page's lower edge is
y = 0 where the page has a height.
"""

from __future__ import annotations

import math
import re
from typing import NamedTuple
from xml.etree import ElementTree
from xml.parsers import expat

from jobprep.geometry.affine import Affine
from jobprep.geometry.join_paths import OutlineError

SVG_NAMESPACE = "http://www.w3.org/2000/svg"
MM_PER_UNIT = {
    "mm": 1.0,
    "cm": 10.0,
    "q": 0.25,
    "in": 25.4,
    "pt": 25.4 / 72.0,
    "pc": 25.4 / 6.0,
    "px": 25.4 / 96.0,
}
"""Absolute lengths of CSS Values and Units 3, section 6.2, mm."""

NUMBER = r"(?>[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)"
"""A number as SVG writes it, matched whole or not at all so that long rows of digits stay cheap."""

_LENGTH = re.compile(rf"\s*({NUMBER})\s*([a-zA-Z]*)\s*")
_TRANSFORM = re.compile(
    r"(?>[\s,]*(?:matrix|translate|scale|rotate|skewX|skewY)"
    rf"\s*\(\s*{NUMBER}(?>[\s,]*{NUMBER})*\s*\))*[\s,]*"
)
_ACTIVE = ("script", "foreignObject", "animate", "animateTransform", "animateMotion", "set")
_STYLE_THAT_MATTERS = re.compile(r"@import|url\s*\(|transform|display|visibility|clip|mask", re.I)


class Page(NamedTuple):
    """The map from user units to mm, y up, and how many user units a written mm stands for."""

    to_mm: Affine
    units_per_mm: float


def parse_svg(data: bytes) -> ElementTree.Element:
    """Parse a drawing that declares no entities, runs no scripts and reaches out for nothing.

    Raises
    ------
    OutlineError
        If it is no such drawing.
    """

    def refuse_entity(*_: object) -> None:
        raise OutlineError("declares XML entities; save the drawing without them")

    scout = expat.ParserCreate()
    scout.EntityDeclHandler = refuse_entity
    try:
        scout.Parse(data, True)
        root = ElementTree.fromstring(data)
    except OutlineError:
        raise
    except (expat.ExpatError, ElementTree.ParseError, ValueError, LookupError) as error:
        raise OutlineError(f"cannot be read as SVG ({error})") from error
    if element_name(root) != "svg":
        raise OutlineError("is not an SVG drawing; its root must be <svg>")
    for element in root.iter():
        _refuse_active_content(element)
    return root


def _refuse_active_content(element: ElementTree.Element) -> None:
    name = element_name(element)
    if name in _ACTIVE:
        raise OutlineError(f"holds a <{name}>; only drawn outlines are read, remove it")
    for key, value in element.attrib.items():
        attribute = key.rpartition("}")[2].lower()
        if attribute.startswith("on") and name:
            raise OutlineError(f"holds a script ({attribute} of <{name}>); remove it")
        if attribute == "href" and name not in ("a", "") and not value.startswith("#"):
            what = "holds an image" if name == "image" else f"refers to another file in <{name}>"
            raise OutlineError(f"{what}; only outlines drawn in the file itself are read")
    if name == "style":
        found = _STYLE_THAT_MATTERS.search("".join(element.itertext()))
        if found:
            raise OutlineError(
                f"has a style sheet with {found[0]!r}, which is not followed; "
                "set it on the elements themselves"
            )


def page_of(root: ElementTree.Element) -> Page:
    """Return the scale of a drawing."""
    width, height = (_physical(root.get(name)) for name in ("width", "height"))
    box = [float(n) for n in re.findall(NUMBER, root.get("viewBox", ""))]
    if len(box) not in (0, 4) or (box and not (box[2] > 0.0 and box[3] > 0.0)):
        raise OutlineError("has a viewBox that is not four numbers with a width and height above 0")
    if width is None and height is None:
        bottom = box[1] + box[3] if box else 0.0
        return Page(Affine(1.0, 0.0, 0.0, -1.0, 0.0, bottom), 1.0)
    css = 1.0 / MM_PER_UNIT["px"]
    if not box:
        return Page(Affine(1.0 / css, 0.0, 0.0, -1.0 / css, 0.0, height or 0.0), css)
    scales = [size / extent for size, extent in zip((width, height), box[2:], strict=True) if size]
    if root.get("preserveAspectRatio", "").strip() == "none" and len(scales) == 2:
        x_scale, y_scale = scales
    else:
        x_scale = y_scale = min(scales)
    bottom = box[1] + box[3]
    return Page(Affine(x_scale, 0.0, 0.0, -y_scale, -x_scale * box[0], y_scale * bottom), css)


def page_box(root: ElementTree.Element, units_per_mm: float) -> tuple[float, float, float, float]:
    """Return the left, top, width and height of a drawing's page in user units."""
    box = [float(n) for n in re.findall(NUMBER, root.get("viewBox", ""))]
    if not box:
        sizes = (_physical(root.get(name)) for name in ("width", "height"))
        box = [0.0, 0.0, *(units_per_mm * (size or 0.0) for size in sizes)]
    left, top, width, height = box
    if not (width > 0.0 and height > 0.0):
        raise OutlineError(
            "has no page; give it a width and height in mm, or a viewBox, so that its middle is "
            "known"
        )
    return left, top, width, height


def _physical(text: str | None) -> float | None:
    """Return a length with a unit in mm, None for a plain number, a percentage or nothing."""
    match = _LENGTH.fullmatch(text or "")
    if not match or not match[2]:
        return None
    size = float(match[1]) * MM_PER_UNIT.get(match[2].lower(), 0.0)
    if not 0.0 < size < math.inf:
        raise OutlineError(f"has the page size {text!r}; a length above 0 in mm is needed")
    return size


def element_name(element: ElementTree.Element) -> str:
    """Return the name of an SVG element, nothing for those of other vocabularies."""
    namespace, _, name = element.tag.rpartition("}")
    return name if namespace in ("", "{" + SVG_NAMESPACE) else ""


def style_of(element: ElementTree.Element) -> dict[str, str]:
    """Return the properties of an element; those in its style attribute win."""
    style: dict[str, str] = {
        key: element.attrib[key].strip().lower()
        for key in ("display", "visibility", "clip-path", "mask")
        if key in element.attrib
    }
    for declaration in element.get("style", "").split(";"):
        key, _, value = declaration.partition(":")
        style[key.strip().lower()] = value.partition("!")[0].strip().lower()
    return style


def transform_of(element: ElementTree.Element) -> Affine:
    """Return the map from an element's user units to those of its parent."""
    from svgelements import Matrix

    text = element.get("transform", "")
    try:
        if not _TRANSFORM.fullmatch(text):
            raise ValueError(text)
        matrix = Matrix(text)
        return Affine(*(float(matrix[index]) for index in range(6)))
    except (ValueError, TypeError, IndexError, ZeroDivisionError) as error:
        raise OutlineError(
            f"has transform={text!r} on <{element_name(element)}>, which cannot be read"
        ) from error


def length_of(element: ElementTree.Element, key: str, units_per_mm: float) -> float:
    """Return a length attribute in user units, 0 where it is missing."""
    text = element.get(key, "0")
    match = _LENGTH.fullmatch(text)
    unit = match[2].lower() if match else "?"
    if not match or (unit and unit not in MM_PER_UNIT):
        raise OutlineError(
            f"has {key}={text!r} on <{element_name(element)}>; a number or a length in mm is needed"
        )
    return float(match[1]) * (MM_PER_UNIT[unit] * units_per_mm if unit else 1.0)
