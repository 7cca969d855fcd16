"""A cut drawing as DXF: mm, y up, one layer for each operation, one polyline for each path.

An arc is a polyline's bulge, the tangent of a quarter of its sweep. Beyond a half turn bulges grow
without bound and lose digits, so longer arcs are written as two; a circle is two half circles.
"""

from __future__ import annotations

import io
import math
from typing import TYPE_CHECKING

from jobprep.colour import channels
from jobprep.drawing.arcs import split_arc
from jobprep.drawing.drawing import Drawing
from jobprep.drawing.formats import Control
from jobprep.errors import CannotDoError, extra
from jobprep.geometry.outline import Arc, Path
from jobprep.units import TURN

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

MILLIMETRES = 4
"""$INSUNITS of the DXF reference."""

DECIMALS = 9


def write(drawing: Drawing, control: Control) -> str:
    """Return the drawing as DXF R2010; raises ``CannotDoError`` without ezdxf."""
    try:
        from ezdxf import options  # type: ignore[attr-defined]  # public, but not marked as such
        from ezdxf.filemanagement import new
    except ModuleNotFoundError:
        raise CannotDoError(f"DXF needs ezdxf: {extra('dxf')}") from None

    # Without this the file holds the time and random numbers.
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        document = new("R2010")
        _set_page(document, drawing)
        space = document.modelspace()
        for stroke in drawing.strokes:
            for path in stroke.paths:
                space.add_lwpolyline(
                    _corners(path, stroke.closed),
                    format="xyb",
                    close=stroke.closed,
                    dxfattribs={"layer": stroke.layer},
                )
        _name_classes(document)
        text = io.StringIO()
        document.write(text)
    finally:
        options.write_fixed_meta_data_for_testing = before
    return text.getvalue()


def _set_page(document: Document, drawing: Drawing) -> None:
    document.header["$INSUNITS"] = MILLIMETRES
    document.header["$MEASUREMENT"] = 1  # metric
    document.header["$LIMMIN"] = (0.0, 0.0)
    document.header["$LIMMAX"] = (drawing.width, drawing.height)
    for name, colour in drawing.colours.items():
        red, green, blue = (round(255.0 * channel) for channel in channels(colour))
        document.layers.add(name).rgb = (red, green, blue)
    middle = (0.5 * drawing.width, 0.5 * drawing.height)
    document.set_modelspace_vport(height=drawing.height, center=middle)


def _name_classes(document: Document) -> None:
    """Name the classes in one order: left to the library it is that of a set, and so by chance."""
    from ezdxf.sections.classes import REQ_R2004

    in_use = sorted(document.entitydb.dxf_types_in_use())
    for name in (*REQ_R2004, *in_use):
        document.classes.add_class(name)


def _corners(path: Path, closed: bool) -> list[tuple[float, float, float]]:
    """Return (x, y, bulge of the way onwards) for each corner, of a closed path each once."""
    corners = []
    for segment in path:
        if isinstance(segment, Arc):
            for piece in split_arc(segment, 0.5 * TURN):
                corners.append((*piece.start, math.tan(0.25 * piece.sweep)))
        else:
            corners.append((*segment.start, 0.0))
    if not closed:
        corners.append((*path[-1].end, 0.0))
    return [(round(x, DECIMALS), round(y, DECIMALS), bulge) for x, y, bulge in corners]
