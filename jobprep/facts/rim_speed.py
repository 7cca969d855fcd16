"""How fast the rim of a turning disc runs."""

from __future__ import annotations

from jobprep.disc.facts import DiscFacts
from jobprep.facts.told import FactLine, Told
from jobprep.units import from_rpm, number, significant, to_m


def told(disc: DiscFacts) -> Told:
    """Return the rim's speed, omega times radius; nothing of a disc that stands."""
    speed = disc.design.speed
    if speed is None:
        return Told(data={"rim_speed_m_s": None})
    rim = to_m(from_rpm(speed) * disc.design.outer_diameter / 2.0)
    line = FactLine("Rim speed", significant(rim), "m/s", f"at {number(speed, 1)} r/min")
    return Told(lines=(line,), data={"rim_speed_m_s": rim})
