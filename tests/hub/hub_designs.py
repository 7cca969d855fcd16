"""Designs with printed hubs, fixed and random, and their assembly as solids of another library."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from disc.designs import FILMS, layer
from hypothesis import strategies as st
from manifold3d import CrossSection, FillRule, Manifold, Mesh64
from shapely.geometry import Polygon

from jobprep.disc.hub import HubPart
from jobprep.disc.pieces import design_pieces
from jobprep.geometry.flatten import flatten_inside
from jobprep.geometry.outline import Region
from jobprep.hub.solids import Solid
from jobprep.model import (
    Bore,
    Design,
    FlatBore,
    Hub,
    HubSlots,
    KeyedBore,
    Original,
    RoundBore,
    SquareBore,
)
from jobprep.units import from_dial, from_rpm

PLA = 1.24e-3
"""Density of polylactide, g/mm³ (from memory)."""


def wheel(
    *slots: HubSlots,
    bore: Bore | None = None,
    diameter: float = 40.0,
    hub: Hub | None = None,
    thickness: float | None = 1.2,
    glue: float = 0.0,
) -> Design:
    """Return two full layers, 0.1 and 0.075 mm thick, with a printed hub."""
    return Design(
        name="Beacon",
        outer_diameter=120.0,
        bore=bore or RoundBore(diameter=8.0),
        hub_diameter=diameter,
        hub=hub or Hub(flange_thickness=2.0, clearance=0.15, density=PLA),
        hub_slots=slots,
        glue_line=(glue, 0.0),
        layers=(layer("cover", outer=120.0), layer("colour", film="amber", outer=118.0)),
        original=Original(thickness=thickness),
        angular_speed=from_rpm(600.0),
    )


def slots(
    count: int = 3,
    circle: float = 24.0,
    length: float = 10.0,
    width: float = 2.0,
    angle: float = 0.0,
    layers: frozenset[str] | None = None,
) -> HubSlots:
    return HubSlots(
        count=count,
        circle_diameter=circle,
        length=length,
        width=width,
        direction=from_dial(angle),
        layers=layers,
    )


@st.composite
def bores(draw: st.DrawFn) -> Bore:
    size, direction = draw(st.floats(3.0, 12.0)), draw(st.floats(-3.0, 3.0))
    return draw(
        st.sampled_from(
            [
                RoundBore(diameter=size),
                SquareBore(side=size / 1.5, direction=direction),
                FlatBore(diameter=size, across=0.8 * size, direction=direction),
                KeyedBore(
                    diameter=size, key_width=0.3 * size, key_depth=0.15 * size, direction=direction
                ),
            ]
        )
    )


@st.composite
def hubs(draw: st.DrawFn) -> Design:
    """A hub that can be printed: walls of at least a millimetre, tabs of at least 0.8 mm."""
    bore = draw(bores())
    clearance = draw(st.sampled_from([0.0, 0.1, 0.15, 0.3]))
    width = draw(st.floats(0.8, 4.0)) + 2.0 * clearance
    middle = draw(st.floats(9.0, 30.0)) + width / 2.0
    count = draw(st.integers(1, 6))
    room = 2.0 * np.pi * middle / (count + 1.0) - 1.5
    row = slots(
        count,
        2.0 * middle,
        width + draw(st.floats(0.0, 1.0)) * max(0.0, room - width),
        width,
        draw(st.floats(0.0, 359.0)),
    )
    return wheel(
        row,
        bore=bore,
        diameter=2.0 * (middle + width / 2.0 + draw(st.floats(1.0, 10.0))),
        hub=Hub(flange_thickness=draw(st.floats(0.8, 5.0)), clearance=clearance, density=PLA),
        thickness=draw(st.sampled_from([None, 0.175, 0.5, 1.2, 3.0])),
        glue=draw(st.sampled_from([0.0, 0.02])),
    )


def manifold(solid: Solid, part: HubPart) -> Manifold:
    """Return a solid where it lies in the assembled disc."""
    mesh = Mesh64(solid.vertices, solid.triangles.astype(np.uint64))
    return Manifold(mesh).translate((0.0, 0.0, part.bottom))


def extruded(region: Region, bottom: float, thickness: float) -> Manifold:
    """Return a region of film as a solid, by the library's own extrusion."""
    flat = flatten_inside(region, 1e-4)
    rings = [np.array(ring) for ring in (flat.outer, *flat.holes)]
    section = CrossSection(rings, FillRule.Positive)
    return Manifold.extrude(section, thickness).translate((0.0, 0.0, bottom))


def film_solids(design: Design) -> Iterator[Manifold]:
    """Yield the films of a design, the back layer's back at 0, a glue line between two layers."""
    bottom = 0.0
    for number in range(len(design.layers), 0, -1):
        pieces = [piece for piece in design_pieces(design) if piece.layer == number]
        for piece in pieces:
            yield extruded(piece.region, bottom, FILMS[piece.film].thickness)
        bottom += max(FILMS[piece.film].thickness for piece in pieces) + design.glue_line[0]


def shape(region: Region) -> Polygon:
    """Return a region as a polygon of another library, to a ten-thousandth of a millimetre."""
    flat = flatten_inside(region, 1e-4)
    return Polygon(flat.outer, flat.holes)
