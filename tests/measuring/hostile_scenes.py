"""Photographs as a workshop takes them, each with the fault of one condition, and their truth.

What is drawn at random: the disc, the ground, how the camera stands, the light. A scene is its
condition and its number, and gives the same bytes each time. Odd numbers are held back: nobody
looks at their results one by one, and nothing is tuned by them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from measuring.camera import Camera, Lighting, take
from measuring.film_disc import FILMS, OPEN, FilmDisc, FilmRing, RoundHole
from numpy.typing import NDArray
from scipy import ndimage

CONDITIONS = (
    *("paper", "wood", "dark", "glare", "shadow", "jpeg", "noise", "dim", "few pixels", "unsteady"),
)
GROUNDS = {
    "paper": (0.86, 0.85, 0.82),
    "wood": (0.42, 0.28, 0.17),
    "card": (0.33, 0.35, 0.34),
    "dark": (0.045, 0.045, 0.05),
}
"""Reflectances, red, green and blue; `from memory`."""

DARK_FILMS = ("black", "night blue", "deep red", "blue", "violet", "green")
RADIUS = 60.0
LEAST_SECTOR = 12.0
"""Degrees."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Hostile:
    """A scene: what is photographed, how, and on what ground (``ground`` is its name)."""

    condition: str
    number: int
    disc: FilmDisc
    camera: Camera
    light: Lighting
    ground: str

    @property
    def held_back(self) -> bool:
        """Whether the scene belongs to the half that nothing is tuned by."""
        return self.number % 2 == 1

    def photograph(self) -> bytes:
        """Return the JPEG file."""
        return take(self.disc, self.camera, self.light, 7_000_000 + self.number)


