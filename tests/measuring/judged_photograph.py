"""What reading a photograph said, held against the truth of its scene.

The reader's 12 o'clock is that of the picture with its tilt taken away, as its plane's map has it;
true angles are turned to it by the map that the true rim and centre give, so that only what was
read is judged. All else comes from the scene.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from measuring.hostile_scenes import RADIUS, Hostile
from numpy.typing import NDArray

from jobprep.errors import CannotDoError
from jobprep.geometry.outline import Point
from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.ellipse_fit import Ellipse, fit_ellipse
from jobprep.measuring.measured import Measured
from jobprep.measuring.photo import PhotoMeasurement, measure_photo
from jobprep.model.taken import NO_CORRECTIONS, Corrections
from jobprep.units import to_degrees, to_dial

SEPARATION = "separation"
QUANTITIES = (
    *(SEPARATION, "bore", "bore's centre", "ring", "hole's angle", "hole's radius", "hole"),
)
TAKEN_FOR = 1.5
"""Degrees within which a found separation or hole is taken for a true one."""

RIM_SAID = "all lengths depend on it"
"""Words of the warning that another circle may be the rim."""

WRONG = 3.0
"""Standard uncertainties off from which a value is wrong: one in 370 of right ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Value:
    """One value: how far off in its standard uncertainties; None where it was not found.

    ``cautioned`` says whether the reading warns of it, or of what may be missing there.
    """

    quantity: str
    off: float | None
    cautioned: bool
    error: float = math.nan

    @property
    def is_wrong(self) -> bool:
        """Whether a reader of the report is misled."""
        return not self.cautioned and (self.off is None or self.off > WRONG)


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One photograph. ``refused`` is what the refusal said; ``invented`` what is not on the disc.

    ``drawn`` are the values that intervals are counted by, of those stated without a caution: one
    of each quantity, since those of one photograph share its centre and scale.
    """

    scene: Hostile
    refused: str
    values: tuple[Value, ...]
    invented: tuple[str, ...]

    @property
    def drawn(self) -> dict[str, Value]:
        """One value for each quantity that was found and not cautioned of."""
        random = np.random.default_rng(self.scene.number)
        found: dict[str, Value] = {}
        for quantity in QUANTITIES:
            seen = [
                value
                for value in self.values
                if value.quantity == quantity and value.off is not None and not value.cautioned
            ]
            if seen:
                found[quantity] = seen[int(random.integers(len(seen)))]
        return found


def true_plane(scene: Hostile) -> DiscPlane:
    """Return the map of the disc's plane that a reader without any error would find."""
    turn = np.linspace(0.0, 2.0 * np.pi, 90, endpoint=False)
    rim = RADIUS * np.column_stack([np.cos(turn), np.sin(turn)])
    x, y = scene.camera.straight(np.zeros((1, 2)))[0]
    size = RADIUS * scene.camera.focal / scene.camera.distance
    start = Ellipse(Point(float(x), float(y)), (size, 0.0, size))
    flat = DiscPlane(fit_ellipse(scene.camera.straight(rim), start=start).ellipse)
    return flat.moved(flat.from_picture(np.array([x, y])))


def true_dial(scene: Hostile, plane: DiscPlane, points: NDArray) -> NDArray:
    """Return the dial angles, degrees, at which points (n, 2) of the disc ought to be read."""
    x, y = plane.from_picture(scene.camera.straight(points)).T
    return np.degrees(np.arctan2(x, y)) % 360.0


def judge(scene: Hostile, folder: Path, corrections: Corrections = NO_CORRECTIONS) -> Judged:
    """Measure the photograph of a scene and compare."""
    path = folder / f"{scene.number}.jpg"
    path.write_bytes(scene.photograph())
    try:
        found = measure_photo(path, 2.0 * RADIUS, corrections)
    except CannotDoError as error:
        return Judged(scene=scene, refused=str(error), values=(), invented=())
    values, invented = compared(scene, found)
    return Judged(scene=scene, refused="", values=values, invented=invented)


def compared(scene: Hostile, found: PhotoMeasurement) -> tuple[tuple[Value, ...], tuple[str, ...]]:
    """Return every value against its truth, and what was found that is not there."""
    plane = true_plane(scene)
    separations, invented = _separations(scene, found, plane)
    holes, marks = _holes(scene, found, plane)
    values = [*separations, *_bore(scene, found), *_ring(scene, found), *holes]
    return tuple(values), (*invented, *marks)


