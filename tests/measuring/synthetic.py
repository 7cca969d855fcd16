"""Photographs of lamp wheels that never existed, with their truth.

The camera is a pinhole at ``distance`` disc diameters; the disc is tilted about an axis in the
picture plane, so the picture's 12 o'clock stays the disc's. Everything a bad photograph has is
added in the order in which it happens: the scene, uneven light, glare, blur (in linear light), the
pixel ratio, noise, eight bits, JPEG.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from PIL import Image
from scipy import ndimage

from jobprep.measuring.colour import (
    lab_from_hex,
    linear_from_lab,
    linear_from_srgb,
    srgb_from_linear,
)

PALETTE = {
    "red": (200, 30, 30),
    "amber": (250, 170, 20),
    "lemon": (245, 235, 70),
    "green": (30, 150, 70),
    "cyan": (60, 190, 210),
    "blue": (30, 60, 180),
    "violet": (120, 50, 150),
    "rose": (240, 140, 170),
    "clear": (225, 228, 228),
    "black": (14, 14, 15),
    "night blue": (26, 28, 66),
    "deep red": (62, 16, 18),
}
OPEN = "open"


@dataclass
class Scene:
    """A disc of radius 1 and its photograph; dials in degrees clockwise, the rest in radii."""

    seed: int
    width: int = 1200
    height: int = 900
    size: float = 0.36  # disc radius over picture width
    centre: tuple[float, float] = (0.5, 0.5)
    tilt: float = 0.0  # degrees
    tilt_axis: float = 0.0  # degrees
    distance: float = 8.0  # disc diameters
    pixel_ratio: float = 1.0
    blur: float = 0.9
    noise: float = 2.0
    jpeg: int = 85
    light: tuple[float, float] = (0.0, 0.0)
    glare: tuple[float, float, float] | None = None  # x, y, width
    dirt: int = 0
    background: str = "plain"
    background_colour: tuple[int, int, int] = (205, 200, 190)
    rings: list[tuple[float, float, list[float], list[str]]] = field(default_factory=list)
    hub: str = "clear"
    bore: float = 0.053
    bore_offset: tuple[float, float] = (0.0, 0.0)
    hole: tuple[float, float, float] | None = (0.9, 40.0, 0.025)  # radius, dial, own radius

    @property
    def matrix(self) -> np.ndarray:
        """Projective map from disc (y up) to pixels (y down)."""
        axis, tilt = math.radians(self.tilt_axis), math.radians(self.tilt)
        along = np.array([math.cos(axis), math.sin(axis)])
        across = np.array([-along[1], along[0]])
        flat = np.outer(along, along) + math.cos(tilt) * np.outer(across, across)
        depth = math.sin(tilt) * across / (2.0 * self.distance)
        pixel = self.size * self.width
        to_pixels = np.array(
            [
                [pixel, 0, self.centre[0] * self.width],
                [0, -pixel * self.pixel_ratio, self.centre[1] * self.height],
                [0, 0, 1],
            ]
        )
        camera = np.eye(3)
        camera[:2, :2] = flat
        camera[2, :2] = depth
        return to_pixels @ camera

    def pixel(self, x: float, y: float) -> tuple[float, float]:
        """Return where a point of the disc comes to lie."""
        u, v, w = self.matrix @ (x, y, 1.0)
        return u / w, v / w


def _noise_field(random, shape, grain: tuple[float, float]) -> np.ndarray:
    scaled = ndimage.gaussian_filter(random.normal(size=shape), grain, mode="wrap")
    return scaled / scaled.std()


def _background(scene: Scene, random: np.random.Generator, shape) -> np.ndarray:
    base = linear_from_srgb(np.array(scene.background_colour) / 255)
    field_ = np.zeros(shape)
    if scene.background == "wood":
        field_ = 0.16 * _noise_field(random, shape, (2, 60)) + 0.08 * _noise_field(
            random, shape, (1, 12)
        )
    elif scene.background == "cloth":
        y, x = np.indices(shape)
        field_ = 0.10 * np.sin(x * 0.9) * np.sin(y * 0.9) + 0.10 * _noise_field(
            random, shape, (5, 5)
        )
    elif scene.background == "blotches":
        field_ = 0.22 * _noise_field(random, shape, (14, 14))
    return base * np.clip(1 + field_, 0.15, 2.0)[..., None]


def _specks(scene: Scene, random: np.random.Generator, shape) -> np.ndarray:
    """Return a mask 0..1 of irregular specks and a few hairs."""
    mask = np.zeros(shape)
    radius = scene.size * scene.width
    middle = np.array([scene.centre[0] * scene.width, scene.centre[1] * scene.height])
    for index in range(scene.dirt):
        place = middle + radius * random.uniform(-1, 1, 2)
        steps = random.integers(3, 9) if index % 6 else 60
        for _ in range(steps):
            place = place + random.normal(0, 1.0 if index % 6 else 1.4, 2)
            column, row = np.rint(place).astype(int)
            if 2 <= row < shape[0] - 2 and 2 <= column < shape[1] - 2:
                mask[row, column] = 1.0
    return np.clip(ndimage.gaussian_filter(mask, 0.7) * 3.0, 0, 1)


def _disc_colours(scene: Scene, x: np.ndarray, y: np.ndarray, back: np.ndarray) -> np.ndarray:
    rho = np.hypot(x, y)
    dial = np.degrees(np.arctan2(x, y)) % 360
    colours = {name: linear_from_srgb(np.array(rgb) / 255) for name, rgb in PALETTE.items()}
    for name in {scene.hub}.union(*(ring[3] for ring in scene.rings)):
        if name.startswith("#"):
            colours[name] = linear_from_lab(lab_from_hex(name))
    # Film on a table lets some of the table's texture through.
    grain = 1 + 0.12 * (back.mean(axis=-1, keepdims=True) / back.mean() - 1)
    out = back.copy()
    inside = rho <= 1
    out[inside] = colours[scene.hub] * grain[inside]
    for inner, outer, edges, names in scene.rings:
        band = (rho >= inner) & (rho <= outer)
        which = np.searchsorted(edges, dial, side="right") - 1  # -1 is the last sector
        for index, name in enumerate(names):
            here = band & (which % len(names) == index)
            out[here] = back[here] if name == OPEN else colours[name] * grain[here]
    bore = np.hypot(x - scene.bore_offset[0], y - scene.bore_offset[1]) <= scene.bore
    out[bore] = back[bore]
    if scene.hole is not None:
        radius, angle, own = scene.hole
        angle = math.radians(90 - angle)
        at = np.hypot(x - radius * math.cos(angle), y - radius * math.sin(angle)) <= own
        out[at] = back[at]
    return out


def render(scene: Scene) -> Image.Image:
    """Return the photograph."""
    random = np.random.default_rng(scene.seed)
    shape = (scene.height, scene.width)
    back = _background(scene, random, shape)
    inverse = np.linalg.inv(scene.matrix)
    total = np.zeros((*shape, 3))
    offsets = (-0.25, 0.25)
    rows, columns = np.indices(shape, dtype=np.float64)
    for dy in offsets:
        for dx in offsets:
            w = inverse[2, 0] * (columns + dx) + inverse[2, 1] * (rows + dy) + inverse[2, 2]
            x = (inverse[0, 0] * (columns + dx) + inverse[0, 1] * (rows + dy) + inverse[0, 2]) / w
            y = (inverse[1, 0] * (columns + dx) + inverse[1, 1] * (rows + dy) + inverse[1, 2]) / w
            total += _disc_colours(scene, x, y, back) / 4
    specks = _specks(scene, random, shape)[..., None]
    total = total * (1 - 0.8 * specks) + 0.8 * specks * random.choice([0.03, 0.5])
    across, down = (columns / scene.width - 0.5), (rows / scene.height - 0.5)
    total *= (1 + scene.light[0] * across + scene.light[1] * down)[..., None]
    if scene.glare is not None:
        gx, gy, width = scene.glare
        px, py = scene.pixel(gx, gy)
        reach = np.hypot(columns - px, rows - py) / (width * scene.size * scene.width)
        total += 1.5 * np.exp(-(reach**4))[..., None]
    total = np.stack(
        [ndimage.gaussian_filter(total[..., i], scene.blur) for i in range(3)], axis=-1
    )
    encoded = srgb_from_linear(total) * 255 + random.normal(0, scene.noise, total.shape)
    picture = Image.fromarray(np.clip(np.rint(encoded), 0, 255).astype(np.uint8))
    if scene.jpeg:
        stream = io.BytesIO()
        picture.save(stream, "JPEG", quality=scene.jpeg)
        stream.seek(0)
        picture = Image.open(stream)
        picture.load()
    return picture


def photograph(scene: Scene, path: Path) -> Path:
    """Write the photograph as its camera would, and return its path."""
    if scene.jpeg:
        render(replace(scene, jpeg=0)).save(path, "JPEG", quality=scene.jpeg)
    else:
        render(scene).save(path)
    return path


def _sectors(random: np.random.Generator, count: int, least: float = 9.0) -> list[float]:
    """Return edges in dial order, at least ``least`` degrees apart."""
    free = 360 - count * least
    cuts = np.sort(random.uniform(0, free, count - 1)) if count > 1 else np.array([])
    widths = np.diff(np.concatenate([[0], cuts, [free]])) + least
    edges = (random.uniform(0, 360) + np.cumsum(widths)) % 360
    return sorted(float(edge) for edge in edges)


def _names(random: np.random.Generator, count: int, missing: bool, dark: bool) -> list[str]:
    """Return sector colours, neighbours different, perhaps one open or dark films by black."""
    choices = [name for name in PALETTE if name not in ("night blue", "deep red")]
    while True:
        names = [str(random.choice(choices)) for _ in range(count)]
        start = int(random.integers(count))
        if dark and count >= 3:
            names[start] = str(random.choice(["night blue", "deep red"]))
            names[(start + 1) % count] = "black"
        if missing and count >= 3:
            names[(start + 2) % count] = OPEN
        pairs = zip(names, names[1:] + names[:1], strict=True)
        if all(a != b and {a, b} != {"clear", OPEN} for a, b in pairs):
            return names


def random_scene(seed: int) -> Scene:
    """Return a scene with faults drawn at random."""
    random = np.random.default_rng(1000 + seed)
    count = int(random.integers(2, 13))
    missing, dark = random.random() < 0.25, random.random() < 0.3
    outer = float(random.choice([1.0, 1.0, 0.967]))
    inner = float(random.choice([0.25, 0.4]))
    rings = []
    edges = _sectors(random, count)
    names = _names(random, count, missing, dark)
    if random.random() < 0.2:
        middle = 0.65
        second = _sectors(random, int(random.integers(2, 6)), 20.0)
        rings.append((inner, middle, second, _names(random, len(second), False, False)))
        rings.append((middle, outer, edges, names))
    else:
        rings.append((inner, outer, edges, names))
    backgrounds = [(205, 200, 190), (150, 110, 75), (90, 100, 95), (235, 235, 232), (60, 62, 66)]
    hole = None
    if random.random() < 0.85:
        dial = float(random.uniform(0, 360))
        while min(abs((dial - e + 180) % 360 - 180) for e in edges) < 3.5:
            dial = float(random.uniform(0, 360))
        hole = (float(random.uniform(0.82, 0.92)), dial, float(random.uniform(0.022, 0.03)))
    return Scene(
        seed=seed,
        width=1200,
        height=900,
        size=float(random.uniform(0.24, 0.33)),
        centre=(float(random.uniform(0.45, 0.55)), float(random.uniform(0.47, 0.53))),
        tilt=float(random.choice([0, 1, 1]) * random.uniform(0, 25)),
        tilt_axis=float(random.uniform(0, 360)),
        distance=float(random.uniform(4, 10)),
        pixel_ratio=float(random.choice([1.0, 1.0, random.uniform(0.98, 1.02)])),
        blur=float(random.uniform(0.5, 1.8)),
        noise=float(random.uniform(1, 4)),
        jpeg=int(random.integers(70, 96)),
        light=(float(random.uniform(-0.4, 0.4)), float(random.uniform(-0.4, 0.4))),
        glare=(
            (float(random.uniform(-0.7, 0.7)), float(random.uniform(-0.7, 0.7)), 0.1)
            if random.random() < 0.5
            else None
        ),
        dirt=int(random.choice([0, 20, 50])),
        background=str(random.choice(["plain", "wood", "cloth", "blotches"])),
        background_colour=backgrounds[int(random.integers(len(backgrounds)))],
        rings=rings,
        hub=str(random.choice(["clear", "black", "clear"])),
        bore=float(random.choice([0.053, 0.08, 0.12])),
        hole=hole,
    )
