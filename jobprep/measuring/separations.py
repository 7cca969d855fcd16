"""Find the separations of a ring, and place them to a fraction of a pixel.

A separation is a step in colour that all radii show in one direction. Steps are looked for with the
median over the radii, which a speck, a hair, a glare spot or a grain of the table does not move;
then the edge is placed at each radius by itself, and enough radii must agree on one line through
the centre. Where only some agree the edge is kept and called doubtful; with fewer it is dropped.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.edge_placing import place_separation
from jobprep.measuring.edge_rows import EdgeRows
from jobprep.measuring.ground import Ground, ground_of
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture
from jobprep.measuring.step_search import CLOSEST, median_steps, peaks
from jobprep.measuring.unwrap import RingLimits, Unwrapped
from jobprep.units import TURN


def find_separations(
    picture: Picture,
    plane: DiscPlane,
    glare: Floats,
    disc: Unwrapped,
    ring: RingLimits,
    number: int,
) -> tuple[EdgeRows, ...]:
    """Return a ring's separations, anticlockwise."""
    margin = max(0.012, 4.0 / plane.pixels)
    rows = (disc.radii > ring.inner + margin) & (disc.radii < ring.outer - margin)
    if rows.sum() < 4:
        return ()
    steps, directions, reach = median_steps(disc, rows, ring, plane)
    ground = ground_of(disc, plane)
    rough = peaks(steps, directions, max(CLOSEST, 1.1 * reach))
    found = [
        placed
        for index, direction in enumerate(rough)
        if (
            placed := place_separation(
                picture, plane, glare, ground, ring, number, direction, _room(rough, index)
            )
        )
    ]
    return tuple(_distinct(found))


def separations_again(
    picture: Picture,
    plane: DiscPlane,
    glare: Floats,
    ground: Ground,
    ring: RingLimits,
    before: Sequence[EdgeRows],
) -> tuple[EdgeRows, ...]:
    """Return a ring's separations placed again, about a centre close by."""
    rough = sorted(edge.direction % TURN for edge in before)
    found = [
        placed
        for index, direction in enumerate(rough)
        if (
            placed := place_separation(
                picture, plane, glare, ground, ring, before[0].ring, direction, _room(rough, index)
            )
        )
    ]
    return tuple(_distinct(found))


def _room(rough: list[float], index: int) -> float:
    if len(rough) < 2:
        return TURN / 2.0
    here = rough[index]
    before, after = rough[index - 1], rough[(index + 1) % len(rough)]
    return min((here - before) % TURN, (after - here) % TURN)


def _distinct(found: list[EdgeRows]) -> list[EdgeRows]:
    """Drop edges that settled on the same place as a better seen one."""
    chosen: list[EdgeRows] = []
    for edge in sorted(found, key=lambda each: -each.share * min(each.step, 20.0)):
        if all(
            abs(math.remainder(edge.direction - other.direction, TURN)) > CLOSEST / 2.0
            for other in chosen
        ):
            chosen.append(edge)
    return sorted(chosen, key=lambda each: each.direction % TURN)