def _value(
    quantity: str, truth: float, measured: Measured | None, doubt: object, off: float | None = None
) -> Value:
    if measured is None:
        return Value(quantity=quantity, off=None, cautioned=bool(doubt))
    error = measured.value - truth if off is None else off
    return Value(
        quantity=quantity,
        off=abs(error) / measured.uncertainty,
        cautioned=bool(doubt),
        error=error,
    )


def _separations(
    scene: Hostile, found: PhotoMeasurement, plane: DiscPlane
) -> tuple[list[Value], list[str]]:
    measurement = found.measurement
    every = [edge for ring in measurement.rings for edge in ring.edges]
    told = bool(found.left_out or found.doubt or said(found, "no separation was seen")) or any(
        zone.doubt and "edge" in zone.doubt for ring in measurement.rings for zone in ring.zones
    )
    values, used = [], set()
    for ring in scene.disc.rings:
        middle = (ring.inner + ring.outer) / 2.0
        angles = np.radians(ring.edges)
        points = middle * np.column_stack([np.sin(angles), np.cos(angles)])
        here = [
            edge
            for limits, seen in zip(found.rings, measurement.rings, strict=True)
            if limits.inner < middle / RADIUS < limits.outer
            for edge in seen.edges
        ]
        for dial in true_dial(scene, plane, points):
            offs = [_apart(to_dial(edge.direction.value), dial) for edge in here]
            nearest = min(offs, key=abs, default=math.inf)
            if abs(nearest) > TAKEN_FOR:
                values.append(_value(SEPARATION, dial, None, told))
                continue
            edge = here[offs.index(nearest)]
            used.add(id(edge))
            degrees = edge.direction.times(to_degrees(1.0))
            doubt = edge.doubt or found.doubt
            values.append(_value(SEPARATION, dial, degrees, doubt, nearest))
    invented = [
        f"separation at {to_dial(edge.direction.value):.1f}"
        for edge in every
        if id(edge) not in used and not edge.doubt and not found.doubt
    ]
    return values, invented


def _apart(found: float, truth: float) -> float:
    return math.remainder(found - truth, 360.0)


def _bore(scene: Hostile, found: PhotoMeasurement) -> list[Value]:
    measurement = found.measurement
    across = 2.0 * scene.disc.holes[0].radius
    doubt = found.doubt or said(found, "bore", RIM_SAID)
    values = [_value("bore", across, measurement.bore_diameter, doubt)]
    if measurement.concentricity is not None:
        values.append(_value("bore's centre", 0.0, measurement.concentricity.offset, doubt))
    return values


def _ring(scene: Hostile, found: PhotoMeasurement) -> list[Value]:
    """Return the inner limits of the rings, each the nearest that was found."""
    values = []
    for ring in scene.disc.rings:
        bounds = [
            each.inner_diameter
            for each in found.measurement.rings
            if each.inner_diameter is not None
            and abs(each.inner_diameter.value - 2.0 * ring.inner) < 3.0
        ]
        if bounds:
            doubt = found.doubt or said(found, RIM_SAID)
            values.append(_value("ring", 2.0 * ring.inner, bounds[0], doubt))
    return values


def _holes(
    scene: Hostile, found: PhotoMeasurement, plane: DiscPlane
) -> tuple[list[Value], list[str]]:
    seen = list(found.measurement.holes)
    values = []
    for hole in scene.disc.holes[1:]:
        dial = float(true_dial(scene, plane, np.array([[hole.x, hole.y]]))[0])
        out = math.hypot(hole.x, hole.y)
        near = [
            each
            for each in seen
            if abs(_apart(to_dial(each.direction.value), dial)) < TAKEN_FOR
            and abs(each.radius.value - out) < 2.6
        ]
        if not near:
            values.append(_value("hole", 2.0 * hole.radius, None, said(found, "hole", "round")))
            continue
        seen.remove(near[0])
        doubt = near[0].doubt or found.doubt
        degrees = near[0].direction.times(to_degrees(1.0))
        off = _apart(to_dial(near[0].direction.value), dial)
        values += [
            _value("hole's angle", dial, degrees, doubt, off),
            _value("hole's radius", out, near[0].radius, doubt or said(found, RIM_SAID)),
            _value("hole", 2.0 * hole.radius, near[0].diameter, doubt or said(found, RIM_SAID)),
        ]
    marks = [
        f"hole at {to_dial(each.direction.value):.1f}"
        for each in seen
        if not each.doubt and not found.doubt
    ]
    return values, marks


def said(found: PhotoMeasurement, *words: str) -> bool:
    """Return whether a warning speaks of one of the words."""
    return any(word in text for text in found.measurement.warnings for word in words)
