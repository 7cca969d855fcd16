"""Draw what was found onto the photograph, for a person to judge at a glance.

Colours: M. Okabe and K. Ito, Color Universal Design (2008); lines differ by dashes as well.
"""

from __future__ import annotations

import io
import math
from typing import TYPE_CHECKING, Any

import numpy as np

from jobprep.measuring.disc_plane import DiscPlane, polar
from jobprep.measuring.measured import Floats
from jobprep.measuring.photo import PhotoMeasurement
from jobprep.measuring.picture import Picture
from jobprep.units import TURN, number, to_dial

if TYPE_CHECKING:
    from PIL.Image import Image

RIM, EDGE, DOUBTFUL, HOLE = "#56B4E9", "#009E73", "#D55E00", "#F0E442"
DASH = 14.0
"""Pixels of a dash and of the gap after it."""


class Canvas:
    """A picture to draw on in the coordinates of the disc's plane."""

    def __init__(self, picture: Picture, plane: DiscPlane) -> None:
        from PIL import Image, ImageDraw, ImageFont

        pixels = np.rint(picture.encoded * 255.0).astype(np.uint8)
        self.image: Image.Image = Image.fromarray(pixels)
        self._draw: Any = ImageDraw.Draw(self.image)
        self._plane = plane
        self._width = max(2, round(plane.pixels / 130.0))
        self._font: Any = ImageFont.load_default(size=max(11.0, plane.pixels / 22.0))

    def line(self, points: Floats, colour: str, *, dashed: bool = False) -> None:
        """Draw a polyline through (n, 2) points of the disc's plane."""
        places = self._plane.to_picture(points)
        steps = np.hypot(*np.diff(places, axis=0).T)
        run = np.concatenate([[0.0], np.cumsum(steps)])
        for index in range(len(places) - 1):
            if dashed and (run[index] // DASH) % 2:
                continue
            ends = [tuple(places[index]), tuple(places[index + 1])]
            self._draw.line(ends, fill="black", width=self._width + 2)
            self._draw.line(ends, fill=colour, width=self._width)

    def circle(
        self, x: float, y: float, radius: float, colour: str, *, dashed: bool = False
    ) -> None:
        """Draw a circle of the disc's plane."""
        angles = np.linspace(0.0, TURN, 241)
        ring = polar(np.array([radius]), angles)[0] + np.array([x, y])
        self.line(ring, colour, dashed=dashed)

    def ray(
        self, direction: float, inner: float, outer: float, colour: str, *, dashed: bool = False
    ) -> None:
        """Draw a radial line."""
        radii = np.linspace(inner, outer, 60 if dashed else 2)
        self.line(polar(radii, np.array([direction]))[:, 0], colour, dashed=dashed)

    def text(self, x: float, y: float, words: str) -> None:
        """Write words centred on a point of the disc's plane."""
        place = tuple(self._plane.to_picture(np.array([x, y])))
        self._draw.text(
            place,
            words,
            fill="white",
            font=self._font,
            anchor="mm",
            stroke_width=2,
            stroke_fill="black",
        )

    def png(self) -> bytes:
        """Return the picture as PNG."""
        stream = io.BytesIO()
        self.image.save(stream, "PNG")
        return stream.getvalue()


def overlay_png(found: PhotoMeasurement) -> bytes:
    """Return the photograph with what was found drawn on it, as PNG.

    Rim, bore and ring limits are blue, sure separations green with their dial degrees, doubtful and
    left-out ones red and dashed, holes yellow.
    """
    canvas = Canvas(found.picture, found.plane)
    canvas.circle(0.0, 0.0, 1.0, RIM, dashed=bool(found.doubt))
    for limits in found.rings:
        if limits.inner_measured is not None:
            canvas.circle(0.0, 0.0, limits.inner, RIM)
    if found.bore is not None:
        flat = DiscPlane(found.plane.ellipse)
        around = polar(np.array([found.bore.radius]), np.linspace(0.0, TURN, 121))[0]
        places = flat.to_picture(around + np.array([found.bore.x, found.bore.y]))
        canvas.line(found.plane.from_picture(places), RIM)
    for limits, edges, ring in zip(found.rings, found.edges, found.measurement.rings, strict=True):
        for edge, measured in zip(edges, ring.edges, strict=True):
            colour = DOUBTFUL if edge.doubt else EDGE
            canvas.ray(edge.direction, limits.inner, limits.outer, colour, dashed=bool(edge.doubt))
            at = 0.72 * limits.outer + 0.28 * limits.inner
            label = number(to_dial(measured.direction.value), 2) + "°"
            label += "?" if edge.doubt else ""
            canvas.text(at * math.cos(edge.direction), at * math.sin(edge.direction), label)
    for edge in found.left_out:
        limits = found.rings[edge.ring]
        canvas.ray(edge.direction, limits.inner, limits.outer, DOUBTFUL, dashed=True)
    for hole in found.holes:
        canvas.circle(hole.x, hole.y, hole.radius, HOLE, dashed=bool(hole.doubt))
    canvas.line(np.array([[-0.04, 0.0], [0.04, 0.0]]), RIM)
    canvas.line(np.array([[0.0, -0.04], [0.0, 0.04]]), RIM)
    return canvas.png()
