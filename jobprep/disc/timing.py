"""When what passes: sectors in time, soft edges, and what small errors mean.

The clock of a turn starts when the chosen edge of the index hole passes the sensor; the sense of
rotation is the machine's, else that in which sectors pass in the order they are listed. Times are
seconds, ``omega`` is the disc's angular speed in radians per second.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from jobprep.disc.apertures import light_bands
from jobprep.disc.index import half_angle, index_direction, index_hole
from jobprep.disc.pieces import inner_radius
from jobprep.disc.turning import turning_of
from jobprep.disc.zones import SAME_ANGLE, Zone, clockwise_angle, disc_zones
from jobprep.model.design import NO_FILM, Design, film_at
from jobprep.model.film import Film
from jobprep.units import TURN, from_degrees

ANGLE_STEP = from_degrees(0.1)
"""The angle error whose meaning in time is shown: what careful laying reaches by hand (common
practice, no source)."""
LENGTH_STEP = 0.1
"""The error along the index hole's circle whose meaning in time is shown, mm: what cutting services
promise (common practice, no source)."""
GAUSSIAN_RISE = 2.5631031310892007 / 4.0
"""Width between 10 % and 90 % of a straight edge's crossing over the 1/e² diameter of a Gaussian
beam: 2 z(0.9) sigma over 4 sigma, z the standard normal quantile."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SectorTime:
    """When one sector passes, from the start of the turn's clock; ``share`` of the turn, 0..1.

    ``start`` lies in the first turn; ``end`` may lie in the next.
    """

    layer: int
    sector: int
    name: str
    film: str
    start: float
    end: float
    duration: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class JointTime:
    """How long a joint of a layer takes to pass at a radius (mm)."""

    layer: int
    radius: float
    duration: float


@dataclass(frozen=True, slots=True, kw_only=True)
class IndexTime:
    """The index hole as a clock.

    ``direction`` is that of the chosen edge on the hole's own circle, ``open`` how long the hole
    passes, ``softness`` how long the edge takes across the sensor. ``per_angle`` is what 0.1
    degree and ``per_length`` what 0.1 mm at the hole's radius mean in time; ``length_as_angle``
    is that 0.1 mm as an angle.
    """

    hole: str
    edge: str
    radius: float
    direction: float
    open: float
    softness: float
    per_angle: float
    per_length: float
    length_as_angle: float


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeTime:
    """How soft a radial edge looks through a beam ``width`` mm wide at ``radius``.

    ``crossing`` is from first to last light of a sharp-sided beam, ``angle`` that time as an
    angle; ``gaussian_rise`` is from 10 % to 90 % when ``width`` is the 1/e² diameter of a Gaussian
    beam.
    """

    width: float
    radius: float
    crossing: float
    angle: float
    gaussian_rise: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """The timing of one design at its speed; ``turn`` is one turn in seconds."""

    turn: float
    sectors: tuple[SectorTime, ...]
    joints: tuple[JointTime, ...]
    index: IndexTime | None
    edge: EdgeTime | None


def turn_time(omega: float) -> float:
    """Return how long a turn takes."""
    return TURN / omega


def angle_time(angle: float, omega: float) -> float:
    """Return how long an angle (radians) takes to pass."""
    return angle / omega


def crossing_time(width: float, radius: float, omega: float) -> float:
    """Return how long ``width`` mm along the circle of ``radius`` mm take to pass."""
    return width / (radius * omega)


def passing_angle(design: Design, start: float, angle: float = 0.0) -> float:
    """Return after which angle of a turn a place of the disc passes the sensor, 0 to a full turn.

    The place reaches clockwise over ``angle`` from the clockwise angle ``start`` of the design; its
    first edge counts, which depends on the sense of rotation.
    """
    zero = clockwise_angle(index_direction(design))
    since = start - zero if turning_of(design).sense > 0.0 else zero - start - angle
    since %= TURN
    return 0.0 if TURN - since < SAME_ANGLE else since


def sector_times(design: Design, omega: float) -> tuple[SectorTime, ...]:
    """Return when each sector of each layer passes the sensor, open ones too, in their order."""
    times: list[SectorTime] = []
    for number, layer in enumerate(design.layers, start=1):
        start = clockwise_angle(layer.start)
        for index, sector in enumerate(layer.sectors, start=1):
            since = passing_angle(design, start, sector.angle)
            times.append(
                SectorTime(
                    layer=number,
                    sector=index,
                    name=sector.name,
                    film=film_at(sector.film, number, index),
                    start=angle_time(since, omega),
                    end=angle_time(since + sector.angle, omega),
                    duration=angle_time(sector.angle, omega),
                    share=sector.angle / TURN,
                )
            )
            start += sector.angle
    return tuple(times)


def edge_time(width: float, radius: float, omega: float) -> EdgeTime:
    """Return how soft an edge looks through a beam at a radius."""
    crossing = crossing_time(width, radius, omega)
    return EdgeTime(
        width=width,
        radius=radius,
        crossing=crossing,
        angle=width / radius,
        gaussian_rise=crossing * GAUSSIAN_RISE,
    )


def index_time(design: Design, omega: float) -> IndexTime | None:
    """Return the index hole as a clock, None when there is none."""
    hole = index_hole(design)
    if hole is None:
        return None
    return IndexTime(
        hole=hole.name,
        edge=design.index.edge,
        radius=hole.radius,
        direction=index_direction(design),
        open=angle_time(2.0 * half_angle(hole), omega),
        softness=crossing_time(design.index.sensor_width, hole.radius, omega),
        per_angle=angle_time(ANGLE_STEP, omega),
        per_length=crossing_time(LENGTH_STEP, hole.radius, omega),
        length_as_angle=LENGTH_STEP / hole.radius,
    )


def design_timing(design: Design, omega: float) -> Timing:
    """Return the timing of a design at a speed."""
    beam = design.beam
    return Timing(
        turn=turn_time(omega),
        sectors=sector_times(design, omega),
        joints=_joint_times(design, omega),
        index=index_time(design, omega),
        edge=None if beam is None else edge_time(beam.width, beam.radius, omega),
    )


def light_zones(design: Design) -> tuple[Zone, ...]:
    """Return the zones that light meets: those of windows and beam, else all outside the hub."""
    hub = (design.hub_diameter or 0.0) / 2.0
    bands = light_bands(design) or ((hub, math.inf),)
    return tuple(
        zone
        for zone in disc_zones(design)
        if any(low < zone.outer_radius and zone.inner_radius < high for low, high in bands)
    )


def seen_in_light(names: tuple[str, ...], films: Mapping[str, Film]) -> tuple[str, ...]:
    """Return what is seen of films on one another with the light behind them."""
    blocking = next((name for name in names if films[name].light == "blocks"), None)
    return names if blocking is None else (blocking,)


def _joint_times(design: Design, omega: float) -> tuple[JointTime, ...]:
    """Return each layer's joint time where light first meets it, else half way to its rim."""
    bands = light_bands(design)
    joints: list[JointTime] = []
    for number, layer in enumerate(design.layers, start=1):
        filled = [sector.film != NO_FILM for sector in layer.sectors]
        meets = any(a and b for a, b in zip(filled, filled[1:] + filled[:1], strict=True))
        if len(filled) < 2 or not meets or layer.joint_gap == 0.0:
            continue
        middle = (inner_radius(design, layer) + layer.outer_diameter / 2.0) / 2.0
        radius = sum(bands[0]) / 2.0 if bands else middle
        duration = crossing_time(abs(layer.joint_gap), radius, omega)
        joints.append(JointTime(layer=number, radius=radius, duration=duration))
    return tuple(joints)
