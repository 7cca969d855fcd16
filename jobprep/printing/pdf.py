"""Pages as PDF at exactly 1:1; needs reportlab.

Arcs become cubic Bezier curves. For an arc of angle t and radius r with handles of length
(4/3) tan(t/4) r the curve leaves the circle by at most (2/27) sin⁶(t/4) / cos²(t/4) r (M. Goldapp,
Approximation of circular arcs by cubic polynomials, 1991, from memory; the tests measure it).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from io import BytesIO
from typing import TYPE_CHECKING, Any, NamedTuple

from jobprep.drawing.arcs import split_arc
from jobprep.errors import CannotDoError, extra
from jobprep.geometry.outline import Arc, Path
from jobprep.printing.page import Area, Ink, Lines, Page, Painted, Placed, Raster, Text
from jobprep.units import TURN, to_degrees

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

POINTS_PER_MM = 72.0 / 25.4
"""A PDF's unit is 1/72 inch (ISO 32000-1, 8.3.2.3)."""
ARC_TOLERANCE = 0.0005
"""How far a Bezier may leave its arc, mm: half of what is promised, the rest is for rounding."""
FACE = "Helvetica"
CREATOR = "jobprep"
EVEN_ODD, NON_ZERO = 0, 1
"""The rules of filling, as the canvas counts them."""
MITRE_LIMIT = 4.0
"""SVG's own (SVG 2, 13.5.5)."""
CLOSE = 1e-6
"""A path whose ends are nearer than this, mm, is closed."""


class Printing(NamedTuple):
    """How a page goes through a printer.

    ``scale_x`` and ``scale_y`` multiply everything about the page's middle and make good a
    printer that is off; ``is_mirrored`` turns the page over left to right, for print on the back.
    """

    scale_x: float = 1.0
    scale_y: float = 1.0
    is_mirrored: bool = False


AS_DRAWN = Printing()


