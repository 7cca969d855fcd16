"""Write a drawing as a PNG of one pixel to the mm: what is drawn over a photograph; needs pillow.

Written are rasters that fill the page, strokes, whose arcs become chords, and texts about their
middle. Ends and corners of strokes are as the library makes them.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator
from itertools import pairwise
from typing import Any

from jobprep.drawing.drawing import Drawing, Pen, Raster, Stroke, Text
from jobprep.geometry.flatten import flatten_path
from jobprep.geometry.outline import Path

CHORDS = 0.1
"""How finely arcs are flattened, pixels."""

_Places = list[tuple[float, float]]


def png_bytes(drawing: Drawing) -> bytes:
    """Return a drawing as PNG; raises ``ValueError`` at an element that is not written."""
    from PIL import Image, ImageDraw

    image = Image.new("RGB", (round(drawing.width), round(drawing.height)), "white")
    draw = ImageDraw.Draw(image)
    for element in drawing.elements:
        match element:
            case Raster():
                image.paste(element.pixels)
            case Stroke(pen=Pen() as pen):
                for path in element.paths:
                    _draw_path(draw, path, pen, drawing.height)
            case Text(anchor="middle", turn=0.0):
                _draw_text(draw, element, drawing.height)
            case _:
                raise ValueError(f"no PNG is written of this {type(element).__name__}")
    stream = io.BytesIO()
    image.save(stream, "PNG")
    return stream.getvalue()


def _draw_path(draw: Any, path: Path, pen: Pen, height: float) -> None:
    points = [(x, height - y) for x, y in flatten_path(path, CHORDS)]
    x, y = path[-1].end
    points.append((x, height - y))  # once more where the path is open; a closed one ends there
    for dash in _dashes(points, pen.dashes):
        pixels = [(round(x), round(y)) for x, y in dash]  # left to the library they are cut off
        draw.line(pixels, fill=pen.colour, width=round(pen.width))


def _dashes(points: _Places, dashes: tuple[float, ...]) -> Iterator[_Places]:
    """Yield the pieces of a polyline that are drawn."""
    if not dashes:
        yield points
        return
    run = 0.0
    for start, end in pairwise(points):
        length = math.dist(start, end)
        for low, high in _drawn(run, run + length, dashes):
            shares = ((each - run) / length for each in (low, high))
            yield [
                (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
                for share in shares
            ]
        run += length


def _drawn(start: float, end: float, dashes: Iterable[float]) -> Iterator[tuple[float, float]]:
    """Yield what of a stretch lies on the dashes, which alternate with gaps from 0 on."""
    lengths = tuple(dashes)
    at, index = start - start % sum(lengths), 0
    while at < end:
        following = at + lengths[index % len(lengths)]
        low, high = max(at, start), min(following, end)
        if index % 2 == 0 and high > low:
            yield low, high
        at, index = following, index + 1


def _draw_text(draw: Any, text: Text, height: float) -> None:
    from PIL import ImageFont

    draw.text(
        (text.at.x, height - text.at.y),
        text.text,
        fill=text.colour,
        font=ImageFont.load_default(size=text.size),
        anchor="ms",
        stroke_width=0 if text.rim is None else round(text.rim.width / 2.0),
        stroke_fill=None if text.rim is None else text.rim.colour,
    )
