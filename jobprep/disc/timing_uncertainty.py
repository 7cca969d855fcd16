"""How far off the moment of an edge can be: the parts and their combination (GUM, JCGM 100:2008).

Each part is a limit either way that the value lies within, anywhere alike: its standard uncertainty
is the limit over the root of three (4.3.7). Parts that do not depend on each other are combined as
the root sum square of their effects on the time (5.1.2).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from jobprep.disc.index import index_hole
from jobprep.disc.timing import ANGLE_STEP, LENGTH_STEP, sector_times
from jobprep.model.design import Design

SPEED, SENSOR, HOLE, LAYING = "speed", "sensor", "index hole", "laying"
"""What a moment depends on: the machine's speed, where in the sensor's width the edge is seen,
where the hole was cut and how exactly the sectors were laid."""


class TimedLimits(NamedTuple):
    """Limits either way: speed as a share, sensor and hole in mm, laying in radians.

    None is what nobody has said; it is left out.
    """

    speed: float | None
    sensor: float | None
    hole: float = LENGTH_STEP
    laying: float = ANGLE_STEP


@dataclass(frozen=True, slots=True, kw_only=True)
class UncertainTime:
    """When a separation passes (s after the index) and the standard uncertainties of that, s.

    ``parts`` are by what they come from, the largest first; ``combined`` is of all.
    """

    layer: int
    sector: int
    time: float
    parts: Mapping[str, float]
    combined: float

    @property
    def largest(self) -> str:
        """What it is worth to improve first."""
        return next(iter(self.parts))


def limits_of(design: Design) -> TimedLimits:
    """Return the limits that a design and its machine give."""
    machine = design.machine
    width = None if machine is None else machine.sensor_width
    width = design.index.sensor_width or None if width is None else width
    return TimedLimits(
        speed=None if machine is None else machine.regulation,
        sensor=None if width is None else width / 2.0,
    )


def time_parts(time: float, radius: float, omega: float, limits: TimedLimits) -> dict[str, float]:
    """Return the standard uncertainties (s) of an edge that passes ``time`` after the index.

    ``radius`` is that of the index hole, mm, ``omega`` the speed in rad/s. Speed counts in
    proportion to the time that has passed, the others alike at every moment.
    """
    along = radius * omega
    effects = {
        SPEED: None if limits.speed is None else limits.speed * time,
        SENSOR: None if limits.sensor is None else limits.sensor / along,
        HOLE: limits.hole / along,
        LAYING: limits.laying / omega,
    }
    known = {name: each / math.sqrt(3.0) for name, each in effects.items() if each is not None}
    return dict(sorted(known.items(), key=lambda part: -part[1]))


def combined(parts: Mapping[str, float]) -> float:
    """Return the combined standard uncertainty of parts that do not depend on each other."""
    return math.hypot(*parts.values())


def uncertain_times(design: Design, omega: float) -> tuple[UncertainTime, ...]:
    """Return how exactly each separation's moment is known; nothing without an index hole."""
    hole = index_hole(design)
    if hole is None:
        return ()
    limits = limits_of(design)
    found = []
    for each in sector_times(design, omega):
        parts = time_parts(each.start, hole.radius, omega, limits)
        found.append(
            UncertainTime(
                layer=each.layer,
                sector=each.sector,
                time=each.start,
                parts=parts,
                combined=combined(parts),
            )
        )
    return tuple(found)


def run_up(
    seconds: float, original: float, copy: float, rotor: float | None
) -> tuple[float, float]:
    """Return between which times (s) the machine runs up with the copy, which took ``seconds``.

    ``original``, ``copy`` and ``rotor`` are moments of inertia, g·mm²: under the same torque time
    grows in proportion to their sum. An unknown rotor leaves all between none and an endless one.
    """
    if rotor is not None:
        exact = seconds * (rotor + copy) / (rotor + original)
        return exact, exact
    bare = seconds * copy / original
    return min(bare, seconds), max(bare, seconds)
