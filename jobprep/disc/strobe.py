"""Bars that seem to stand under a lamp flashing with the mains.

A ring of equal bars seems to stand when exactly one bar passes per flash:
bars = 2 pi flash_rate / omega, which is 60 f / n for f flashes a second at n r/min (arithmetic). A
lamp on alternating current flashes twice per mains period; some electronic ones once, others not at
all.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from jobprep.disc.zones import disc_zones, repeats
from jobprep.model.design import Design
from jobprep.units import TURN

MAINS = (50.0, 60.0)
"""Mains frequencies, Hz."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StrobeCount:
    """How many bars stand at a speed: ``exact``, the next whole ``bars``, and their true speed.

    Rates are in Hz, speeds in rad/s.
    """

    flash_rate: float
    exact: float
    bars: int
    true_speed: float


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingRing:
    """A zone of the design (radii in mm) whose pattern repeats ``bars`` times a turn.

    ``speeds`` gives, for each flash rate in Hz, the speed (rad/s) at which it seems to stand.
    """

    inner_radius: float
    outer_radius: float
    bars: int
    speeds: tuple[tuple[float, float], ...]


def flash_rates() -> tuple[float, ...]:
    """Return the flash rates told, Hz: once and twice per period of each mains frequency."""
    return tuple(times * mains for mains in MAINS for times in (1.0, 2.0))


def standing_speed(bars: int, flash_rate: float) -> float:
    """Return the speed (rad/s) at which this number of bars seems to stand."""
    return TURN * flash_rate / bars


def strobe_count(omega: float, flash_rate: float) -> StrobeCount:
    """Return how many bars seem to stand at a speed (rad/s) under a flash rate (Hz)."""
    exact = TURN * flash_rate / omega
    bars = max(1, math.floor(exact + 0.5))
    return StrobeCount(
        flash_rate=flash_rate,
        exact=exact,
        bars=bars,
        true_speed=standing_speed(bars, flash_rate),
    )


def standing_rings(design: Design) -> tuple[StandingRing, ...]:
    """Return the zones of a design that repeat within the turn, from the inside out."""
    rings: list[StandingRing] = []
    for zone in disc_zones(design):
        bars = repeats([(span.films, span.angle) for span in zone.spans])
        if bars > 1:
            rings.append(
                StandingRing(
                    inner_radius=zone.inner_radius,
                    outer_radius=zone.outer_radius,
                    bars=bars,
                    speeds=tuple((rate, standing_speed(bars, rate)) for rate in flash_rates()),
                )
            )
    return tuple(rings)
