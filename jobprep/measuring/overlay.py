"""Draw what was found onto the photograph, for a person to judge at a glance.

Colours: M. Okabe and K. Ito, Color Universal Design (2008); lines differ by dashes as well.
"""

from __future__ import annotations

import math

import numpy as np

from jobprep.drawing.drawing import Drawing, Element, Pen, Raster, Stroke, Text, straight
from jobprep.drawing.png import png_bytes
from jobprep.drawing.svg import DROP
from jobprep.geometry.outline import Point
from jobprep.measuring.disc_plane import DiscPlane, polar
from jobprep.measuring.measured import Floats
from jobprep.measuring.photo import PhotoMeasurement
from jobprep.measuring.picture import Picture
from jobprep.units import TURN, number, to_dial

RIM, EDGE, DOUBTFUL, HOLE = "#56B4E9", "#009E73", "#D55E00", "#F0E442"
DASH = 14.0
"""Pixels of a dash and of the gap after it."""


class Canvas:
    """A photograph, and what is drawn on it in the coordinates of the disc's plane."""

    def __init__(self, picture: Picture, plane: DiscPlane) -> None:
        self._picture = picture
        self._plane = plane
        self._height = picture.encoded.shape[0]
        self._width = max(2.0, round(plane.pixels / 130.0))
        self._letters = max(11.0, plane.pixels / 22.0)
        self._elements: list[Element] = []

    def line(self, points: Floats, colour: str, *, dashed: bool = False) -> None:
        """Draw a polyline through (n, 2) points of the disc's plane."""
        path = straight(*map(self._place, points))
        dashes = (DASH, DASH) if dashed else ()
        for pen in (Pen(self._width + 2.0, "#000000", dashes), Pen(self._width, colour, dashes)):
            self._elements.append(Stroke(paths=(path,), pen=pen))

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
        across, up = self._place(np.array([x, y]))
        at = Point(across, up - DROP * self._letters)
        self._elements.append(
            Text(
                text=words,
                at=at,
                size=self._letters,
                anchor="middle",
                colour="#ffffff",
                rim=Pen(4.0, "#000000"),
            )
        )

    def png(self) -> bytes:
        """Return the picture as PNG."""
        from PIL import Image

        pixels = np.rint(self._picture.encoded * 255.0).astype(np.uint8)
        height, width, _ = pixels.shape
        ground = Raster(pixels=Image.fromarray(pixels), width=width, height=height)
        elements = (ground, *self._elements)
        return png_bytes(Drawing(width=width, height=height, title="", elements=elements))

    def _place(self, point: Floats) -> Point:
        """Return where a point of the disc's plane lies on the photograph, y up."""
        x, y = self._plane.to_picture(point)
        return Point(float(x), self._height - float(y))


def overlay_png(found: PhotoMeasurement) -> bytes:
    """Return the photograph with what was found drawn on it, as PNG.

    Rim, bore, ring limits and a sheet of paper are blue, sure separations green with their dial
    degrees, doubtful and left-out ones red and dashed, holes yellow.
    """
    canvas = Canvas(found.picture, found.plane)
    canvas.circle(0.0, 0.0, 1.0, RIM, dashed=bool(found.doubt))
    if found.sheet is not None:
        around = found.sheet.corners[[0, 1, 2, 3, 0]]
        canvas.line(found.plane.from_picture(around), RIM)
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
