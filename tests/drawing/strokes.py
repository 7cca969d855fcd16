"""Drawings to write, and arcs to read back."""

import math

from hypothesis import strategies as st

from jobprep.drawing.drawing import Drawing, Stroke
from jobprep.geometry.outline import Arc, Contour, Line, Point

COLOURS = {"mark": "#0072b2", "cut-inner": "#d55e00", "cut-outer": "#000000"}


def stroke(id: str, layer: str, contour: Contour, title: str = "part 1, copy 1") -> Stroke:
    return Stroke(id=id, layer=layer, title=title, paths=(contour.segments,), closed=True)


def mark(*segments: Arc | Line) -> Stroke:
    """One open stroke."""
    return Stroke(id="m", layer="mark", title="mark", paths=(segments,), closed=False)


def drawing(
    *strokes: Stroke, width: float = 200, height: float = 150, title: str = "amber"
) -> Drawing:
    return Drawing(width=width, height=height, title=title, elements=strokes, colours=COLOURS)


def sector(inner: float, outer: float, start: float, sweep: float) -> Contour:
    """An anticlockwise annular sector about (100, 75)."""
    centre = Point(100, 75)
    rim = Arc(centre, outer, start, sweep)
    bore = Arc(centre, inner, start + sweep, -sweep)
    return Contour((rim, Line(rim.end, bore.start), bore, Line(bore.end, rim.start)))


arcs = st.builds(
    lambda x, y, radius, start, sweep, sign: Arc(Point(x, y), radius, start, sign * sweep),
    st.floats(-500, 500),
    st.floats(-500, 500),
    st.floats(0.05, 2000),
    st.floats(-7, 7),
    st.floats(1e-3, 2 * math.pi),
    st.sampled_from((1, -1)),
)
"""Arcs of either direction, from slivers to whole turns, small and large."""
