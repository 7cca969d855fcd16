"""A camera on a stand: from lamp and films to the bytes of a JPEG, and where each point lies in it.

It shares nothing with the photographs that the reading was tuned by, nor with the package. Light
leaves a lamp of some extent, goes through the films above the ground, comes back from the ground
through the films again, and meets a pinhole camera whose lens bends straight lines and loses light
towards the corners. The sensor counts photons behind a mosaic of colour filters. Everything is
worked out in linear light; only the camera's own program encodes it.

Lengths are mm. The films lie in the plane z = 0, x right, y up; the ground ``gap`` below them; the
camera above. Pixels are (column, row), whole numbers at their centres.

Sources: the lens is the radial part of D. C. Brown, Photogrammetric Engineering 32 (1966) 444-462,
given from picture to scene; the missing colours are filled in after H. S. Malvar, L. He,
R. Cutler, ICASSP 2004; sRGB after IEC 61966-2-1. All three from memory.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass

import numpy as np
from measuring.film_disc import FilmDisc
from numpy.typing import NDArray
from PIL import Image
from scipy import ndimage

SHARP = 1e-6
"""Width, mm, of an edge of film."""

SAMPLES, TURN_OF_SAMPLES = 34, 21
"""Places in a pixel, and the step of their lattice (two Fibonacci numbers: along rows and columns
alike they lie at equal distances, so an edge is true to 0.015 of a pixel in each pixel)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """Where the camera stands, its lens and its sensor.

    ``distance`` (mm) to what it aims at, ``aim`` in the films' plane; ``tilt`` from straight above
    towards ``towards``, ``roll`` about its axis, degrees. ``focal`` is in pixels. A pixel
    at r (of half the width) is seen along the ray of r (1 + bend r²); light falls by ``vignette``
    at r = 1. ``full`` photons make white, ``noise`` of them (standard deviation) come by reading.
    """

    width: int
    height: int
    focal: float
    distance: float
    aim: tuple[float, float] = (0.0, 0.0)
    tilt: float = 0.0
    towards: float = 0.0
    roll: float = 0.0
    bend: float = 0.0
    vignette: float = 0.0
    blur: float = 0.7
    motion: tuple[float, float] = (0.0, 0.0)
    exposure: float = 0.8
    balance: tuple[float, float, float] = (1.0, 1.0, 1.0)
    full: float = 8000.0
    noise: float = 4.0
    smoothing: float = 0.0
    sharpening: float = 0.0
    quality: int = 90

    @property
    def axes(self) -> NDArray:
        """Rows: the picture's right, down and forward as directions in space."""
        tilt, towards, roll = (math.radians(a) for a in (self.tilt, self.towards, self.roll))
        place = (math.sin(tilt) * math.cos(towards), math.sin(tilt) * math.sin(towards))
        forward = -np.array([*place, math.cos(tilt)])
        up = np.array([-math.sin(roll), math.cos(roll), 0.0])
        right = np.cross(forward, up)
        right /= np.linalg.norm(right)
        return np.array([right, np.cross(forward, right), forward])

    @property
    def place(self) -> NDArray:
        """Where the pinhole is."""
        return np.array([*self.aim, 0.0]) - self.distance * self.axes[2]

    def straight(self, points: NDArray) -> NDArray:
        """Return the pixels (n, 2) of points (n, 2) of the films' plane, did the lens not bend."""
        ahead = np.column_stack([points, np.zeros(len(points))]) - self.place
        right, down, forward = self.axes @ ahead.T
        middle = np.array([(self.width - 1) / 2.0, (self.height - 1) / 2.0])
        return middle + self.focal * np.column_stack([right / forward, down / forward])

    def pixels(self, points: NDArray) -> NDArray:
        """Return the pixels (n, 2) at which points (n, 2) of the films' plane are seen."""
        middle = np.array([(self.width - 1) / 2.0, (self.height - 1) / 2.0])
        target = (self.straight(np.asarray(points, dtype=np.float64)) - middle) * 2.0 / self.width
        seen = target
        for _ in range(30):
            seen = target / (1.0 + self.bend * (seen**2).sum(axis=1))[:, None]
        return middle + seen * self.width / 2.0

    def rays(self, columns: NDArray, rows: NDArray) -> NDArray:
        """Return the directions in space (..., 3) of pixels, forward part 1."""
        x = (columns - (self.width - 1) / 2.0) * 2.0 / self.width
        y = (rows - (self.height - 1) / 2.0) * 2.0 / self.width
        bent = (1.0 + self.bend * (x * x + y * y)) * self.width / 2.0 / self.focal
        right, down, forward = self.axes
        return (x * bent)[..., None] * right + (y * bent)[..., None] * down + forward


