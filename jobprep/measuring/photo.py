"""A photograph to a measurement."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from jobprep.errors import CannotDoError, InputError
from jobprep.measuring.assemble import (
    CONCENTRIC,
    TWELVE,
    PhotoMeasurement,
    assemble,
    white_place,
)
from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.find_centre import LARGEST_SHIFT, InnerCircle, find_centre
from jobprep.measuring.find_disc import DiscOutline, find_disc, given_rim
from jobprep.measuring.found import Found
from jobprep.measuring.glare import glare_mask
from jobprep.measuring.lengths import rim_error
from jobprep.measuring.measured import Floats
from jobprep.measuring.photo_scale import UNKNOWN_SETTING, PhotoSetting, photo_scale, sheet_in
from jobprep.measuring.picture import WORKING_PIXELS, Picture, read_picture
from jobprep.measuring.separations import (
    EdgeRows,
    find_separations,
    given_separation,
    ground_of,
    place_separation,
    refine_centre,
    unexplained_shift,
)
from jobprep.measuring.shade import GROWTH
from jobprep.measuring.sheet import disc_centre
from jobprep.measuring.soften import SOFTENINGS, softened
from jobprep.measuring.unwrap import find_rings, unwrap
from jobprep.model import Film
from jobprep.model.taken import NO_CORRECTIONS, Corrections
from jobprep.units import TURN, from_degrees

__all__ = ["PhotoMeasurement", "measure_photo"]

SETTLED = 2e-4
"""Step of the centre, in disc radii, at which the search for it ends."""

MOST_ROUNDS = 4

MOST_MISS = 0.012
"""Disc radii by which a separation may miss the centre, once that is found."""

STRAY = 4.0
"""Standard uncertainties off the separations' centre at which a circle no longer counts."""

GRAINY = 0.3
"""Pixels by which the rows of an edge scatter in a picture that may gain by being softened."""

SHEET_OFF = 0.002
"""Standard uncertainty, in disc radii, of the centre that a sheet of paper shows, beside that of
its corners: neither lies quite flat (common practice, no source)."""

NEAR = from_degrees(4.0)
"""How far from a found edge a correction may point and still mean it."""


def measure_photo(
    path: Path,
    diameter: float | None = None,
    corrections: Corrections = NO_CORRECTIONS,
    films: tuple[Film, ...] = (),
    setting: PhotoSetting = UNKNOWN_SETTING,
    tell: Callable[[float], None] | None = None,
) -> PhotoMeasurement:
    """Measure the disc in a photograph.

    ``diameter`` (mm) of the rim wins over that of the corrections, and both over the ``setting``,
    which says how the picture was taken; without any, lengths are working pixels. ``films`` are
    proposed for the zones; ``tell`` is called with the softness of each reading as it begins.

    Raises
    ------
    CannotDoError
        The photo extra is missing, or no disc or sheet of paper is found.
    InputError
        The picture cannot be read.
    """
    picture = read_picture(path, WORKING_PIXELS)
    known = replace(setting, diameter=diameter or corrections.diameter or setting.diameter)
    white = white_place(picture, corrections)
    sheet = None if setting.sheet is None else sheet_in(picture, setting.sheet)
    outline: DiscOutline | None = None
    best: PhotoMeasurement | None = None
    for deviation in SOFTENINGS:
        if tell is not None:
            tell(deviation)
        soft = softened(picture, deviation)
        if best is None or best.doubt:
            outline = _outline(soft, path, corrections) or outline
        if outline is None:
            continue
        plane, circles = find_centre(soft, DiscPlane(outline.ellipse))
        glare = glare_mask(picture, plane)
        centre = None if sheet is None else disc_centre(sheet, outline.ellipse)
        found = _settle(soft, plane, glare, circles, corrections, centre)
        scale = photo_scale(picture, outline.ellipse, rim_error(outline), known, white, sheet)
        read = assemble(path, soft, outline, found, corrections, scale, films)
        if best is not None and _worth(read) <= _worth(best):
            break
        best = read
        if _leaves_nothing_open(best):
            break
    if best is None:
        raise CannotDoError(
            f"{path}: no disc was found. Take the picture more squarely, on a plain ground that "
            "differs from the rim, or give five or more points on the rim in a correction file "
            "(rim = [[x, y], ...])"
        )
    return replace(best, picture=picture)


