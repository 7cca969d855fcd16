"""What a whole disc weighs, and how its mass lies: films, printed hub and glue."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from jobprep.disc.glue import Glue, disc_glue
from jobprep.disc.hub import PrintedHub, printed_hub
from jobprep.disc.mass import Body, PieceBody, piece_bodies, whole
from jobprep.geometry.outline import Point
from jobprep.model.design import Design
from jobprep.model.film import Film

BALANCED = 1e-9
"""An eccentricity below this is rounding, mm; such a disc has no heavy side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MassFacts:
    """Mass (g) and how it lies: centre (mm from the bore's axis), unbalance (g·mm), eccentricity.

    ``heavy_direction`` is that of the unbalance in radians, None for a balanced disc; ``inertia``
    is the polar moment about the centre, g·mm².
    """

    mass: float
    centre: Point
    unbalance: float
    heavy_direction: float | None
    eccentricity: float
    inertia: float


def disc_mass(design: Design, films: Mapping[str, Film]) -> MassFacts:
    """Return how the mass of a disc lies: chosen films, printed hub, glue that is known."""
    hub = printed_hub(design, films)
    return mass_facts(piece_bodies(design, films), hub, disc_glue(design, hub))


def mass_facts(bodies: Sequence[PieceBody], hub: PrintedHub | None, glue: Glue) -> MassFacts:
    """Return how the mass of all pieces whose film is chosen lies, with that of hub and glue."""
    own = [body for _, body in bodies if body is not None]
    hubs: list[Body] = [] if hub is None else [hub.body]
    body = whole((*own, *hubs, glue.counted))
    if body.mass <= 0.0:
        return MassFacts(
            mass=0.0,
            centre=Point(0.0, 0.0),
            unbalance=0.0,
            heavy_direction=None,
            eccentricity=0.0,
            inertia=0.0,
        )
    unbalance = math.hypot(body.moment_x, body.moment_y)
    eccentricity = unbalance / body.mass
    balanced = eccentricity < BALANCED
    return MassFacts(
        mass=body.mass,
        centre=Point(body.moment_x / body.mass, body.moment_y / body.mass),
        unbalance=unbalance,
        heavy_direction=None if balanced else math.atan2(body.moment_y, body.moment_x),
        eccentricity=eccentricity,
        inertia=body.inertia,
    )