@dataclass(frozen=True, slots=True, kw_only=True)
class Lighting:
    """A lamp and what it falls on.

    ``slant`` is how far light goes sideways for each mm down (x, y), ``extent`` how wide the lamp
    looks in the same measure; ``gap`` (mm) lies between films and ground. ``uneven`` is how much
    brighter it is at a picture's right and bottom. ``ground`` is the reflectance (rows, columns,
    3). ``mirrored`` are spots (x, y, radius mm, brightness) where films mirror a lamp.
    """

    ground: NDArray
    gap: float = 0.3
    slant: tuple[float, float] = (0.3, 0.3)
    extent: float = 0.3
    uneven: tuple[float, float] = (0.0, 0.0)
    mirrored: tuple[tuple[float, float, float, float], ...] = ()


def take(disc: FilmDisc, camera: Camera, light: Lighting, seed: int) -> bytes:
    """Return the photograph as a JPEG file."""
    random = np.random.default_rng(seed)
    falling = light_on_sensor(disc, camera, light)
    return _encoded(camera, _developed(camera, sensed(camera, falling, random)))


def light_on_sensor(disc: FilmDisc, camera: Camera, light: Lighting) -> NDArray:
    """Return the light that falls on each pixel; white paper in full light gives 1."""
    return _optics(camera, _scene(disc, camera, light))


def _scene(disc: FilmDisc, camera: Camera, light: Lighting) -> NDArray:
    """Return the light that comes from each pixel's place.

    A pixel that an edge may cross is the mean of many places in it: light that went through films
    twice is not the product of two means.
    """
    total = light.ground.astype(np.float32)
    around = 1.05 * disc.radius + 4.0 * light.gap
    turn = np.linspace(0.0, 2.0 * np.pi, 64)
    border = camera.pixels(around * np.column_stack([np.cos(turn), np.sin(turn)]))
    low = np.maximum(np.floor(border.min(axis=0)).astype(int), 0)
    high = np.minimum(np.ceil(border.max(axis=0)).astype(int) + 1, (camera.width, camera.height))
    shape = (high[1] - low[1], high[0] - low[0])
    down, right = np.indices(shape)
    rows, columns = down.ravel() + low[1], right.ravel() + low[0]
    through, thrown = _seen(disc, camera, light, columns, rows)
    near = np.flatnonzero(_varies((through.sum(axis=1) + thrown[:, 0]).reshape(shape)))
    number = np.arange(SAMPLES) + 0.5
    inside = np.column_stack([number / SAMPLES, number * TURN_OF_SAMPLES / SAMPLES % 1.0]) - 0.5
    fine = [
        each.reshape(SAMPLES, -1, 3).mean(axis=0)
        for each in _seen(
            disc,
            camera,
            light,
            (columns[near] + inside[:, :1]).ravel(),
            (rows[near] + inside[:, 1:]).ravel(),
        )
    ]
    through[near], thrown[near] = fine
    box = (slice(low[1], high[1]), slice(low[0], high[0]))
    total[box] = total[box] * through.reshape(*shape, 3) + thrown.reshape(*shape, 3)
    down, right = np.ogrid[: camera.height, : camera.width]
    across, along = right / camera.width - 0.5, down / camera.height - 0.5
    falling = 1.0 + light.uneven[0] * across + light.uneven[1] * along
    return np.asarray(total * falling[..., None], dtype=np.float32)


def _seen(
    disc: FilmDisc, camera: Camera, light: Lighting, columns: NDArray, rows: NDArray
) -> tuple[NDArray, NDArray]:
    """Return, for places (n,) of the picture, the ground's share (n, 3) and what films throw back.

    A ray meets the films, then the ground; the light of that place came through the films where
    the lamp stands, along ways that its extent spreads.
    """
    rays = camera.rays(columns, rows)
    down = -rays[:, 2]
    reach = camera.place[2] / down
    x, y = (camera.place[i] + reach * rays[:, i] for i in (0, 1))
    back, film = disc.light_through(x, y, SHARP)
    sideways = [rays[:, i] / down + light.slant[i] for i in (0, 1)]
    lit = [each + light.gap * way for each, way in zip((x, y), sideways, strict=True)]
    falling, _ = disc.light_through(*lit, max(light.gap * light.extent, SHARP))
    thrown = np.repeat(disc.reflectance * film[:, None], 3, axis=1)
    for spot_x, spot_y, radius, brightness in light.mirrored:
        spot = np.exp(-(np.hypot(x - spot_x, y - spot_y) ** 4) / radius**4)
        thrown += (brightness * spot * film)[:, None]
    return back * falling, thrown


def _varies(values: NDArray) -> NDArray:
    """Return where a pixel differs from one of its eight neighbours."""
    highest, lowest = ndimage.maximum_filter(values, 3), ndimage.minimum_filter(values, 3)
    return highest - lowest > 0.003


