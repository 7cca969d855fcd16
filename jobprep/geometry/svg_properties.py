"""Every property, attribute and rule of SVG that changes an outline, and what is made of it.

This is the one list. A row is

read        followed as SVG 2, CSS Transforms 1 and 2 and CSS Values 3 say
refused     not followed: a drawing that sets it is refused by name
no effect   often taken for one that does, but no outline depends on it

Paint (fill, stroke, opacity, line ends, dashes) has no row, since outlines are cut whatever their
colour. Neither has what only moves the whole page on a screen, such as a margin of the root.
"""

from __future__ import annotations

import re
from typing import Literal, NamedTuple

WIDE = ("inherit", "initial", "unset", "revert", "revert-layer")
"""What every property may be set to (CSS Cascading 5); its parent's value has been looked at."""

Verdict = Literal["read", "refused", "no effect"]


class PropertyRule(NamedTuple):
    """What is made of a property or attribute.

    Attributes
    ----------
    harmless
        Values that change nothing, in lower case.
    remedy
        What the maker does about a refused one; ends the sentence that refuses it.
    is_attribute
        Whether a property may be written as an attribute, too.
    """

    verdict: Verdict
    harmless: tuple[str, ...] = ()
    remedy: str = "remove it"
    is_attribute: bool = False


def _refused(*harmless: str, remedy: str = "remove it", is_attribute: bool = False) -> PropertyRule:
    """Return a row of a property that is harmless where it has its initial value."""
    return PropertyRule("refused", (*harmless, *WIDE), remedy, is_attribute)


_READ = PropertyRule("read", is_attribute=True)
_READ_IN_STYLES = PropertyRule("read", ("none",))
_NO_EFFECT = PropertyRule("no effect")
_SIZE = PropertyRule(
    "refused", remedy="set its width and height"
)  # hides the attribute in any case
_LIMIT = _refused("none", "auto", "0", "0px", remedy="set its width and height")
_MARKER = _refused("none", remedy="convert the marker to a path or remove it", is_attribute=True)
_MOTION = _refused("none", remedy="move the element itself")
_CLIP = _refused("none", remedy="apply it first", is_attribute=True)
_STILL = _refused("none", remedy="remove the animation")

PROPERTIES: dict[str, PropertyRule] = {
    # CSS Transforms 1 and 2
    "transform": _READ._replace(harmless=("none",)),
    "transform-origin": _READ,
    "transform-box": _READ_IN_STYLES._replace(harmless=("view-box",)),
    "translate": _READ_IN_STYLES,
    "rotate": _READ_IN_STYLES,
    "scale": _READ_IN_STYLES,
    # without a transform in space, and those are refused
    "perspective": _NO_EFFECT,
    "perspective-origin": _NO_EFFECT,
    "transform-style": _NO_EFFECT,
    "backface-visibility": _NO_EFFECT,
    # SVG 2, chapter 7: geometry
    **dict.fromkeys(("cx", "cy", "r", "rx", "ry", "x", "y", "width", "height"), _READ),
    "d": PropertyRule("refused", remedy="write it as an attribute"),
    # sizes that stand for width and height: CSS Logical Properties 1, CSS Sizing 3 and 4
    **dict.fromkeys(("inline-size", "block-size", "logical-width", "logical-height"), _SIZE),
    **dict.fromkeys(
        (
            *("min-width", "max-width", "min-height", "max-height"),
            *("min-inline-size", "max-inline-size", "min-block-size", "max-block-size"),
            *("min-logical-width", "max-logical-width", "min-logical-height"),
            "max-logical-height",
        ),
        _LIMIT,
    ),
    "aspect-ratio": _refused("auto", remedy="set its width and height"),
    "box-sizing": _refused("content-box", remedy="set its width and height"),
    # Motion Path 1, with the older names, and CSS Viewport 1
    **dict.fromkeys(("offset", "offset-path", "motion", "motion-path"), _MOTION),
    "zoom": _refused("1", "1.0", "100%", "normal", remedy="scale the drawing itself"),
    # what hides
    "display": _READ,
    "visibility": _READ,
    "overflow": _READ,
    "overflow-x": _refused("visible", remedy="set overflow"),
    "overflow-y": _refused("visible", remedy="set overflow"),
    "content-visibility": _refused("visible", remedy="remove what is hidden"),
    "clip-path": _CLIP,
    "mask": _CLIP,
    "mask-image": _refused("none", remedy="apply it first"),
    "mask-border": _refused("none", remedy="apply it first"),
    "mask-border-source": _refused("none", remedy="apply it first"),
    "mask-box-image": _refused("none", remedy="apply it first"),
    "mask-box-image-source": _refused("none", remedy="apply it first"),
    "clip": _refused("auto", remedy="apply it first", is_attribute=True),
    # what draws more, or elsewhere
    **dict.fromkeys(("marker-start", "marker-mid", "marker-end"), _MARKER),
    "marker": _MARKER._replace(is_attribute=False),
    "filter": _refused("none", is_attribute=True),
    "vector-effect": _refused("none", "non-scaling-stroke", is_attribute=True),
    # what changes it with time
    "animation": _STILL,
    "animation-name": _STILL,
    # what sets any of these
    "all": PropertyRule("refused", remedy="set each property"),
    # what only lengths in em depend on, and those are refused
    "font-size": _NO_EFFECT,
}
"""By its name; one that a browser maker has put a prefix before (``-webkit-transform``) is refused.
"""

