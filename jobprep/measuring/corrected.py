"""Add and remove the separations that a person names, and doubt none that a person confirms."""

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
    """Return the disc with the separations that the corrections name added or removed."""
    found = seen.found
    kept = [
        index
        for index, edge in enumerate(found.edges)
        if not any(_is_near(edge, TWELVE - dial) for dial in corrections.remove_edges)
    ]
    order = [0, 1, *(2 + index for index in kept)]
    covariance = found.covariance[np.ix_(order, order)]
    edges = [_sure(found.edges[index], corrections) for index in kept]
    left_out = found.left_out
    given = [_added(seen, TWELVE - dial) for dial in corrections.add_edges]
    given += [_held(seen, TWELVE - dial) for dial in corrections.hold_edges]
    for placed in given:
        edges.append(_sure(placed, corrections))
        grown = np.zeros((len(covariance) + 1, len(covariance) + 1))
        grown[:-1, :-1] = covariance
        grown[-1, -1] = (placed.bias + placed.error / math.sqrt(max(len(placed.radii), 1))) ** 2
        covariance = grown
        left_out = tuple(edge for edge in left_out if not _is_near(edge, placed.direction))
    own = replace(found, edges=tuple(edges), left_out=left_out, covariance=covariance)
    return replace(seen, found=own)


def _sure(edge: EdgeRows, corrections: Corrections) -> EdgeRows:
    is_sure = any(_is_near(edge, TWELVE - dial) for dial in corrections.sure_edges)
    return replace(edge, is_confirmed=True) if is_sure else edge


def _is_near(edge: EdgeRows, direction: float) -> bool:
    return abs(math.remainder(edge.direction - direction, TURN)) <= NEAR


def _held(seen: DiscSeen, direction: float) -> EdgeRows:
    """Return a separation in the widest ring exactly as it is given."""
    return replace(given_separation(_widest(seen), direction), is_confirmed=True)


def _widest(seen: DiscSeen) -> int:
    widths = [ring.outer - ring.inner for ring in seen.found.rings]
    return widths.index(max(widths))


def _added(seen: DiscSeen, direction: float) -> EdgeRows:
    """Return a separation in the widest ring: as the picture shows it, else as given."""
    found = seen.found
    widest = _widest(seen)
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
