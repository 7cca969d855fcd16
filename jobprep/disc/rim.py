"""How hard turning pulls at the film of a disc itself, whatever glue and hub bear.

Each layer that is one ring of film carries itself; sectors are carried by what holds them
(``hold.py``). Openings, holes, notches and glue are left out: at a small round hole the stress is
up to three times as high (Kirsch 1898, from memory).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from jobprep.disc.pieces import inner_radius
from jobprep.model.design import TO_CHOOSE, Design
from jobprep.model.film import Film
from jobprep.units import to_newtons

POISSON = 0.4
"""Of plastic film: lateral over axial strain, 0.3 to 0.45 (from memory)."""
FAST = 50.0
"""Rims faster than this, m/s, are reported where no strength is known: 3.5 N/mm² in polyester
(common practice, no source)."""
RESERVE = 4.0
"""How many times its stress a film's strength should be: holes, ageing, creep (common practice, no
source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RimLoad:
    """The largest hoop stress in the film of one layer, counted from 1, N/mm²; and its strength."""

    layer: int
    film: str
    stress: float
    strength: float | None


def hoop_stress(density: float, omega: float, outer: float, inner: float = 0.0) -> float:
    """Return the largest hoop stress of a thin flat disc that turns, N/mm².

    ``density`` in g/mm³, ``omega`` in rad/s, radii in mm. With a hole it is that at the hole's
    edge, rho omega² ((3 + nu) b² + (1 - nu) a²) / 4; without one that in the middle,
    rho omega² (3 + nu) b² / 8 (Timoshenko and Goodier, Theory of Elasticity, 3rd ed. 1970, art.
    32). As the hole grows towards the rim it becomes rho v² of a thin hoop.
    """
    unit = to_newtons(density * omega**2)  # N/mm⁴
    if inner <= 0.0:
        return unit * (3.0 + POISSON) * outer**2 / 8.0
    return unit * ((3.0 + POISSON) * outer**2 + (1.0 - POISSON) * inner**2) / 4.0


def rim_loads(design: Design, films: Mapping[str, Film], omega: float) -> tuple[RimLoad, ...]:
    """Return the load of each layer that is one ring of film, the largest stress first.

    Layers whose film is to be chosen are left out.
    """
    loads = (
        RimLoad(
            layer=number,
            film=layer.film,
            stress=hoop_stress(
                films[layer.film].density,
                omega,
                layer.outer_diameter / 2.0,
                inner_radius(design, layer),
            ),
            strength=films[layer.film].strength,
        )
        for number, layer in enumerate(design.layers, start=1)
        if not layer.sectors and layer.film != TO_CHOOSE
    )
    return tuple(sorted(loads, key=lambda load: -load.stress))
