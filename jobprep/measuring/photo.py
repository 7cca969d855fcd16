"""A photograph to a measurement."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from jobprep.errors import CannotDoError, InputError, Place, Problem
from jobprep.measuring.colour import Lab
from jobprep.measuring.corrections import NO_CORRECTIONS, Corrections
from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.edge_profile import sample
from jobprep.measuring.ellipse_fit import direct_ellipse
from jobprep.measuring.find_centre import InnerCircle, find_centre
from jobprep.measuring.find_disc import DiscOutline, find_disc, refine_rim
from jobprep.measuring.glare import glare_mask
from jobprep.measuring.marks import FoundHole, find_holes
from jobprep.measuring.measured import Floats, Measured
from jobprep.measuring.measurement import (
    ColourRing,
    Concentricity,
    Edge,
    MeasuredHole,
    Measurement,
)
from jobprep.measuring.picture import WORKING_PIXELS, Picture, read_picture
from jobprep.measuring.separations import (
    EdgeRows,
    find_separations,
    given_separation,
    place_separation,
    refine_centre,
)
from jobprep.measuring.unwrap import RingLimits, Unwrapped, faint_circle, find_rings, unwrap
from jobprep.measuring.zones import describe_zone, ground_colour, zone_place
from jobprep.model import Film
from jobprep.units import TURN, from_degrees, number, to_dial

CONCENTRIC = 0.002
"""Standard uncertainty, in disc radii, with which bore and rings are taken to be concentric.

