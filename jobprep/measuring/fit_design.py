"""What of a measurement can stand in one design: sizes that go with each other once rounded.

Every length is measured by itself, so a ring may come out a little wider than its disc, or a hole
a little beyond the rim. What differs by rounding or uncertainty alone is brought together; what
cannot be is left out. Either is said.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import ColourRing, MeasuredHole, Measurement
from jobprep.units import number

Written = Callable[[Measured], float]
"""The number that a design file gets for a length."""

UNMEASURED_HOLE = 3.0
"""Diameter, mm, written for a hole of which only the middle was taken."""


def fitted(measurement: Measurement, written: Written) -> tuple[Measurement, tuple[str, ...]]:
    """Return the measurement without what contradicts the rest of it, and a sentence on each."""
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
        held, said = _ring(ring, f"ring {count}", inside, outer, written)
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
    ring: ColourRing, name: str, bore: float, outer: float, written: Written
) -> tuple[ColourRing | None, list[str]]:
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
    if inner >= limit:
        said.append(
            f"{name} was left out: from {number(inner, 3)} to {number(limit, 3)} mm it has no width"
        )
        return None, said
    return ring, said


def _misplaced(hole: MeasuredHole, bore: float, rim: float, written: Written) -> Iterator[str]:
    across = UNMEASURED_HOLE if hole.diameter is None else written(hole.diameter)
    radius = written(hole.radius)
    if radius + across / 2.0 >= rim:
        reach = number(radius + across / 2.0, 3)
        yield f"{hole.name} was left out: it would reach {reach} mm from the centre, past the rim"
    elif radius - across / 2.0 <= bore:
        yield f"{hole.name} was left out: it would meet the bore"
