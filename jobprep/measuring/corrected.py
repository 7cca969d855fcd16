"""Take separations out and in that a person names."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from jobprep.measuring.edge_placing import place_separation
from jobprep.measuring.edge_rows import EdgeRows, given_separation
from jobprep.measuring.found import DiscSeen
from jobprep.measuring.ground import ground_of
from jobprep.model.taken import Corrections
from jobprep.units import TURN, from_degrees

TWELVE = math.pi / 2.0

NEAR = from_degrees(4.0)
"""How far from a found edge a correction may point and still mean it."""

ROOM = from_degrees(6.0)
"""What is taken to be free of other separations either side of an added one."""


def corrected(seen: DiscSeen, corrections: Corrections) -> DiscSeen:
    """Return the disc with the separations that the corrections name taken out and in."""
    found = seen.found
    kept = [
        index
        for index, edge in enumerate(found.edges)
        if not any(_is_near(edge, TWELVE - dial) for dial in corrections.remove_edges)
    ]
    order = [0, 1, *(2 + index for index in kept)]
    covariance = found.covariance[np.ix_(order, order)]
    edges, left_out = [found.edges[index] for index in kept], found.left_out
    for dial in corrections.add_edges:
        direction = TWELVE - dial
        placed = _added(seen, direction)
        edges.append(placed)
        grown = np.zeros((len(covariance) + 1, len(covariance) + 1))
        grown[:-1, :-1] = covariance
        grown[-1, -1] = (placed.bias + placed.error / math.sqrt(max(len(placed.radii), 1))) ** 2
        covariance = grown
        left_out = tuple(edge for edge in left_out if not _is_near(edge, direction))
    own = replace(found, edges=tuple(edges), left_out=left_out, covariance=covariance)
    return replace(seen, found=own)


def _is_near(edge: EdgeRows, direction: float) -> bool:
    return abs(math.remainder(edge.direction - direction, TURN)) <= NEAR


def _added(seen: DiscSeen, direction: float) -> EdgeRows:
    """Return a separation in the widest ring: as the picture shows it, else as given."""
    found = seen.found
    widths = [ring.outer - ring.inner for ring in found.rings]
    widest = widths.index(max(widths))
    placed = place_separation(
        seen.picture,
        found.plane,
        seen.glare,
        ground_of(found.disc, found.plane),
        found.rings[widest],
        widest,
        direction,
        ROOM,
    )
    if placed is None or not _is_near(placed, direction):
        return given_separation(widest, direction)
    return placed