ATTRIBUTES: dict[str, PropertyRule] = {
    **dict.fromkeys(
        (
            *("viewBox", "preserveAspectRatio", "points", "x1", "y1", "x2", "y2", "d"),
            *("href", "{http://www.w3.org/1999/xlink}href"),
        ),
        PropertyRule("read"),
    ),
    "systemLanguage": PropertyRule("refused", remedy="keep one language and remove the others"),
    "requiredExtensions": PropertyRule("refused", remedy="remove the element or the attribute"),
    "refX": PropertyRule("refused", remedy="move what the symbol holds"),
    "refY": PropertyRule("refused", remedy="move what the symbol holds"),
    "transform-box": PropertyRule("refused", remedy="write it in the style attribute"),
    "requiredFeatures": _NO_EFFECT,
    "pathLength": _NO_EFFECT,
}
"""Attributes that are no properties; ``id``, ``class`` and ``style`` lead to properties."""

AT_RULES = frozenset(
    (
        *("charset", "font-face", "font-feature-values", "font-palette-values", "counter-style"),
        *("page", "color-profile", "view-transition"),
    )
)
"""Rules of a style sheet that change no outline; any other is refused where it could."""

ALWAYS_REFUSED_RULES = frozenset(("import", "namespace"))
"""Rules that bring in what the file does not hold, or change what selectors mean."""

SHAPES = ("path", "rect", "circle", "ellipse", "line", "polyline", "polygon")
GROUPS = ("g", "a")
NOT_DRAWN = (
    *("title", "desc", "metadata", "defs", "style", "symbol", "linearGradient", "radialGradient"),
    *("marker", "pattern", "clipPath", "mask", "filter", "view", "cursor"),
)
ACTIVE = (
    *("script", "foreignObject", "animate", "animateColor", "animateTransform", "animateMotion"),
    *("mpath", "set", "discard"),
)
"""Elements that change a drawing with time, or run."""

_VENDOR = re.compile(r"-(?:webkit|moz|ms|o)-(.+)")


def row_of(name: str) -> PropertyRule | None:
    """Return what is made of a property, None for one that changes no outline."""
    vendor = _VENDOR.fullmatch(name)
    if not vendor:
        return PROPERTIES.get(name)
    row = PROPERTIES.get(vendor[1])
    if row is None or row.verdict == "no effect":
        return None
    return row._replace(verdict="refused", remedy=f"use {vendor[1]}", is_attribute=False)
