"""Diagrams of a disc: lines and words in the ink of the page they stand on, films in colour.

A diagram has a frame of its own, y down; the radius of a disc is always ``RADIUS`` in it, so that
words have one size whatever the disc's. Everything is said with attributes, no style is needed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from jobprep.colour import encode, hex_of, luminance, through
from jobprep.model.film import Film
from jobprep.report.markup import Markup, element, join
from jobprep.units import number

RADIUS = 100.0
FONT = 10.0
WIDTH_OF_LETTER = 0.6
"""Mean width of a letter as a share of the font's size, for most sans-serif fonts."""
INK = "currentColor"
MARK = "#D55E00"
"""Vermilion of Okabe and Ito, legible on light and dark: what the eye should find."""
OUTLINE = "#5b6670"
"""Grey that shows on films, on light and on dark paper."""
LEADER = "#7d8891"
"""Grey that shows on black film too."""
OWN_START = '<?xml version="1.0" encoding="utf-8"?>\n<!-- Drawn by jobprep, not for a cutter. -->\n'
"""How a picture begins, so that it is never taken for a drawing to cut or for a user's own."""
FONTS = "system-ui, sans-serif"


class Diagram(NamedTuple):
    """A drawing and its frame; ``name`` says what it shows to those who cannot see it.

    ``notes`` are lines that stand under it: text of the page, or drawn in a file.
    """

    name: str
    left: float
    top: float
    width: float
    height: float
    body: Markup
    notes: tuple[str, ...] = ()


def inline(diagram: Diagram) -> Markup:
    """Return a diagram with its notes for a page; it takes the ink around it."""
    drawn = element(
        "svg",
        element("title", diagram.name),
        diagram.body,
        viewBox=_box(diagram),
        role="img",
        font_family=FONTS,
    )
    notes = [element("p", note) for note in diagram.notes]
    below = (element("div", *notes, class_="note"),) if notes else ()
    return element("div", drawn, *below, class_="diagram")


def svg_file(name: str, rows: Sequence[Sequence[Diagram]]) -> str:
    """Return diagrams in rows as one SVG file that is legible on light and dark screens."""
    gap = 12.0
    placed: list[Markup] = []
    y = gap
    widest = 0.0
    for row in rows:
        x = gap
        drawn = [_with_notes(each) for each in row]
        for each in drawn:
            placed.append(
                element(
                    "svg",
                    each.body,
                    x=x,
                    y=y,
                    width=each.width,
                    height=each.height,
                    viewBox=_box(each),
                )
            )
            x += each.width + gap
        widest = max(widest, x)
        y += max(each.height for each in drawn) + gap
    style = (
        "svg { color: #1c2530 } .paper { fill: #ffffff }"
        " @media (prefers-color-scheme: dark) { svg { color: #e4e9ee } .paper { fill: #14191f } }"
    )
    page = element(
        "svg",
        element("title", name),
        element("style", Markup(style)),
        element("rect", class_="paper", width=widest, height=y, fill="#ffffff"),
        *placed,
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(widest)} {number(y)}",
        width=number(2.0 * widest),
        height=number(2.0 * y),
        color="#1c2530",
        font_family=FONTS,
    )
    return f"{OWN_START}{page}\n"


def _with_notes(diagram: Diagram) -> Diagram:
    """Return a diagram with its notes drawn under it."""
    if not diagram.notes:
        return diagram
    wider = max(0.0, max(map(width_of, diagram.notes)) + 8.0 - diagram.width)
    left, width = diagram.left - wider / 2.0, diagram.width + wider
    bottom = diagram.top + diagram.height
    lines = (
        words(note, left + width / 2.0, bottom + 1.4 * FONT * (index + 0.5), anchor="middle")
        for index, note in enumerate(diagram.notes)
    )
    return diagram._replace(
        left=left,
        width=width,
        height=diagram.height + 1.4 * FONT * len(diagram.notes),
        body=join(diagram.body, *lines),
        notes=(),
    )


def is_own_svg(data: bytes) -> bool:
    """Whether a file is one that ``svg_file`` wrote, which may be replaced."""
    return data.startswith(OWN_START.encode())


def words(
    text: str, x: float, y: float, *, anchor: str = "start", size: float = FONT, bold: bool = False
) -> Markup:
    """Return a line of text in the page's ink, its middle at the height ``y``."""
    return element(
        "text",
        text,
        x=number(x, 2),
        y=number(y + 0.35 * size, 2),
        font_size=number(size, 2),
        font_weight="600" if bold else None,
        text_anchor=None if anchor == "start" else anchor,
        fill=INK,
    )


def words_on_film(
    lines: Sequence[str], x: float, y: float, colour: str | None, size: float = FONT
) -> Markup:
    """Return lines of text about a middle that can be read on a colour, on bare paper if None."""
    ink, rim = _legible(colour)
    top = y - 0.6 * size * (len(lines) - 1)
    return element(
        "g",
        *(
            element(
                "text",
                line,
                x=number(x, 2),
                y=number(top + 1.2 * size * index + 0.35 * size, 2),
            )
            for index, line in enumerate(lines)
        ),
        font_size=number(size, 2),
        font_weight="600",
        text_anchor="middle",
        fill=ink,
        stroke=rim,
        stroke_width=number(0.2 * size, 2),
        stroke_linejoin="round",
        paint_order="stroke",
    )


def width_of(text: str, size: float = FONT) -> float:
    """Return about how wide a line of text is."""
    return WIDTH_OF_LETTER * size * len(text)


def stacked_colour(names: Iterable[str], films: Mapping[str, Film]) -> str:
    """Return the ``#rrggbb`` of films on one another, their linear channels multiplied."""
    return hex_of(map(encode, through(films[name].colour for name in names)))


def _legible(colour: str | None) -> tuple[str, str]:
    """Return the colours of text and of the rim around it that stand out on a colour."""
    if colour is None:
        return INK, "none"
    # Black and white contrast equally with this luminance (WCAG 2.2, contrast ratio).
    dark_text = luminance(through([colour])) > 0.179
    return ("#000000", colour) if dark_text else ("#ffffff", colour)


def _box(diagram: Diagram) -> str:
    frame = (diagram.left, diagram.top, diagram.width, diagram.height)
    return " ".join(number(value, 2) for value in frame)
