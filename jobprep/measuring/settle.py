"""Find rings and separations, and move the disc's centre until both agree."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.edge_rows import EdgeRows
from jobprep.measuring.find_centre import LARGEST_SHIFT, InnerCircle
from jobprep.measuring.found import CONCENTRIC, Found
from jobprep.measuring.ground import ground_of
from jobprep.measuring.measured import Floats
from jobprep.measuring.picture import Picture
from jobprep.measuring.refine_centre import refine_centre, unexplained_shift
from jobprep.measuring.separations import find_separations, separations_again
from jobprep.measuring.shade import GROWTH
from jobprep.measuring.unwrap import RingLimits, Unwrapped, find_rings, rings_again, unwrap

SETTLED = 2e-4
"""Step of the centre, in disc radii, at which the search for it ends."""

MOST_ROUNDS = 4

MOST_MISS = 0.012
"""Disc radii by which a separation may miss the centre, once that is found."""

FAR = 0.7
"""Working pixels that the centre may move before the disc is searched again; after a smaller step
what was found is only placed again, since colours and rings do not change."""

STRAY = 4.0
"""Standard uncertainties off the separations' centre at which a circle no longer counts."""

SHEET_OFF = 0.002
"""Standard uncertainty, in disc radii, of the centre that a sheet of paper shows, besides that of
its corners: neither paper nor disc lies quite flat (common practice, no source)."""


class _Searched(NamedTuple):
    """The disc unwrapped about a centre, its rings, and what looks like a separation."""

    plane: DiscPlane
    disc: Unwrapped
    rings: tuple[RingLimits, ...]
    edges: tuple[EdgeRows, ...]


def settle(
    picture: Picture,
    plane: DiscPlane,
    glare: Floats,
    circles: tuple[InnerCircle, ...],
    centre: tuple[Floats, float] | None,
) -> Found:
    """Find rings and separations and move the centre until both agree.

    ``centre`` is where a sheet of paper shows it, and its uncertainty, in working pixels.
    """
    flat = DiscPlane(plane.ellipse)
    centres = [
        flat.to_picture(np.array([circle.x, circle.y]) / (1.0 - circle.radius**2))
        for circle in circles
    ]
    within = [math.hypot(circle.uncertainty, CONCENTRIC) for circle in circles]
    if centre is not None:
        centres.append(centre[0])
        within.append(math.hypot(centre[1] / plane.pixels, SHEET_OFF))
        plane = plane.moved(plane.from_picture(centre[0]))
    bore = circles[0].radius if circles else 0.03
    allowed = LARGEST_SHIFT
    spread = GROWTH / plane.pixels
    searched = _search(picture, plane, glare, bore)
    for number in range(MOST_ROUNDS):
        if number > 0 and _is_far(searched.plane, plane):
            searched = _search(picture, plane, glare, bore)
        elif number > 0:
            searched = _placed_again(picture, plane, glare, searched)
        edges = [edge for edge in searched.edges if edge.is_sure and edge.miss <= allowed]
        chosen = {id(edge) for edge in edges}
        left_out = [edge for edge in searched.edges if id(edge) not in chosen]
        places = [
            (float(x), float(y), u)
            for (x, y), u in zip(map(plane.from_picture, centres), within, strict=True)
        ]
        shift = unexplained_shift(tuple(edges), spread)
        places = [(x, y, math.hypot(u, shift)) for x, y, u in places]
        edges = [replace(edge, bias=math.hypot(edge.bias, shift)) for edge in edges]
        agree = _agreeing(tuple(edges), places, spread)
        step, turns, covariance, growth = refine_centre(
            tuple(edges),
            tuple(place for place, good in zip(places, agree, strict=True) if good),
            spread,
        )
        allowed = MOST_MISS
        settled = math.hypot(*step) < SETTLED and all(edge.miss <= allowed for edge in edges)
        edges = [
            replace(edge, direction=edge.direction + float(turn))
            for edge, turn in zip(edges, turns, strict=True)
        ]
        if settled:
            break
        plane = plane.moved(step)
    return Found(
        plane=plane,
        disc=searched.disc,
        rings=searched.rings,
        edges=tuple(edges),
        left_out=tuple(left_out),
        covariance=covariance,
        circles=tuple(circle for circle, good in zip(circles, agree, strict=False) if good),
        strays=tuple(circle for circle, good in zip(circles, agree, strict=False) if not good),
        growth=growth,
        shift=shift,
    )


def _is_far(first: DiscPlane, second: DiscPlane) -> bool:
    """Return whether the centre moved so far that the disc must be searched again."""
    places = [np.asarray(plane.to_picture((0.0, 0.0))) for plane in (first, second)]
    return math.dist(*places) > FAR


def _search(picture: Picture, plane: DiscPlane, glare: Floats, bore: float) -> _Searched:
    """Unwrap the disc about a centre, and find its rings and what looks like a separation."""
    disc = unwrap(picture, plane, glare)
    rings = find_rings(picture, plane, disc, bore)
    found = tuple(
        edge
        for index, ring in enumerate(rings)
        for edge in find_separations(picture, plane, glare, disc, ring, index)
    )
    return _Searched(plane, disc, rings, found)


def _placed_again(
    picture: Picture, plane: DiscPlane, glare: Floats, before: _Searched
) -> _Searched:
    """Place the separations found before about a centre close by, and the rings' limits."""
    rings = rings_again(picture, plane, before.rings)
    ground = ground_of(before.disc, plane)
    found = tuple(
        edge
        for index, ring in enumerate(rings)
        for edge in separations_again(
            picture, plane, glare, ground, ring, [e for e in before.edges if e.ring == index]
        )
    )
    return before._replace(rings=rings, edges=found)


def _agreeing(
    edges: tuple[EdgeRows, ...], places: list[tuple[float, float, float]], growth: float
) -> list[bool]:
    """Return which circles lie about the centre that the separations alone give."""
    if len(edges) < 3:
        return [True] * len(places)
    (x, y), _, covariance, _ = refine_centre(edges, (), growth)
    error = math.sqrt(max(covariance[0, 0], covariance[1, 1]))
    return [math.hypot(px - x, py - y) <= STRAY * math.hypot(error, u) for px, py, u in places]