0.12 mm on a 120 mm disc; `common practice, no source`.
"""

DOUBTED = from_degrees(1.0)
"""Standard uncertainty added to all directions when the rim itself is in doubt."""

LARGEST_BORE = 0.22
"""In disc radii; a larger circle is taken for the limit of a hub, its bore unseen."""

SETTLED = 2e-4
"""Step of the centre, in disc radii, at which the search for it ends."""

POOR_SUPPORT = 0.6
POOR_SPREAD = 0.0035
"""Share of the rim seen and its scatter (disc radii) at which the whole result is doubted."""

NEAR = from_degrees(4.0)
"""How far from a found edge a correction may point and still mean it."""

TWELVE = math.pi / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoMeasurement:
    """A measurement and what was found in the picture, for the overlay.

    ``edges`` are those of the measurement, ring by ring; ``left_out`` those that looked like one
    but were not taken in. ``doubt`` is a sentence when the disc as a whole may be wrong.
    """

    measurement: Measurement
    picture: Picture
    plane: DiscPlane
    rings: tuple[RingLimits, ...]
    edges: tuple[tuple[EdgeRows, ...], ...]
    left_out: tuple[EdgeRows, ...]
    bore: InnerCircle | None
    holes: tuple[FoundHole, ...]
    support: float
    doubt: str


@dataclass(slots=True)
class _Found:
    """What the search has settled on; ``covariance`` that of centre and edge directions."""

    plane: DiscPlane
    disc: Unwrapped
    rings: tuple[RingLimits, ...]
    edges: list[EdgeRows]
    left_out: list[EdgeRows]
    covariance: Floats


def measure_photo(
    path: Path,
    diameter: float | None = None,
    corrections: Corrections = NO_CORRECTIONS,
    films: tuple[Film, ...] = (),
) -> PhotoMeasurement:
    """Measure the disc in a photograph.

    ``diameter`` (mm) of the rim wins over that of the corrections; without either, lengths are
    working pixels. ``films`` are proposed for the zones.

    Raises
    ------
    CannotDoError
        The photo extra is missing, or no disc is found.
    InputError
        The picture cannot be read.
    """
    picture = read_picture(path, WORKING_PIXELS)
    outline = _outline(picture, path, corrections)
    plane, circles = find_centre(picture, DiscPlane(outline.ellipse))
    glare = glare_mask(picture, plane)
    found = _settle(picture, plane, glare, circles, corrections)
    bore = _bore(found.disc, circles)
    scale = diameter or corrections.diameter
    return _assembled(path, picture, outline, found, bore, corrections, scale, films, circles)


def _outline(picture: Picture, path: Path, corrections: Corrections) -> DiscOutline:
    if corrections.rim:
        points = np.array(corrections.rim) * picture.reduction
        try:
            outline = refine_rim(picture, direct_ellipse(points))
        except ValueError as error:
            raise InputError([Problem(Place(str(path), None, "rim"), str(error))]) from None
    else:
        outline = find_disc(picture)
    if outline is None:
        raise CannotDoError(
            f"{path}: no disc was found. Take the picture more squarely, on a plain ground that "
            "differs from the rim, or give five or more points on the rim in a correction file "
            "(rim = [[x, y], ...])"
        )
    return outline


def _settle(
    picture: Picture,
    plane: DiscPlane,
    glare: Floats,
    circles: tuple[InnerCircle, ...],
    corrections: Corrections,
) -> _Found:
    """Find rings and separations and move the centre until both agree."""
    flat = DiscPlane(plane.ellipse)
    centres = [
        (
            flat.to_picture(np.array([circle.x, circle.y]) / (1.0 - circle.radius**2)),
            math.hypot(circle.uncertainty, CONCENTRIC),
        )
        for circle in circles
    ]
    bore = circles[0].radius if circles else 0.03
    for _ in range(3):
        disc = unwrap(picture, plane, glare)
        rings = find_rings(picture, plane, disc, bore)
        found = [
            edge
            for index, ring in enumerate(rings)
            for edge in find_separations(picture, plane, glare, disc, ring, index)
        ]
        edges = [edge for edge in found if edge.is_sure]
        left_out = [edge for edge in found if not edge.is_sure]
        places = tuple(
            (float(x), float(y), u)
            for (x, y), u in ((plane.from_picture(at), u) for at, u in centres)
        )
        step, turns, covariance = refine_centre(tuple(edges), places)
        edges = [
            replace(edge, direction=edge.direction + float(turn))
            for edge, turn in zip(edges, turns, strict=True)
        ]
        if math.hypot(*step) < SETTLED:
            break
        plane = plane.moved(step)
    result = _Found(plane, disc, rings, edges, left_out, covariance)
    _correct_edges(result, picture, glare, corrections)
    return result


def _correct_edges(
    found: _Found, picture: Picture, glare: Floats, corrections: Corrections
) -> None:
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
            picture, found.plane, glare, ring, widest, direction, from_degrees(6.0)
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


def _assembled(
    path: Path,
    picture: Picture,
    outline: DiscOutline,
    found: _Found,
    bore: InnerCircle | None,
    corrections: Corrections,
    diameter: float | None,
    films: tuple[Film, ...],
    circles: tuple[InnerCircle, ...],
) -> PhotoMeasurement:
    plane, disc = found.plane, found.disc
    pixel = 1.0 / plane.pixels
    doubt = _doubt(outline, circles)
    if doubt:
        found.edges = [replace(edge, rim_in_doubt=True) for edge in found.edges]
        found.covariance = found.covariance + DOUBTED**2 * np.eye(len(found.covariance))
    rim_error = max(outline.spread / math.sqrt(60.0), 0.12) * pixel
    unit = Measured(plane.pixels, plane.pixels * rim_error)
    if diameter is not None:
        unit = Measured(diameter / 2.0, diameter / 2.0 * rim_error)
    ground = ground_colour(disc)
    white = None
    if corrections.white is not None:
        at = np.array(corrections.white) * picture.reduction
        square = np.stack(np.meshgrid(np.arange(-3, 4), np.arange(-3, 4)), axis=-1)
        white = np.median(sample(picture.linear, at + square).reshape(-1, 3), axis=0)
    rings, edges, masks = [], [], []
    for index, limits in enumerate(found.rings):
        ring, own, parts = _ring(found, index, limits, unit, corrections, ground, white, films)
        rings.append(ring)
        edges.append(own)
        masks += parts
    holes = () if corrections.remove_holes else find_holes(picture, plane, disc, masks, ground)
    sure = [hole for hole in holes if not hole.doubt]
    measurement = Measurement(
        name=path.stem,
        outer_diameter=Measured(2.0 * unit.value, 0.0 if diameter else 2.0 * unit.uncertainty),
        bore_diameter=None
        if bore is None
        else Measured(bore.radius, max(bore.uncertainty, 0.15 * pixel)).times(2.0).scaled(unit),
        concentricity=None if bore is None else _concentricity(plane, bore, unit),
        rings=tuple(rings),
        holes=tuple(
            _hole(hole, index, found.covariance, unit, corrections.zero)
            for index, hole in enumerate(sure)
        ),
        scale=None if diameter is None else unit.times(pixel * picture.reduction),
        warnings=_warnings(picture, found, bore, holes, doubt, diameter, rings, corrections),
    )
    return PhotoMeasurement(
        measurement=measurement,
        picture=picture,
        plane=plane,
        rings=found.rings,
        edges=tuple(edges),
        left_out=tuple(found.left_out),
        bore=bore,
        holes=holes,
        support=outline.support,
        doubt=doubt,
    )


def _bore(disc: Unwrapped, circles: tuple[InnerCircle, ...]) -> InnerCircle | None:
    """Return the innermost circle, which may be a faint one inside what was seen first."""
    first = circles[0] if circles else None
    high = 0.4 if first is None else first.radius - 0.02
    radius = faint_circle(disc, 0.03, high)
    if radius is not None:
        shift = (0.0, 0.0) if first is None else (first.x, first.y)
        return InnerCircle(*shift, radius, 0.004, 0.0)
    return first if first is not None and first.radius < LARGEST_BORE else None


def _ring(
    found: _Found,
    index: int,
    limits: RingLimits,
    unit: Measured,
    corrections: Corrections,
    ground: Lab,
    white: Floats | None,
    films: tuple[Film, ...],
) -> tuple[ColourRing, tuple[EdgeRows, ...], list[Floats]]:
    """Return a ring as measured, its edges clockwise from zero, and its zones' masks."""
    pixel = 1.0 / found.plane.pixels
    numbered = [(place, edge) for place, edge in enumerate(found.edges) if edge.ring == index]
    numbered.sort(key=lambda each: to_dial(each[1].direction + corrections.zero))
    own = tuple(edge for _, edge in numbered)
    edges = tuple(
        Edge(
            name=f"edge {order + 1}",
            direction=Measured(
                math.remainder(edge.direction + corrections.zero, TURN),
                math.sqrt(found.covariance[2 + place, 2 + place]),
            ),
            doubt=edge.doubt,
        )
        for order, (place, edge) in enumerate(numbered)
    )
    places, zones = [], []
    for order in range(max(len(own), 1)):
        start, width = TWELVE, TURN
        if len(own) > 1:
            start = own[order].direction
            width = (start - own[(order + 1) % len(own)].direction) % TURN
        elif own:
            start = own[0].direction
        place = zone_place(found.disc, limits.inner, limits.outer, start, width, pixel)
        zone = describe_zone(found.disc, place, ground, white, films)
        places.append(place)
        zones.append(replace(zone, name=f"zone {order + 1}"))
    ring = ColourRing(
        inner_diameter=_across(limits.inner_measured, unit),
        outer_diameter=_across(limits.outer_measured, unit),
        edges=edges,
        zones=tuple(zones),
    )
    return ring, own, places


