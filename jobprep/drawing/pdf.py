"""Write drawings as the pages of a PDF at exactly 1:1; needs reportlab.

Arcs become cubic Bezier curves that leave them by at most ``ARC_TOLERANCE`` (``arcs.bezier``).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from io import BytesIO
from typing import TYPE_CHECKING, Any

from jobprep.colour import Channels, channels
from jobprep.drawing.arcs import bezier
from jobprep.drawing.drawing import INK, Drawing, Element, Fill, Group, Pen, Raster, Stroke, Text
from jobprep.errors import CannotDoError, extra
from jobprep.geometry.outline import Arc, Path
from jobprep.units import MM_PER_INCH, to_degrees

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

POINTS_PER_MM = 72.0 / MM_PER_INCH
"""A PDF's unit is 1/72 inch (ISO 32000-1, 8.3.2.3)."""
ARC_TOLERANCE = 0.0005
"""How far a curve may leave its arc, mm: half of what is promised, the rest is for rounding."""
FACE, BOLD_FACE = "Helvetica", "Helvetica-Bold"
CREATOR = "jobprep"
EVEN_ODD, NON_ZERO = 0, 1
"""The rules of filling, as the canvas counts them."""
CAPS = {"butt": 0, "round": 1, "square": 2}
JOINS = {"miter": 0, "round": 1, "bevel": 2}
"""Ends and corners of strokes (ISO 32000-1, tables 54 and 55)."""
MITRE_LIMIT = 4.0
"""SVG's own (SVG 2, 13.5.5)."""
BEFORE = {"start": 0.0, "middle": 0.5, "end": 1.0}
"""The share of a text that lies before its anchor."""
NO_PEN = Pen(1.0)
"""Where neither a stroke nor its group has one: SVG's own width (SVG 2, 13.5.2)."""


def pdf_bytes(pages: Sequence[Drawing], title: str) -> bytes:
    """Return drawings as pages of one PDF; the same pages give the same bytes.

    Raises
    ------
    CannotDoError
        When reportlab is not installed.
    """
    try:
        from reportlab.pdfgen.canvas import Canvas
    except ModuleNotFoundError:
        raise CannotDoError(f"PDF needs reportlab: {extra('pdf')}") from None
    out = BytesIO()
    canvas = Canvas(out, invariant=True, pageCompression=1)
    canvas.setTitle(title)
    canvas.setCreator(CREATOR)
    for page in pages:
        canvas.setPageSize((page.width * POINTS_PER_MM, page.height * POINTS_PER_MM))
        canvas.bookmarkPage(f"page-{canvas.getPageNumber()}")
        canvas.addOutlineEntry(page.title, f"page-{canvas.getPageNumber()}")
        canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
        canvas.setMiterLimit(MITRE_LIMIT)
        _draw(canvas, page.elements, NO_PEN)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def is_own_pdf(data: bytes) -> bool:
    """Whether a file is a PDF that was written here."""
    return data.startswith(b"%PDF") and f"/Creator ({CREATOR})".encode() in data


def _draw(canvas: Canvas, elements: Iterable[Element], pen: Pen) -> None:
    for element in elements:
        match element:
            case Stroke():
                _set_pen(canvas, element.pen or pen)
                canvas.drawPath(_path(canvas, element.paths, element.closed), stroke=1, fill=0)
            case Fill():
                _draw_fill(canvas, element)
            case Text():
                _draw_text(canvas, element)
            case Raster():
                _draw_raster(canvas, element)
            case Group():
                canvas.saveState()
                if element.window:
                    window = _path(canvas, element.window, closed=True)
                    canvas.clipPath(window, stroke=0, fill=0, fillMode=EVEN_ODD)
                canvas.transform(*element.place)
                _draw(canvas, element.elements, element.pen or pen)
                canvas.restoreState()


def _draw_fill(canvas: Canvas, fill: Fill) -> None:
    canvas.saveState()
    if fill.colour is not None:
        _set_fill(canvas, fill.colour)
    if fill.opacity < 1.0:
        canvas.setFillAlpha(fill.opacity)
    if fill.pen is not None:
        _set_pen(canvas, fill.pen)
    canvas.drawPath(
        _path(canvas, fill.paths, closed=True),
        stroke=int(fill.pen is not None),
        fill=int(fill.colour is not None),
        fillMode=EVEN_ODD if fill.is_even_odd else NON_ZERO,
    )
    canvas.restoreState()


def _draw_raster(canvas: Canvas, raster: Raster) -> None:
    from reportlab.lib.utils import ImageReader

    left, bottom = -raster.width / 2.0, -raster.height / 2.0
    canvas.drawImage(ImageReader(raster.pixels), left, bottom, raster.width, raster.height)


def _draw_text(canvas: Canvas, text: Text) -> None:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    face = BOLD_FACE if text.is_bold else FACE
    width = stringWidth(text.text, face, text.size)
    shrunk = 1.0 if text.room is None or width <= text.room else text.room / width
    canvas.saveState()
    canvas.setFont(face, shrunk * text.size)
    canvas.translate(*text.at)
    if text.turn:
        canvas.rotate(to_degrees(text.turn))
    start = -BEFORE[text.anchor] * shrunk * width
    if text.rim is not None:
        _set_pen(canvas, text.rim)
        canvas.drawString(start, 0.0, text.text, mode=1)
    _set_fill(canvas, text.colour or INK)
    canvas.drawString(start, 0.0, text.text)
    canvas.restoreState()


def _set_pen(canvas: Canvas, pen: Pen) -> None:
    red, green, blue = _channels(pen.colour)
    if red == green == blue:
        canvas.setStrokeGray(red)
    else:
        canvas.setStrokeColorRGB(red, green, blue)
    canvas.setLineWidth(pen.width)
    canvas.setDash(*([list(pen.dashes)] if pen.dashes else []))
    canvas.setLineCap(CAPS[pen.cap])
    canvas.setLineJoin(JOINS[pen.join])


def _set_fill(canvas: Canvas, colour: str) -> None:
    red, green, blue = _channels(colour)
    if red == green == blue:
        canvas.setFillGray(red)
    else:
        canvas.setFillColorRGB(red, green, blue)


def _channels(colour: str) -> Channels:
    return channels("#000000" if colour == INK else colour)


def _path(canvas: Canvas, paths: Sequence[Path], closed: bool) -> Any:
    """Return paths as one of the canvas's."""
    drawn = canvas.beginPath()
    for path in paths:
        drawn.moveTo(*path[0].start)
        for segment in path:
            if isinstance(segment, Arc):
                for curve in bezier(segment, ARC_TOLERANCE):
                    drawn.curveTo(*curve)
            else:
                drawn.lineTo(*segment.end)
        if closed:
            drawn.close()
    return drawn
