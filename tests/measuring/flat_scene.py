"""Things that lie flat on a table, as a camera sees them from a slant.

Outlines are shapely polygons in mm on the table, x right, y up, later ones on top. The camera is a
pinhole; the picture is summed from several places in each pixel, blurred in linear light, and has
noise. The truth is the outlines and ``matrix``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import shapely
import shapely.affinity
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage
from shapely import Polygon

from jobprep.measuring.colour import linear_from_srgb, srgb_from_linear

Colour = tuple[int, int, int]


@dataclass(frozen=True, kw_only=True)
class FlatScene:
    """What lies on a table: (outline, sRGB colour) from the bottom up.

    The camera stands ``distance`` mm above ``aim``, tilted by ``tilt`` degrees towards ``towards``
    and rolled by ``roll``; ``scale`` is pixels per mm there. ``light`` is how much brighter it gets
    from side to side, ``grain`` the relative standard deviation of the table's, ``shadow`` how much
    light a soft shadow takes beside the topmost thing, some 3 mm wide. What a lens with a ``bend``
    shows at r from the picture's middle, in half widths, a pinhole shows at r (1 + bend r²).
    """

    things: tuple[tuple[Polygon, Colour], ...]
    ground: Colour = (96, 74, 52)
    width: int = 1000
    height: int = 750
    scale: float = 2.4
    aim: tuple[float, float] = (0.0, 0.0)
    distance: float = 900.0
    tilt: float = 0.0
    towards: float = 0.0
    roll: float = 0.0
    blur: float = 0.8
    noise: float = 2.0
    light: float = 0.0
    grain: float = 0.0
    shadow: float = 0.0
    bend: float = 0.0
    seed: int = 1

    @property
    def matrix(self) -> NDArray:
        """The projective map from the table, mm, to pixels."""
        tilt, towards, roll = map(math.radians, (self.tilt, self.towards, self.roll))
        forward = -np.array(
            [
                math.sin(tilt) * math.cos(towards),
                math.sin(tilt) * math.sin(towards),
                math.cos(tilt),
            ]
        )
        up = np.array([-math.sin(roll), math.cos(roll), 0.0])
        right = np.cross(forward, up)
        right /= np.linalg.norm(right)
        axes = np.array([right, np.cross(forward, right), forward])
        eye = np.array([*self.aim, 0.0]) - forward * self.distance
        focal = self.scale * self.distance
        lens = np.array([[focal, 0, self.width / 2], [0, focal, self.height / 2], [0, 0, 1.0]])
        seen = lens @ axes
        return np.column_stack([seen[:, 0], seen[:, 1], -seen @ eye])

    def picture(self) -> Image.Image:
        """Return the photograph."""
        total = np.zeros((self.height, self.width, 3))
        inverse = np.linalg.inv(self.matrix)
        rows, columns = np.indices((self.height, self.width), dtype=np.float64)
        offsets = (-0.25, 0.25)
        for dy in offsets:
            for dx in offsets:
                column, row = self.unbent(columns + dx, rows + dy)
                pixel = np.stack([column, row, np.ones_like(row)], axis=-1)
                x, y, w = np.moveaxis(pixel @ inverse.T, -1, 0)
                total += self._colours(x / w, y / w) / 4.0
        total *= (1.0 + self.light * (columns / self.width - 0.5))[..., None]
        if self.shadow:
            total *= (1.0 - self.shadow * self._shadow(inverse, columns, rows))[..., None]
        total = ndimage.gaussian_filter(total, (self.blur, self.blur, 0))
        random = np.random.default_rng(self.seed)
        noisy = srgb_from_linear(total) * 255.0 + random.normal(0.0, self.noise, total.shape)
        return Image.fromarray(np.clip(np.rint(noisy), 0, 255).astype(np.uint8))

    def unbent(self, columns: NDArray, rows: NDArray) -> tuple[NDArray, NDArray]:
        """Return where a pinhole shows what the lens shows at pixels."""
        x, y = columns - self.width / 2, rows - self.height / 2
        more = 1.0 + self.bend * (x * x + y * y) / (self.width / 2) ** 2
        return self.width / 2 + x * more, self.height / 2 + y * more

    def seen(self, places: NDArray) -> NDArray:
        """Return the pixels (n, 2) of places on the table, mm."""
        pixels = np.column_stack([places, np.ones(len(places))]) @ self.matrix.T
        straight = pixels[:, :2] / pixels[:, 2:]
        found = straight.copy()
        for _ in range(20):
            found += straight - np.column_stack(self.unbent(*found.T))
        return found

    def _shadow(self, inverse: NDArray, columns: NDArray, rows: NDArray) -> NDArray:
        x, y, w = np.moveaxis(np.stack([columns, rows, np.ones_like(rows)], -1) @ inverse.T, -1, 0)
        top = self.things[-1][0]
        fallen = shapely.affinity.translate(top, 2.0, -2.0).buffer(1.0)
        inside = [
            shapely.contains_xy(each, (x / w).ravel(), (y / w).ravel()).reshape(x.shape)
            for each in (fallen, top)
        ]
        dark = ndimage.gaussian_filter(inside[0].astype(float), 0.7 * self.scale)
        return np.where(inside[1], 0.0, dark)

    def _colours(self, x: NDArray, y: NDArray) -> NDArray:
        out = np.zeros((*x.shape, 3))
        out[:] = linear_from_srgb(np.array(self.ground) / 255.0)
        if self.grain:
            field = np.random.default_rng(self.seed + 1000).normal(size=x.shape)
            field = ndimage.gaussian_filter(field, (1.5, 20.0))
            out *= np.clip(1.0 + self.grain * field / field.std(), 0.1, None)[..., None]
        for outline, colour in self.things:
            shapely.prepare(outline)
            inside = shapely.contains_xy(outline, x.ravel(), y.ravel()).reshape(x.shape)
            out[inside] = linear_from_srgb(np.array(colour) / 255.0)
        return out

    def save(self, path: Path, **options: object) -> Path:
        """Write the photograph and return its path."""
        self.picture().save(path, **options)
        return path


def rectangle(width: float, height: float, x: float = 0.0, y: float = 0.0, turn: float = 0.0):
    """Return a rectangle about a place, turned by degrees."""
    box = shapely.box(-width / 2, -height / 2, width / 2, height / 2)
    turned = shapely.affinity.rotate(box, turn, origin=(0, 0))
    return shapely.affinity.translate(turned, x, y)


def disc(radius: float, x: float = 0.0, y: float = 0.0, bore: float = 0.0) -> Polygon:
    """Return a disc with a bore."""
    middle = shapely.Point(x, y)
    whole = middle.buffer(radius, quad_segs=60)
    return whole.difference(middle.buffer(bore, quad_segs=30)) if bore else whole


def sector(radius: float, inner: float, start: float, end: float, x: float = 0.0, y: float = 0.0):
    """Return an annular sector between two dial degrees about a place."""
    dials = np.radians(90.0 - np.linspace(start, end, 90))
    outer = np.column_stack([x + radius * np.cos(dials), y + radius * np.sin(dials)])
    back = np.column_stack([x + inner * np.cos(dials), y + inner * np.sin(dials)])[::-1]
    return Polygon([*outer, *back])
