"""Labels to stick on pieces of film: id, film, outline, size and date; SVG or PDF, 1:1.

Both formats draw the same list of texts and polygons, in mm from the upper left of the page.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from io import BytesIO
from typing import NamedTuple

from jobprep.geometry.measure import region_bounds
from jobprep.model import Film, Points
from jobprep.report.markup import element
from jobprep.report.stock_sheet import piece_region
from jobprep.report.words import extent
from jobprep.stock.ledger import Piece
from jobprep.units import number

WIDTH, HEIGHT = 80.0, 40.0
"""Of one label, mm."""

BORDER = 3.0
PICTURE = HEIGHT - 2.0 * BORDER
POINTS_PER_MM = 72.0 / 25.4
"""A PDF's unit is 1/72 inch (ISO 32000-1, 8.3.2.3)."""

LETTER_WIDTH = 0.6
"""About the width of a letter against its height; long texts are set smaller to fit."""


class Text(NamedTuple):
    """A line of text with its lower left corner and greatest height, mm."""

    x: float
    y: float
    size: float
    text: str


class Labels(NamedTuple):
    """What is on a page: frames to cut along, outlines, texts."""

    width: float
    height: float
    outlines: tuple[Points, ...]
    texts: tuple[Text, ...]


def labels(pieces: Sequence[Piece], films: Mapping[str, Film]) -> Labels:
    """Lay out the labels of pieces, one under the other."""
    outlines: list[Points] = []
    texts: list[Text] = []
    for number_, piece in enumerate(pieces):
        top = number_ * HEIGHT
        outlines.append(_rectangle(0.0, top, WIDTH, HEIGHT))
        outlines += _outlines(piece, top)
        texts += _texts(piece, films, top)
    return Labels(WIDTH, HEIGHT * len(pieces), tuple(outlines), tuple(texts))


def labels_svg(sheet: Labels) -> str:
    """Return labels as SVG, one user unit to the mm."""
    width, height = number(sheet.width), number(sheet.height)
    shapes = [
        element(
            "path",
            d="M " + " L ".join(f"{number(x)} {number(y)}" for x, y in outline) + " Z",
            fill="none",
            stroke="#000000",
            stroke_width="0.25",
        )
        for outline in sheet.outlines
    ]
    lines = [
        element(
            "text",
            line.text,
            x=number(line.x),
            y=number(line.y),
            font_size=number(line.size),
            font_family="sans-serif",
            stroke="none",
        )
        for line in sheet.texts
    ]
    text = element(
        "svg",
        *shapes,
        *lines,
        xmlns="http://www.w3.org/2000/svg",
        width=f"{width}mm",
        height=f"{height}mm",
        viewBox=f"0 0 {width} {height}",
    )
    return f"{text}\n"


def labels_pdf(sheet: Labels) -> bytes:
    """Return labels as a PDF page of their size; needs reportlab."""
    from reportlab.pdfgen.canvas import Canvas

    out = BytesIO()
    page = Canvas(
        out,
        pagesize=(sheet.width * POINTS_PER_MM, sheet.height * POINTS_PER_MM),
        invariant=True,
    )
    page.scale(POINTS_PER_MM, POINTS_PER_MM)
    page.setLineWidth(0.25)
    for outline in sheet.outlines:
        path = page.beginPath()
        (x, y), *rest = outline
        path.moveTo(x, sheet.height - y)
        for x, y in rest:
            path.lineTo(x, sheet.height - y)
        path.close()
        page.drawPath(path)
    for line in sheet.texts:
        page.setFont("Helvetica", line.size)
        page.drawString(line.x, sheet.height - line.y, line.text)
    page.showPage()
    page.save()
    return out.getvalue()


def _texts(piece: Piece, films: Mapping[str, Film], top: float) -> Iterator[Text]:
    left = PICTURE + 2.0 * BORDER
    title = films[piece.film].title if piece.film in films else piece.film
    size = extent(piece_region(piece))
    what = piece.kind if piece.count == 1 else f"{piece.count} {piece.kind}s"
    facts = [size, f"{what}, {piece.added.isoformat()}"]
    words = [f"shelf {piece.shelf}" if piece.shelf else "", piece.origin, piece.remark]
    body = min(3.5, *map(_fitting, facts))
    yield Text(left, top + BORDER + 8.0, min(7.0, _fitting(piece.id)), piece.id)
    y = top + BORDER + 9.0
    for text in filter(None, (title, *facts, *words)):
        y += body + 1.0
        yield Text(left, y, min(body, _fitting(text)), text)


def _fitting(text: str) -> float:
    """Return the greatest height at which a text fits beside the picture, mm."""
    return (WIDTH - PICTURE - 3.0 * BORDER) / (LETTER_WIDTH * max(1, len(text)))


def _outlines(piece: Piece, top: float) -> Iterator[Points]:
    """Yield the outline and the defects of a piece, as large as the picture's place allows."""
    box = region_bounds(piece_region(piece))
    scale = PICTURE / max(box.width, box.height)
    x0 = BORDER + 0.5 * (PICTURE - scale * box.width)
    y0 = top + BORDER + 0.5 * (PICTURE + scale * box.height)
    for ring in (piece.outline, *piece.defects):
        yield tuple((x0 + scale * (x - box.x_min), y0 - scale * (y - box.y_min)) for x, y in ring)


def _rectangle(x: float, y: float, width: float, height: float) -> Points:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
