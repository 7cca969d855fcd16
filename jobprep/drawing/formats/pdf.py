"""A cut drawing as PDF: one page, as large as the sheet and at 1:1, nothing on it but the strokes.

Strokes are hairlines in the colours of their layers, in the order in which they are cut. PDF has no
arcs: its curves leave them by at most ``pdf.ARC_TOLERANCE``, 0.0005 mm; the digits of the file add
less than a millionth of a point's distance from the corner.
"""

from __future__ import annotations

from dataclasses import replace

from jobprep.drawing.drawing import Drawing, Pen
from jobprep.drawing.formats import Control
from jobprep.drawing.pdf import pdf_bytes

HAIRLINE = 0.01
"""Width of a stroke, mm: drivers cut along lines no wider than 0.001 in, 0.0254 mm, and print wider
ones (common practice, no source)."""


def write(drawing: Drawing, control: Control) -> bytes:
    """Return the drawing as a PDF of one page; raises ``CannotDoError`` without reportlab."""
    strokes = tuple(
        replace(stroke, pen=Pen(HAIRLINE, drawing.colours[stroke.layer]))
        for stroke in drawing.strokes
    )
    return pdf_bytes([replace(drawing, elements=strokes)], drawing.title)
