"""Diagrams of a disc: lines and words in the ink of the page they stand on, films in colour.

A diagram has a frame of its own; the radius of a disc is always ``RADIUS`` in it, so that words
have one size whatever the disc's. Everything is said with pens and colours, no style is needed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple
from xml.etree.ElementTree import Element as Node

from jobprep.colour import encode, hex_of, luminance, through
from jobprep.drawing.drawing import INK, Anchor, Drawing, Element, Fill, Group, Pen, Text
from jobprep.drawing.svg import (
    DECLARATION,
    DROP,
    FONTS,
    NAMESPACE,
    picture_spelling,
    svg_document,
    svg_root,
    width_of,
)
from jobprep.geometry.affine import moving
from jobprep.geometry.measure import Bounds
from jobprep.geometry.outline import Point, rectangle
from jobprep.model.film import Film
from jobprep.report.markup import Markup, drawn, element
from jobprep.units import number

RADIUS = 100.0
FONT = 10.0
MARK = "#D55E00"
"""Vermilion of Okabe and Ito, legible on light and dark: what the eye should find."""
UNCHOSEN_PEN = Pen(1.6, MARK, (4.0, 3.0))
"""Round what has no film yet, in a diagram's own units."""
OUTLINE = "#5b6670"
"""Grey that shows on films, on light and on dark paper."""
LEADER = "#7d8891"
"""Grey that shows on black film too."""
OWN_START = f"{DECLARATION}<!-- Drawn by jobprep, not for a cutter. -->\n"
"""How a picture begins, so that it is never taken for a drawing to cut or for a user's own."""
WIDE = 5.0 * RADIUS
"""A diagram wider than this has a row of the page for itself, and is pushed along on a phone."""
GAP = 12.0
"""Between the diagrams of a file."""
STYLE = (
    "svg { color: #1c2530 } .paper { fill: #ffffff }"
    " @media (prefers-color-scheme: dark) { svg { color: #e4e9ee } .paper { fill: #14191f } }"
)


class Diagram(NamedTuple):
    """A drawing and its frame; ``name`` says what it shows to those who cannot see it.

    ``notes`` are lines that stand under it: text of the page, or drawn in a file.
    """

    name: str
    frame: Bounds
    elements: tuple[Element, ...]
    notes: tuple[str, ...] = ()


def inline(diagram: Diagram) -> Markup:
    """Return a diagram with its notes for a page; it takes the ink around it."""
    frame, picture = diagram.frame, alone(diagram)
    notes = [element("p", note) for note in diagram.notes]
    below = (element("div", *notes, class_="note"),) if notes else ()
    if frame.width > WIDE:  # on a phone it scrolls, for the keyboard as well
        return element("div", picture, *below, class_="diagram wide", tabindex="0")
    return element("div", picture, *below, class_="diagram")


def alone(diagram: Diagram) -> Markup:
    """Return a diagram without its notes as an element for a page."""
    frame = diagram.frame
    whole = Drawing(
        width=frame.width,
        height=frame.height,
        title=diagram.name,
        elements=(_placed(diagram, 0.0, 0.0),),
    )
    return drawn(whole, {"role": "img", "font-family": FONTS})


def svg_file(name: str, rows: Sequence[Sequence[Diagram]]) -> str:
    """Return diagrams in rows as one SVG file that is legible on light and dark screens."""
    told = [[_with_notes(each) for each in row] for row in rows]
    heights = [max(each.frame.height for each in row) + GAP for row in told]
    width = GAP + max(sum(each.frame.width + GAP for each in row) for row in told)
    height = GAP + sum(heights)
    groups: list[Group] = []
    top = height - GAP
    for row, high in zip(told, heights, strict=True):
        x = GAP
        for each in row:
            groups.append(_placed(each, x, top - each.frame.height))
            x += each.frame.width + GAP
        top -= high
    paper = Fill(paths=(rectangle(width, height).segments,), layer="paper", colour="#ffffff")
    page = Drawing(width=width, height=height, title=name, elements=(paper, *groups))
    told_once = {"xmlns": NAMESPACE, "color": "#1c2530", "font-family": FONTS}
    size = {"width": number(2.0 * width), "height": number(2.0 * height)}
    root = svg_root(page, picture_spelling(page.elements), told_once | size)
    style = Node("style")
    style.text = STYLE
    root.insert(1, style)
    return svg_document(root, OWN_START)


def is_own_svg(data: bytes) -> bool:
    """Whether a file is one that ``svg_file`` wrote, which may be replaced."""
    return data.startswith(OWN_START.encode())


def words(
    text: str,
    x: float,
    y: float,
    *,
    anchor: Anchor = "start",
    size: float = FONT,
    bold: bool = False,
) -> Text:
    """Return a line of text in the page's ink, its middle at the height ``y``."""
    at = Point(x, y - DROP * size)
    return Text(text=text, at=at, size=size, anchor=anchor, is_bold=bold)


def words_on_film(
    lines: Sequence[str], x: float, y: float, colour: str | None, size: float = FONT
) -> Iterator[Text]:
    """Yield lines of text about a middle that can be read on a colour, on bare paper if None."""
    ink, rim = _legible(colour)
    pen = None if rim is None else Pen(0.2 * size, rim, join="round")
    foot = y + 0.6 * size * (len(lines) - 1) - DROP * size
    for index, line in enumerate(lines):
        at = Point(x, foot - 1.2 * size * index)
        yield Text(text=line, at=at, size=size, anchor="middle", colour=ink, is_bold=True, rim=pen)


def stacked_colour(names: Iterable[str], films: Mapping[str, Film]) -> str:
    """Return the ``#rrggbb`` of films on one another, their linear channels multiplied.

    A film to be chosen shows what was measured there, with all that lies before and behind it.
    """
    used = [films[name] for name in names]
    open_ = next((film.colour for film in used if not film.is_chosen), None)
    if open_ is not None and all(film.light != "blocks" for film in used):
        return open_
    return hex_of(map(encode, through(film.colour for film in used)))


def in_unit(pen: Pen, scale: float) -> Pen:
    """Return a pen for what is drawn ``scale`` times as large."""
    dashes = tuple(each / scale for each in pen.dashes)
    return pen._replace(width=pen.width / scale, dashes=dashes)


def _placed(diagram: Diagram, x: float, y: float) -> Group:
    """Return a diagram with the lower left corner of its frame at a point."""
    frame = diagram.frame
    return Group(elements=diagram.elements, place=moving(0.0, x - frame.x_min, y - frame.y_min))


def _with_notes(diagram: Diagram) -> Diagram:
    """Return a diagram with its notes drawn under it."""
    if not diagram.notes:
        return diagram
    left, bottom, right, top = diagram.frame
    wider = max(0.0, max(width_of(each, FONT) for each in diagram.notes) + 8.0 - (right - left))
    middle, line = (left + right) / 2.0, 1.4 * FONT
    lines = (
        words(note, middle, bottom - line * (index + 0.5), anchor="middle")
        for index, note in enumerate(diagram.notes)
    )
    low = bottom - line * len(diagram.notes)
    return diagram._replace(
        frame=Bounds(left - wider / 2.0, low, right + wider / 2.0, top),
        elements=(*diagram.elements, *lines),
        notes=(),
    )


def _legible(colour: str | None) -> tuple[str, str | None]:
    """Return the colours of text and of the rim around it that stand out on a colour."""
    if colour is None:
        return INK, None
    # Black and white contrast equally with this luminance (WCAG 2.2, contrast ratio).
    dark_text = luminance(through([colour])) > 0.179
    return ("#000000", colour) if dark_text else ("#ffffff", colour)