def pdf_bytes(pages: Sequence[Page], title: str, printing: Printing = AS_DRAWN) -> bytes:
    """Return pages as one PDF; the same pages give the same bytes.

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
        canvas.transform(*_onto_paper(page, printing))
        canvas.setLineCap(0)
        canvas.setLineJoin(1)
        _draw(canvas, page.inks)
        canvas.showPage()
    canvas.save()
    return out.getvalue()


def is_own_pdf(data: bytes) -> bool:
    """Tell whether a file is a PDF that was written here."""
    return data.startswith(b"%PDF") and f"/Creator ({CREATOR})".encode() in data


def bezier(arc: Arc) -> list[tuple[float, ...]]:
    """Return the curves that stand for an arc: both handles and the end of each, mm."""
    curves: list[tuple[float, ...]] = []
    for piece in split_arc(arc, _longest(arc.radius)):
        handle = 4.0 / 3.0 * math.tan(piece.sweep / 4.0) * piece.radius
        (x0, y0), (x1, y1) = piece.start, piece.end
        sin0, cos0 = math.sin(piece.start_angle), math.cos(piece.start_angle)
        sin1, cos1 = math.sin(piece.end_angle), math.cos(piece.end_angle)
        curves.append(
            (
                x0 - handle * sin0,
                y0 + handle * cos0,
                x1 + handle * sin1,
                y1 - handle * cos1,
                x1,
                y1,
            )
        )
    return curves


def _longest(radius: float) -> float:
    """Return the largest angle of which one curve stays within the tolerance, at most a quarter."""
    angle = TURN / 4.0
    while 2.0 / 27.0 * math.sin(angle / 4.0) ** 6 / math.cos(angle / 4.0) ** 2 * radius > (
        ARC_TOLERANCE
    ):
        angle /= 1.25
    return angle


def _onto_paper(page: Page, printing: Printing) -> tuple[float, ...]:
    """Return the matrix from a page's mm to the paper's points, scaled about its middle."""
    across = -printing.scale_x if printing.is_mirrored else printing.scale_x
    return (
        across * POINTS_PER_MM,
        0.0,
        0.0,
        printing.scale_y * POINTS_PER_MM,
        page.width / 2.0 * (1.0 - across) * POINTS_PER_MM,
        page.height / 2.0 * (1.0 - printing.scale_y) * POINTS_PER_MM,
    )


def _draw(canvas: Canvas, inks: Sequence[Ink]) -> None:
    for ink in inks:
        match ink:
            case Lines():
                canvas.setStrokeGray(ink.grey)
                canvas.setLineWidth(ink.width)
                canvas.setDash(*([list(ink.dashes)] if ink.dashes else []))
                canvas.drawPath(_path(canvas, ink.paths), stroke=1, fill=0)
            case Area():
                canvas.setFillGray(ink.grey)
                path = _path(canvas, ink.paths)
                canvas.drawPath(path, stroke=0, fill=1, fillMode=EVEN_ODD)
            case Text():
                _draw_text(canvas, ink)
            case Painted():
                _draw_painted(canvas, ink)
            case Raster():
                _draw_raster(canvas, ink)
            case Placed():
                canvas.saveState()
                if ink.window:
                    window = _path(canvas, ink.window)
                    canvas.clipPath(window, stroke=0, fill=0, fillMode=EVEN_ODD)
                canvas.translate(ink.x, ink.y)
                if ink.turn:
                    canvas.rotate(to_degrees(ink.turn))
                _draw(canvas, ink.inks)
                canvas.restoreState()


def _draw_painted(canvas: Canvas, ink: Painted) -> None:
    canvas.saveState()
    if ink.fill is not None:
        canvas.setFillColorRGB(*ink.fill)
    if ink.stroke is not None:
        canvas.setStrokeColorRGB(*ink.stroke)
        canvas.setLineWidth(ink.width)
        canvas.setDash()
        canvas.setLineCap(ink.cap)
        canvas.setLineJoin(ink.join)
        canvas.setMiterLimit(MITRE_LIMIT)
    canvas.drawPath(
        _path(canvas, ink.paths),
        stroke=int(ink.stroke is not None),
        fill=int(ink.fill is not None),
        fillMode=EVEN_ODD if ink.is_even_odd else NON_ZERO,
    )
    canvas.restoreState()


def _draw_raster(canvas: Canvas, ink: Raster) -> None:
    from reportlab.lib.utils import ImageReader

    left, bottom = -ink.width / 2.0, -ink.height / 2.0
    canvas.drawImage(ImageReader(ink.pixels), left, bottom, ink.width, ink.height)


def _draw_text(canvas: Canvas, ink: Text) -> None:
    from reportlab.pdfbase.pdfmetrics import stringWidth

    width = stringWidth(ink.text, FACE, ink.size)
    size = ink.size if ink.room is None or width <= ink.room else ink.size * ink.room / width
    canvas.saveState()
    canvas.setFillGray(ink.grey)
    canvas.setFont(FACE, size)
    canvas.translate(ink.at.x, ink.at.y)
    if ink.turn:
        canvas.rotate(to_degrees(ink.turn))
    match ink.anchor:
        case "start":
            canvas.drawString(0.0, 0.0, ink.text)
        case "middle":
            canvas.drawCentredString(0.0, 0.0, ink.text)
        case "end":
            canvas.drawRightString(0.0, 0.0, ink.text)
    canvas.restoreState()


def _path(canvas: Canvas, paths: Sequence[Path]) -> Any:
    """Return paths as one of the canvas's, closed where they end where they start."""
    drawn = canvas.beginPath()
    for path in paths:
        drawn.moveTo(*path[0].start)
        for segment in path:
            if isinstance(segment, Arc):
                for curve in bezier(segment):
                    drawn.curveTo(*curve)
            else:
                drawn.lineTo(*segment.end)
        if math.dist(path[0].start, path[-1].end) < CLOSE:
            drawn.close()
    return drawn
