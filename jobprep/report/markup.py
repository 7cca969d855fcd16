"""HTML and SVG elements as text, everything that is not markup escaped."""

from __future__ import annotations

import re
from xml.etree import ElementTree

from jobprep.drawing.drawing import Drawing
from jobprep.drawing.svg import Attributes, escaped, picture_spelling, svg_root

_TURNING = re.compile("[\u202a-\u202e\u2066-\u2069]")
"""Embeddings, overrides and isolates would turn round the words after a name."""


class Markup(str):
    """Text that is markup already; any other text is escaped where it is put in."""

    __slots__ = ()


VOID = frozenset({"meta", "rect", "circle", "line", "input"})
"""Elements written without an end tag: HTML's own and the SVG shapes without content."""


def element(name: str, /, *children: str, **attributes: str | float | None) -> Markup:
    """Return an element; attributes that are None are left out.

    Underscores in attribute names stand for hyphens, a trailing one is dropped (``class_``).
    """
    written = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{text(value)}"'
        for key, value in attributes.items()
        if value is not None
    )
    if not children and name in VOID:
        return Markup(f"<{name}{written}/>")
    return Markup(f"<{name}{written}>{join(*children)}</{name}>")


def fold(title: Markup, *content: str) -> Markup:
    """Return content that a reader can fold away under its title; on a phone it begins folded."""
    return element("details", element("summary", title), *content, class_="fold", open="open")


def drawn(drawing: Drawing, attributes: Attributes) -> Markup:
    """Return a drawing to stand in a page; ``attributes`` are those of its root."""
    root = svg_root(drawing, picture_spelling(drawing.elements), attributes)
    return Markup(_unturned(ElementTree.tostring(root, "unicode")))


def join(*children: str) -> Markup:
    """Return children one after the other, escaped where they are plain text."""
    return Markup("".join(map(text, children)))


def text(value: str | float) -> Markup:
    """Return a value as markup."""
    if isinstance(value, Markup):
        return value
    if isinstance(value, str):
        return Markup(escaped(_unturned(value)))
    return Markup(f"{value:g}")


def _unturned(text: str) -> str:
    return _TURNING.sub("\N{REPLACEMENT CHARACTER}", text)
