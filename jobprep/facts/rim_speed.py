"""How fast the rim of a turning disc runs, and how hard that pulls at its film."""

from __future__ import annotations

from jobprep.disc.facts import DiscFacts
from jobprep.disc.rim import RimLoad
from jobprep.disc.unchosen import unchosen
from jobprep.facts.told import NOT_TOLD, FactLine, Told, at_least
from jobprep.units import in_rpm, significant, to_m


def told(disc: DiscFacts) -> Told:
    """Return the rim's speed, omega times radius, and the largest stress in a whole ring of film.

    Nothing for a disc that stands.
    """
    omega = disc.design.angular_speed
    if omega is None:
        return Told(data={"rim_speed_m_s": None, "rim_loads": []})
    rim = to_m(omega * disc.design.outer_diameter / 2.0)
    lines = [FactLine("Rim speed", significant(rim), "m/s", f"at {in_rpm(omega)}")]
    if disc.rim:
        most = disc.rim[0]
        lines.append(FactLine("Stress in the film", at_least(most.stress), "MPa", _note(most)))
    if any(not place.sector for place in unchosen(disc.design)):
        note = "in the layers whose film is to be chosen"
        lines.append(FactLine("Stress in the film", NOT_TOLD, "", note))
    return Told(
        lines=tuple(lines),
        data={"rim_speed_m_s": rim, "rim_loads": [_data(each) for each in disc.rim]},
    )


def _note(load: RimLoad) -> str:
    strength = (
        "its strength is not known"
        if load.strength is None
        else f"its strength is {load.strength:g} MPa"
    )
    return (
        f"hoop stress in layer {load.layer}, {load.film}: {strength}; openings and holes, which"
        " raise it, are left out"
    )


def _data(load: RimLoad) -> dict[str, object]:
    return {
        "layer": load.layer,
        "film": load.film,
        "hoop_stress_mpa": load.stress,
        "tensile_strength_mpa": load.strength,
    }
