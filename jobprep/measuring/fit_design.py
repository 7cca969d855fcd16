"""The part of a measurement that can stand in one design: sizes that agree once rounded.

Every length is measured by itself, so a ring may come out a little wider than its disc, or a hole
a little beyond the rim. Sizes that differ only by rounding or uncertainty are made equal; the rest
is left out, and so is whatever is too narrow to cut. A sentence reports each change.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import replace

from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import ColourRing, MeasuredHole, Measurement
from jobprep.units import TURN, number

Written = Callable[[Measured], float]
"""The number that a design file gets for a length."""

UNMEASURED_HOLE = 3.0
"""Diameter, mm, written for a hole of which only the middle was measured."""

JOINT = 0.2
"""Width, mm, that the joints beside a sector may take from it."""


def fitted(
    measurement: Measurement, written: Written, narrowest: float
) -> tuple[Measurement, tuple[str, ...]]:
    """Return the measurement without what contradicts the rest of it, and a sentence on each.

    ``narrowest`` is the least width, mm, in which the films at hand are cut.
    """
    outer = written(measurement.outer_diameter)
    remarks: list[str] = []
    bore = measurement.bore_diameter
    if bore is not None and written(bore) >= outer:
        remarks.append(
            f"the bore, {number(written(bore), 3)} mm, is as wide as the disc: it was left out"
        )
        bore = None
    inside = 0.0 if bore is None else written(bore)
    rings = []
    for count, ring in enumerate(measurement.rings, 1):
        held, said = _ring(ring, f"ring {count}", (inside, outer), written, narrowest)
        remarks += said
        if held is not None:
            rings.append(held)
    holes = []
    for hole in measurement.holes:
        said = list(_misplaced(hole, inside / 2.0, outer / 2.0, written))
        remarks += said
        if not said:
            holes.append(hole)
    fit = replace(
        measurement,
        bore_diameter=bore,
        concentricity=None if bore is None else measurement.concentricity,
        rings=tuple(rings),
        holes=tuple(holes),
    )
    return fit, tuple(remarks)


def _ring(
    ring: ColourRing, name: str, disc: tuple[float, float], written: Written, narrowest: float
) -> tuple[ColourRing | None, list[str]]:
    """Return a ring between bore and rim (``disc``) with all its sectors wide enough, or None."""
    bore, outer = disc
    said = []
    if ring.outer_diameter is not None and written(ring.outer_diameter) >= outer:
        wide = number(written(ring.outer_diameter), 3)
        said.append(f"{name} was measured {wide} mm wide: it reaches the rim")
        ring = replace(ring, outer_diameter=None)
    if ring.inner_diameter is not None and written(ring.inner_diameter) <= bore:
        wide = number(written(ring.inner_diameter), 3)
        said.append(f"{name} was measured from {wide} mm on: it reaches the bore")
        ring = replace(ring, inner_diameter=None)
    limit = outer if ring.outer_diameter is None else written(ring.outer_diameter)
    inner = bore if ring.inner_diameter is None else written(ring.inner_diameter)
    if limit - inner <= 2.0 * narrowest:
        said.append(
            f"{name} was left out: from {number(inner, 3)} to {number(limit, 3)} mm across it is"
            f" not {number(narrowest)} mm wide, the least that is cut"
        )
        return None, said
    ring = _joined(ring, name, limit / 2.0, narrowest + JOINT, said)
    if len(ring.edges) > 1:
        tip = 0.5 * narrowest / math.sin(min(min(_angles(ring)), math.pi) / 2.0)
        if inner < tip < limit - 2.0 * narrowest:
            ring = replace(ring, inner_diameter=Measured(tip, 0.5 * tip))
            said.append(
                f"{name} begins {number(tip, 3)} mm across: nearer the centre the tips of its"
                " sectors are too narrow to be cut; give its inner_diameter if you know it"
            )
    return ring, said


def _joined(
    ring: ColourRing, name: str, radius: float, narrowest: float, said: list[str]
) -> ColourRing:
    """Join each sector that is nowhere wide enough to the one before it."""
    while len(ring.edges) > 1:
        angles = _angles(ring)
        least = min(range(len(angles)), key=angles.__getitem__)
        half = math.sin(min(angles[least], math.pi) / 2.0)
        if 2.0 * radius * half / (1.0 + half) > narrowest:
            break
        zone = ring.zones[least].name or f"sector {least + 1}"
        said.append(f"{zone} of {name} was joined to its neighbour: it is too narrow to be cut")
        edges = ring.edges[:least] + ring.edges[least + 1 :]
        zones = ring.zones[:least] + ring.zones[least + 1 :]
        ring = replace(ring, edges=edges if len(edges) > 1 else (), zones=zones)
    return ring


def _angles(ring: ColourRing) -> list[float]:
    """Return the angle of each sector, clockwise from its edge to the next."""
    return [
        (edge.direction.value - after.direction.value) % TURN
        for edge, after in zip(ring.edges, (*ring.edges[1:], ring.edges[0]), strict=True)
    ]


def _misplaced(hole: MeasuredHole, bore: float, rim: float, written: Written) -> Iterator[str]:
    across = UNMEASURED_HOLE if hole.diameter is None else written(hole.diameter)
    radius = written(hole.radius)
    if radius + across / 2.0 >= rim:
        reach = number(radius + across / 2.0, 3)
        yield f"{hole.name} was left out: it would reach {reach} mm from the centre, past the rim"
    elif radius - across / 2.0 <= bore:
        yield f"{hole.name} was left out: it would meet the bore"
