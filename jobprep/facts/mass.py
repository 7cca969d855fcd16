"""What a disc weighs, and how hard it is to spin up."""

from __future__ import annotations

from jobprep.disc.facts import DiscFacts
from jobprep.facts.told import FactLine, Told


def told(disc: DiscFacts) -> Told:
    """Return mass and polar moment of inertia."""
    mass, hub = disc.mass, disc.hub
    note = "without glue"
    if hub is not None:
        note += f", {hub.body.mass:.3f} g of it the printed hub"
    return Told(
        lines=(
            FactLine("Mass", f"{mass.mass:.3f}", "g", note),
            FactLine("Moment of inertia", f"{mass.inertia:.0f}", "g·mm²", "about the axis"),
        ),
        data={"mass_g": mass.mass, "inertia_g_mm2": mass.inertia},
    )