def _optics(camera: Camera, light: NDArray) -> NDArray:
    """Return the light on the sensor: blurred by lens and hand, darker towards the corners."""
    blurred = np.empty_like(light)
    kernel = _motion(camera.motion)
    for channel in range(3):
        plane = ndimage.gaussian_filter(light[..., channel], camera.blur, truncate=4.0)
        blurred[..., channel] = plane if kernel is None else ndimage.convolve(plane, kernel)
    rows, columns = np.ogrid[: camera.height, : camera.width]
    x = (columns - (camera.width - 1) / 2.0) * 2.0 / camera.width
    y = (rows - (camera.height - 1) / 2.0) * 2.0 / camera.width
    blurred *= (1.0 - camera.vignette * (x * x + y * y))[..., None]
    return blurred


def _motion(motion: tuple[float, float]) -> NDArray | None:
    """Return the kernel of a straight, even movement of (x, y) pixels while the shutter is open."""
    if not any(motion):
        return None
    half = math.ceil(max(map(abs, motion)) / 2.0) + 1
    kernel = np.zeros((2 * half + 1, 2 * half + 1), np.float32)
    for share in np.linspace(-0.5, 0.5, 41):
        x, y = half + share * motion[0], half + share * motion[1]
        column, row = math.floor(x), math.floor(y)
        right, down = x - column, y - row
        kernel[row, column] += (1 - right) * (1 - down)
        kernel[row, column + 1] += right * (1 - down)
        kernel[row + 1, column] += (1 - right) * down
        kernel[row + 1, column + 1] += right * down
    return kernel / kernel.sum()


def sensed(camera: Camera, light: NDArray, random: np.random.Generator) -> NDArray:
    """Return the mosaic that the sensor reads, white 1: red, green; green, blue."""
    mosaic = np.zeros((camera.height, camera.width), np.float32)
    for row, column, channel in ((0, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 2)):
        part = light[row::2, column::2, channel]
        mosaic[row::2, column::2] = part * camera.exposure / camera.balance[channel]
    counted = np.clip(mosaic, 0.0, None) * camera.full
    deviation = np.sqrt(counted + camera.noise**2)
    counted += deviation * random.standard_normal(counted.shape, dtype=np.float32)
    levels = 4095.0  # twelve bits
    return np.rint(np.clip(counted / camera.full, -0.02, 1.0) * levels) / levels


_GREEN = np.array([[0, 0, -1, 0, 0], [0, 0, 2, 0, 0], [-1, 2, 4, 2, -1]], np.float32) / 8.0
_ALONG = np.array([[0, 0, 0.5, 0, 0], [0, -1, 0, -1, 0], [-1, 4, 5, 4, -1]], np.float32) / 8.0
_CROSS = np.array([[0, 0, -1.5, 0, 0], [0, 2, 0, 2, 0], [-1.5, 0, 6, 0, -1.5]], np.float32) / 8.0


def _filled(mosaic: NDArray) -> NDArray:
    """Fill in the two colours that each pixel did not measure."""
    green, along, cross = (
        ndimage.convolve(mosaic, np.vstack([half, half[1::-1]]), mode="mirror")
        for half in (_GREEN, _ALONG, _CROSS)
    )
    upright = ndimage.convolve(mosaic, np.vstack([_ALONG, _ALONG[1::-1]]).T, mode="mirror")
    filled = np.zeros((*mosaic.shape, 3), np.float32)
    red, blue = filled[..., 0], filled[..., 2]
    filled[..., 1] = mosaic
    for row, column in ((0, 0), (1, 1)):
        filled[row::2, column::2, 1] = green[row::2, column::2]
    for plane, start in ((red, 0), (blue, 1)):
        other = 1 - start
        plane[start::2, start::2] = mosaic[start::2, start::2]
        plane[start::2, other::2] = along[start::2, other::2]
        plane[other::2, start::2] = upright[other::2, start::2]
        plane[other::2, other::2] = cross[other::2, other::2]
    return filled


def _developed(camera: Camera, mosaic: NDArray) -> NDArray:
    """Return the picture as the camera's program develops it, encoded 0..1."""
    linear = np.clip(_filled(mosaic) * np.array(camera.balance, np.float32), 0.0, 1.0)
    small = linear <= 0.0031308
    encoded = np.where(small, 12.92 * linear, 1.055 * linear ** np.float32(1 / 2.4) - 0.055)
    if camera.smoothing:
        encoded = np.stack([ndimage.median_filter(encoded[..., i], 3) for i in range(3)], axis=-1)
        encoded = ndimage.gaussian_filter(encoded, (camera.smoothing, camera.smoothing, 0))
    if camera.sharpening:
        soft = ndimage.gaussian_filter(encoded, (1.2, 1.2, 0))
        encoded = encoded + camera.sharpening * (encoded - soft)
    return encoded


def _encoded(camera: Camera, picture: NDArray) -> bytes:
    stream = io.BytesIO()
    pixels = np.rint(np.clip(picture, 0.0, 1.0) * 255.0).astype(np.uint8)
    Image.fromarray(pixels).save(stream, "JPEG", quality=camera.quality)
    return stream.getvalue()