def _worth(read: PhotoMeasurement) -> tuple[bool, int, int]:
    """Return what makes a reading better than another of the same picture, weightiest first."""
    edges = [edge for ring in read.edges for edge in ring]
    sure = sum(not edge.doubt for edge in edges)
    return not read.doubt, 2 * sure - len(edges) - len(read.left_out), sure


def _leaves_nothing_open(read: PhotoMeasurement) -> bool:
    """Say whether a softer picture could not show more: its rim and edges hardly scatter."""
    errors = [edge.error * read.plane.pixels for ring in read.edges for edge in ring]
    return not read.doubt and (not errors or float(np.median(errors)) < GRAINY)


def _outline(picture: Picture, path: Path, corrections: Corrections) -> DiscOutline | None:
    if not corrections.rim:
        return find_disc(picture)
    try:
        return given_rim(picture, np.array(corrections.rim) * picture.reduction)
    except ValueError as error:
        said = f"{error}; give five or more points all round the rim"
        raise InputError.of(path, said, field="rim") from None


def _settle(
    picture: Picture,
    plane: DiscPlane,
    glare: Floats,
    circles: tuple[InnerCircle, ...],
    corrections: Corrections,
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
    for _ in range(MOST_ROUNDS):
        disc = unwrap(picture, plane, glare)
        rings = find_rings(picture, plane, disc, bore)
        found = [
            edge
            for index, ring in enumerate(rings)
            for edge in find_separations(picture, plane, glare, disc, ring, index)
        ]
        edges = [edge for edge in found if edge.is_sure and edge.miss <= allowed]
        chosen = {id(edge) for edge in edges}
        left_out = [edge for edge in found if id(edge) not in chosen]
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
    kept = tuple(circle for circle, good in zip(circles, agree, strict=False) if good)
    strays = tuple(circle for circle, good in zip(circles, agree, strict=False) if not good)
    result = Found(plane, disc, rings, edges, left_out, covariance, kept, strays, growth, shift)
    _correct_edges(result, picture, glare, corrections)
    return result


def _agreeing(
    edges: tuple[EdgeRows, ...], places: list[tuple[float, float, float]], growth: float
) -> list[bool]:
    """Say which circles lie about the centre that the separations alone ask for."""
    if len(edges) < 3:
        return [True] * len(places)
    (x, y), _, covariance, _ = refine_centre(edges, (), growth)
    error = math.sqrt(max(covariance[0, 0], covariance[1, 1]))
    return [math.hypot(px - x, py - y) <= STRAY * math.hypot(error, u) for px, py, u in places]


def _correct_edges(found: Found, picture: Picture, glare: Floats, corrections: Corrections) -> None:
    """Take the edges out and in that the corrections name."""
    size = 2 + len(found.edges)
    kept = list(range(len(found.edges)))
    for dial in corrections.remove_edges:
        direction = TWELVE - dial
        near = [
            index
            for index in kept
            if abs(math.remainder(found.edges[index].direction - direction, TURN)) < NEAR
        ]
        kept = [index for index in kept if index not in near]
    order = [0, 1, *(2 + index for index in kept)]
    covariance = found.covariance[:size, :size][np.ix_(order, order)]
    edges = [found.edges[index] for index in kept]
    for dial in corrections.add_edges:
        direction = TWELVE - dial
        widest = max(
            range(len(found.rings)),
            key=lambda index: found.rings[index].outer - found.rings[index].inner,
        )
        ring = found.rings[widest]
        placed = place_separation(
            picture,
            found.plane,
            glare,
            ground_of(found.disc, found.plane),
            ring,
            widest,
            direction,
            from_degrees(6.0),
        )
        if placed is None or abs(math.remainder(placed.direction - direction, TURN)) > NEAR:
            placed = given_separation(widest, direction)
        edges.append(placed)
        grown = np.zeros((len(covariance) + 1, len(covariance) + 1))
        grown[:-1, :-1] = covariance
        grown[-1, -1] = (placed.bias + placed.error / math.sqrt(max(len(placed.radii), 1))) ** 2
        covariance = grown
        found.left_out = [
            edge
            for edge in found.left_out
            if abs(math.remainder(edge.direction - direction, TURN)) > NEAR
        ]
    found.edges, found.covariance = edges, covariance