def _across(radius: Measured | None, unit: Measured) -> Measured | None:
    return None if radius is None else radius.times(2.0).scaled(unit)


def _hole(
    hole: FoundHole, index: int, covariance: Floats, unit: Measured, zero: float
) -> MeasuredHole:
    radius = math.hypot(hole.x, hole.y)
    off_centre = math.sqrt(max(covariance[0, 0], covariance[1, 1]))
    error = math.hypot(hole.uncertainty, off_centre)
    return MeasuredHole(
        name="index" if index == 0 else f"hole {index + 1}",
        diameter=Measured(2.0 * hole.radius, 2.0 * hole.uncertainty).scaled(unit),
        radius=Measured(radius, error).scaled(unit),
        direction=Measured(
            math.remainder(math.atan2(hole.y, hole.x) + zero, TURN), error / max(radius, error)
        ),
        doubt=hole.doubt,
    )


def _concentricity(plane: DiscPlane, bore: InnerCircle, unit: Measured) -> Concentricity:
    flat = DiscPlane(plane.ellipse)
    x, y = plane.from_picture(flat.to_picture(np.array([bore.x, bore.y]) / (1.0 - bore.radius**2)))
    return Concentricity(
        offset=Measured(math.hypot(x, y), math.hypot(bore.uncertainty, CONCENTRIC)).scaled(unit),
        direction=math.atan2(y, x),
    )


def _doubt(outline: DiscOutline, circles: tuple[InnerCircle, ...]) -> str:
    size = outline.ellipse.semi_axes[0]
    if outline.support < POOR_SUPPORT or outline.spread > max(POOR_SPREAD * size, 0.8):
        return (
            f"the rim was seen in only {100 * outline.support:.0f} % of the directions, scattered "
            f"by {outline.spread:.1f} pixels: what follows may be wrong by more than it says; "
            "look at the overlay, or give points on the rim"
        )
    long, short = outline.ellipse.semi_axes
    if not circles and short / long < 0.99:
        return (
            "the disc is tilted and no bore or ring was seen, so the perspective hangs on the "
            "separations alone: look at the overlay"
        )
    return ""


def _warnings(
    picture: Picture,
    found: _Found,
    bore: InnerCircle | None,
    holes: tuple[FoundHole, ...],
    doubt: str,
    diameter: float | None,
    rings: list[ColourRing],
    corrections: Corrections,
) -> tuple[str, ...]:
    said = [*picture.warnings]
    if doubt:
        said.append(doubt)
    if diameter is None:
        said.append("no diameter was given: lengths are pixels of the picture as worked on")
    if bore is None:
        said.append("no bore was seen")
    for hole in holes:
        if hole.doubt:
            dial = number(to_dial(math.atan2(hole.y, hole.x) + corrections.zero), 1)
            said.append(f"a round mark at {dial}° was left out: {hole.doubt}")
    if all(hole.doubt for hole in holes) and not corrections.remove_holes:
        said.append("no index hole was seen; if there is one, add it to the design by hand")
    for edge in found.left_out:
        dial = number(to_dial(edge.direction + corrections.zero), 1)
        picture_dial = number(to_dial(edge.direction), 1)
        said.append(
            f"near {dial}° something like an edge was left out: {edge.doubt}; "
            f"add_edges = [{picture_dial}] in a correction file takes it in"
        )
    for ring in rings:
        for border, zone in zip(ring.edges, ring.zones, strict=False):
            dial = number(to_dial(border.direction.value), 1)
            if border.doubt:
                said.append(f"the edge at {dial}° is doubtful: {border.doubt}")
            if zone.doubt and zone.kind != "clear":
                said.append(f"the zone from {dial}° on is {zone.doubt}")
        if len(ring.edges) == 1:
            said.append("a ring shows a single edge; a second one was not seen")
    return tuple(said)