def hostile_scene(number: int, width: int = 960) -> Hostile:
    """Return the scene of a number; two numbers in a row have the same condition.

    ``width`` is that of the picture in pixels, but where few pixels are the fault.
    """
    condition = CONDITIONS[number // 2 % len(CONDITIONS)]
    random = np.random.default_rng([20261130, number])
    ground = _ground_of(condition, random)
    disc = _disc(random, DARK_FILMS if condition == "dark" else tuple(FILMS))
    camera = _camera(random, 400 if condition == "few pixels" else width)
    camera, light = _spoilt(condition, random, camera, _lighting(random))
    reflectance = _ground(random, ground, camera)
    exposure = _exposure(condition, random, reflectance)
    camera = replace(camera, exposure=exposure)
    return Hostile(
        condition=condition,
        number=number,
        disc=disc,
        camera=camera,
        light=replace(light, ground=reflectance),
        ground=ground,
    )


def _ground_of(condition: str, random: np.random.Generator) -> str:
    if condition in GROUNDS:
        return condition
    if condition == "dim":
        return "wood"
    return str(random.choice(["paper", "paper", "wood", "card"]))


def _disc(random: np.random.Generator, films: tuple[str, ...]) -> FilmDisc:
    inner = float(random.choice([0.25, 0.4])) * RADIUS
    outer = float(random.choice([1.0, 1.0, 0.967])) * RADIUS
    rings = [_ring(random, inner, outer, int(random.integers(2, 11)), films)]
    if random.random() < 0.2:
        middle = 0.66 * RADIUS
        first = _ring(random, inner, middle, int(random.integers(2, 6)), films)
        rings = [first, rings[0]._replace(inner=middle)]
    holes = [RoundHole(0.0, 0.0, float(random.choice([6.35, 8.0, 10.0, 12.7])) / 2.0)]
    if random.random() < 0.8:
        holes.append(_index_hole(random, rings[-1]))
    return FilmDisc(
        radius=RADIUS,
        hub=str(random.choice(["clear", "clear", "black"])),
        rings=tuple(rings),
        holes=tuple(holes),
        reflectance=float(random.uniform(0.008, 0.03)),
    )


def _ring(
    random: np.random.Generator, inner: float, outer: float, count: int, films: tuple[str, ...]
) -> FilmRing:
    free = 360.0 - count * LEAST_SECTOR
    cuts = np.sort(random.uniform(0.0, free, count - 1))
    widths = np.diff(np.concatenate([[0.0], cuts, [free]])) + LEAST_SECTOR
    edges = np.sort((random.uniform(0.0, 360.0) + np.cumsum(widths)) % 360.0)
    while True:
        names = [str(random.choice(films)) for _ in range(count)]
        if count > 2 and random.random() < 0.15:
            names[0] = OPEN
        pairs = list(zip(names, names[1:] + names[:1], strict=True))
        if all(a != b and {a, b} != {"clear", OPEN} for a, b in pairs):
            return FilmRing(inner, outer, tuple(float(edge) for edge in edges), tuple(names))


def _index_hole(random: np.random.Generator, ring: FilmRing) -> RoundHole:
    """Return a hole well within one sector."""
    while True:
        dial = float(random.uniform(0.0, 360.0))
        if all(abs(math.remainder(dial - edge, 360.0)) > 4.5 for edge in ring.edges):
            break
    out, angle = float(random.uniform(0.84, 0.9)) * RADIUS, math.radians(dial)
    radius = float(random.choice([2.5, 3.0, 4.0])) / 2.0
    return RoundHole(out * math.sin(angle), out * math.cos(angle), radius)


def _camera(random: np.random.Generator, width: int) -> Camera:
    pixels = float(random.uniform(0.25, 0.34)) * width
    distance = float(random.uniform(3.5, 9.0)) * 2.0 * RADIUS
    return Camera(
        width=width,
        height=3 * width // 4,
        focal=pixels * distance / RADIUS,
        distance=distance,
        aim=(float(random.uniform(-8, 8)), float(random.uniform(-6, 6))),
        tilt=float(random.choice([0.0, 1.0, 1.0]) * random.uniform(0.0, 22.0)),
        towards=float(random.uniform(0.0, 360.0)),
        roll=float(random.uniform(-10.0, 10.0)),
        bend=float(random.uniform(-0.004, 0.008)),
        vignette=float(random.uniform(0.05, 0.3)),
        blur=float(random.uniform(0.5, 1.1)),
        balance=tuple(float(gain) for gain in random.uniform(0.93, 1.07, 3)),
        full=float(random.uniform(2500.0, 9000.0)),
        noise=5.0,
        smoothing=float(random.choice([0.0, 0.4])),
        sharpening=float(random.uniform(0.0, 0.5)),
        quality=int(random.integers(78, 95)),
    )


def _lighting(random: np.random.Generator) -> Lighting:
    turn = float(random.uniform(0.0, 360.0))
    slant = float(random.uniform(0.1, 0.6))
    return Lighting(
        ground=np.zeros((1, 1, 3)),
        gap=float(random.uniform(0.0, 0.3)),
        slant=(slant * math.cos(turn), slant * math.sin(turn)),
        extent=float(random.uniform(0.3, 1.0)),
        uneven=tuple(float(share) for share in random.uniform(-0.35, 0.35, 2)),
    )


def _spoilt(
    condition: str, random: np.random.Generator, camera: Camera, light: Lighting
) -> tuple[Camera, Lighting]:
    if condition == "glare":
        x, y = random.uniform(-0.75 * RADIUS, 0.75 * RADIUS, 2)
        spot = (float(x), float(y), float(random.uniform(4.0, 11.0)), 2.0)
        return camera, replace(light, mirrored=(spot,))
    if condition == "shadow":
        return camera, replace(
            light, gap=float(random.uniform(0.8, 2.0)), extent=float(random.uniform(0.2, 0.9))
        )
    if condition == "jpeg":
        return replace(camera, quality=int(random.integers(30, 55))), light
    if condition == "noise":
        return replace(
            camera, full=float(random.uniform(90.0, 350.0)), noise=6.0, smoothing=0.6
        ), light
    if condition == "dim":
        return replace(camera, full=float(random.uniform(400.0, 1500.0)), noise=7.0), light
    if condition == "few pixels":
        return replace(camera, smoothing=0.0), light
    if condition == "unsteady":
        turn, far = float(random.uniform(0.0, 2.0 * math.pi)), float(random.uniform(2.0, 5.0))
        return replace(camera, motion=(far * math.cos(turn), far * math.sin(turn))), light
    return camera, light


def _exposure(condition: str, random: np.random.Generator, ground: NDArray) -> float:
    """Return how the camera sets itself: by the whole picture, but not to let white burn."""
    mean = float(ground.mean())
    exposure = min(float(random.uniform(0.75, 0.95)), 0.5 / mean)
    if condition == "dark":
        exposure = min(float(random.uniform(1.5, 4.0)), 0.18 / mean)
    if condition == "dim":
        exposure = float(random.uniform(0.1, 0.3))
    return exposure / 0.95


def _ground(random: np.random.Generator, name: str, camera: Camera) -> NDArray:
    """Return the reflectance of a ground with its grain."""
    shape = (camera.height, camera.width)
    grain = camera.width / 1200.0
    if name == "wood":
        field = 0.17 * _grain(random, shape, (2.2 * grain, 70.0 * grain))
        field += 0.08 * _grain(random, shape, (0.8 * grain, 14.0 * grain))
    else:
        depth = {"paper": 0.012, "card": 0.04, "dark": 0.1}[name]
        field = depth * _grain(random, shape, (0.9 * grain, 0.9 * grain))
    base = np.array(GROUNDS[name], np.float32)
    return np.clip(base * np.exp(field)[..., None], 0.0, 1.0)


def _grain(
    random: np.random.Generator, shape: tuple[int, int], size: tuple[float, float]
) -> NDArray:
    field = ndimage.gaussian_filter(random.standard_normal(shape, dtype=np.float32), size)
    return field / field.std()
