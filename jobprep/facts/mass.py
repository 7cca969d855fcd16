"""What a disc weighs, and how hard it is to spin up."""

from __future__ import annotations

from jobprep.disc.facts import DiscFacts
from jobprep.disc.glue import THICKEST
from jobprep.facts.told import FactLine, Told
from jobprep.model.design import GLUE_DENSITY
from jobprep.units import to_g_cm3


def told(disc: DiscFacts) -> Told:
    """Return mass and polar moment of inertia, at least those of the films that are chosen."""
    mass, hub, glue = disc.mass, disc.hub, disc.glue
    more, note = "", _glue(disc)
    if mass is None:
        more, note = "more than ", f"without the films to be chosen; {note}"
    if hub is not None:
        note += f"; {hub.body.mass:.3f} g of it the printed hub"
    return Told(
        lines=(
            FactLine("Mass", f"{more}{disc.least_mass:.3f}", "g", note),
            FactLine(
                "Moment of inertia", f"{more}{disc.least_inertia:.0f}", "g·mm²", "about the axis"
            ),
        ),
        data={
            "mass_g": None if mass is None else mass.mass,
            "inertia_g_mm2": None if mass is None else mass.inertia,
            "glue": {
                "area_mm2": glue.area,
                "mass_g": None if glue.body is None else glue.body.mass,
                "at_least_g": glue.least.mass,
                "at_most_g": glue.most.mass,
            },
        },
    )


def _glue(disc: DiscFacts) -> str:
    """Say how much of the mass is glue, or how much glue may come on top."""
    glue, line = disc.glue, disc.design.glue_line
    if not glue.is_any:
        return "nothing in it is glued"
    density = f"{to_g_cm3(GLUE_DENSITY):g} g/cm³ (common practice)"
    most = f"{glue.most.mass:.3f} g"
    if glue.body is not None:
        return f"{glue.body.mass:.3f} g of it glue at {density}, at most {most}"
    if line is None:
        return f"without glue: at most {most} more, {THICKEST:g} mm thick at {density}"
    return f"without glue: at most {most} more wherever films meet, at {density}"
