"""Bars that seem to stand under a lamp flashing with the mains.

A ring of equal bars seems to stand when exactly one bar passes per flash:
bars = 2 pi flash_rate / omega, which is 60 f / n for f flashes a second at n r/min (arithmetic). A
lamp on alternating current flashes twice per mains period; some electronic ones once, others not at
all.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

from jobprep.disc.rings import CircleView, closed, rings_of
from jobprep.disc.zones import repeats
from jobprep.model.machine import Machine
from jobprep.units import TURN

MAINS = (50.0, 60.0)
"""Mains frequencies, Hz."""


STANDS = 0.05
"""A pattern that is off by less than this share of a repeat from flash to flash creeps slowly
enough to be taken for still (common practice, no source)."""


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
    """A ring of the design (radii in mm) whose pattern repeats ``bars`` times a turn.

    ``speeds`` gives, for each flash rate in Hz, the speed (rad/s) at which it seems to stand.
    """

    inner_radius: float
    outer_radius: float
    bars: int
    speeds: tuple[tuple[float, float], ...]


def flash_rates(machine: Machine | None = None) -> tuple[float, ...]:
    """Return the flash rates told, Hz: once and twice per period of the mains, and of the lamp.

    Where a machine names neither they are those of each mains frequency.
    """
    known: tuple[float, ...]
    if machine is None or (machine.mains is None and machine.flashes is None):
        known = MAINS
    else:
        known = () if machine.mains is None else (machine.mains,)
    rates = [times * mains for mains in known for times in (1.0, 2.0)]
    own = () if machine is None else machine.flashes or ()
    return tuple(dict.fromkeys((*rates, *own)))


def stands_under(bars: int, omega: float, flash_rate: float) -> bool:
    """Whether a pattern of this number of repeats seems to stand at a speed (rad/s).

    From flash to flash it turns by nearly a whole number of its repeats, one at least; where it
    repeats but once that is a whole turn.
    """
    repeats_a_flash = omega / flash_rate * bars / TURN
    nearest = round(repeats_a_flash)
    return nearest >= 1 and abs(repeats_a_flash - nearest) <= STANDS


def standing_rates(
    machine: Machine | None, found: Iterable[CircleView], omega: float
) -> tuple[float, ...]:
    """Return the flash rates (Hz) under which some circle of a disc seems to stand, rising.

    Circles without repeats count, too; what looks the same all round never moves.
    """
    cycles = (closed(spans) for circle in found for spans in (circle.stacks, circle.spans))
    counts = {repeats(cycle) for cycle in cycles if len(cycle) > 1}
    rates = flash_rates(machine)
    return tuple(
        rate for rate in sorted(rates) if any(stands_under(bars, omega, rate) for bars in counts)
    )


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


def standing_rings(
    machine: Machine | None, found: Iterable[CircleView]
) -> tuple[StandingRing, ...]:
    """Return the rings of a design that repeat within the turn, from the inside out."""
    rings: list[StandingRing] = []
    rates = flash_rates(machine)
    for ring in rings_of(found):
        bars = math.gcd(*(repeats(closed(circle.stacks)) for circle in ring))
        inner, outer = ring[0].inner, ring[0].outer
        if rings and rings[-1].bars == bars and math.isclose(rings[-1].outer_radius, inner):
            rings[-1] = replace(rings[-1], outer_radius=outer)
        elif bars > 1:
            speeds = tuple((rate, standing_speed(bars, rate)) for rate in rates)
            rings.append(
                StandingRing(inner_radius=inner, outer_radius=outer, bars=bars, speeds=speeds)
            )
    return tuple(rings)
