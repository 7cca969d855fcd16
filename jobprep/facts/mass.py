"""What a disc weighs, and how hard it is to spin up."""

from __future__ import annotations

from jobprep.disc.facts import DiscFacts
from jobprep.facts.told import FactLine, Told


def told(disc: DiscFacts) -> Told:
    """Return mass and polar moment of inertia, at least those of the films that are chosen."""
    mass, hub = disc.mass, disc.hub
    more, note = "", "without glue"
    if mass is None:
        more, note = "more than ", "without glue and the films to be chosen"
    if hub is not None:
        note += f", {hub.body.mass:.3f} g of it the printed hub"
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
        },
    )
