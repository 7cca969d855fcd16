"""How fast the rim of a turning disc runs."""

from __future__ import annotations

from jobprep.disc.facts import DiscFacts
from jobprep.facts.told import FactLine, Told
from jobprep.units import in_rpm, significant, to_m


def told(disc: DiscFacts) -> Told:
    """Return the rim's speed, omega times radius; nothing of a disc that stands."""
    omega = disc.design.angular_speed
    if omega is None:
        return Told(data={"rim_speed_m_s": None})
    rim = to_m(omega * disc.design.outer_diameter / 2.0)
    line = FactLine("Rim speed", significant(rim), "m/s", f"at {in_rpm(omega)}")
    return Told(lines=(line,), data={"rim_speed_m_s": rim})
