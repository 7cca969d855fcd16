"""Turn what was found in a photograph into a measurement in mm and words."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from jobprep.errors import InputError
from jobprep.measuring.colour import Lab
from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.edge_profile import sample
from jobprep.measuring.edge_rows import EdgeRows
from jobprep.measuring.find_centre import InnerCircle
from jobprep.measuring.find_disc import DiscOutline
from jobprep.measuring.found import CONCENTRIC, DiscSeen, Found
from jobprep.measuring.given import given_bore, with_given_holes
from jobprep.measuring.lengths import BEYOND_RIM, RimLengths, scaled_lengths, shape_variance
from jobprep.measuring.light import Lighting, light_warnings
from jobprep.measuring.marks import FoundHole, find_holes
from jobprep.measuring.measured import Floats, Measured
from jobprep.measuring.measurement import (
    ColourRing,
    Concentricity,
    MeasuredHole,
    Measurement,
    Separation,
)
from jobprep.measuring.photo_scale import PhotoScale
from jobprep.measuring.picture import Picture
from jobprep.measuring.sheet import FoundSheet
from jobprep.measuring.unwrap import RingLimits, faint_circle, hides_faint_circle
from jobprep.measuring.zones import describe_zone, ground_colour, zone_place
from jobprep.model import Film
from jobprep.model.taken import Corrections
from jobprep.units import TURN, from_degrees, number, to_dial

DOUBTED = from_degrees(1.0)
"""Standard uncertainty added to all directions when the rim itself is in doubt."""

LARGEST_BORE = 0.22
"""In disc radii; a larger circle is taken for the limit of a hub, its bore unseen."""

NO_INDEX = "no index hole was seen; if there is one, add it to the design by hand"
"""A warning for whoever measures an original."""

TWELVE = math.pi / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoMeasurement:
    """A measurement and what was found in the picture, for the overlay.

    ``edges`` are those of the measurement, ring by ring; ``left_out`` those that looked like one
    but do not count. ``sheet`` is the paper that gave scale or white. ``doubt`` is a sentence when
    the disc as a whole may be wrong.
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
    sheet: FoundSheet | None = None


def assemble(
    path: Path,
    seen: DiscSeen,
    corrections: Corrections,
    scale: PhotoScale,
    films: tuple[Film, ...],
) -> PhotoMeasurement:
    """Return what was found as a measurement.

    Raises ``InputError`` where no circle goes through the bore's points in the corrections.
    """
    picture, outline, doubt = seen.picture, seen.outline, seen.doubt
    found = _doubted(seen.found) if doubt else seen.found
    bore = _bore_given(path, found, corrections, picture.reduction) or _bore(found)
    plane, disc = found.plane, found.disc
    lengths = scaled_lengths(picture, plane, disc, outline, found, scale.diameter)
    found = replace(found, covariance=found.covariance + shape_variance(outline, found))
    ground = ground_colour(disc)
    rings, edges, masks = [], [], []
    for index, limits in enumerate(found.rings):
        ring, own, parts = _ring(
            found, index, limits, lengths, corrections, ground, scale.lighting, films
        )
        rings.append(ring)
        edges.append(own)
        masks += parts
    seen_holes = () if corrections.remove_holes else find_holes(picture, plane, disc, masks, ground)
    holes = with_given_holes(seen_holes, plane, corrections, picture.reduction)
    sure = [hole for hole in holes if not hole.doubt]
    measurement = Measurement(
        name=path.stem,
        outer_diameter=lengths.rim,
        bore_diameter=None
        if bore is None
        else lengths.across(bore.x, bore.y, Measured(bore.radius, bore.uncertainty)),
        concentricity=None if bore is None else _concentricity(plane, bore, lengths),
        rings=tuple(rings),
        holes=tuple(
            _hole(hole, index, found.covariance, lengths, corrections.zero)
            for index, hole in enumerate(sure)
        ),
        scale=None
        if scale.diameter is None
        else lengths.unit.times(picture.reduction / plane.pixels),
        warnings=(
            *_warnings(
                picture, outline, found, bore, holes, doubt, scale.diameter, rings, corrections
            ),
            *scale.remarks,
            *(light_warnings(scale.lighting) if films else ()),
        ),
    )
    return PhotoMeasurement(
        measurement=measurement,
        picture=picture,
        plane=plane,
        rings=found.rings,
        edges=tuple(edges),
        left_out=found.left_out,
        bore=bore,
        holes=holes,
        support=outline.support,
        doubt=doubt,
        sheet=scale.sheet,
    )


def _doubted(found: Found) -> Found:
    """Return what was found with the wider uncertainty of a disc whose rim is in doubt."""
    return replace(
        found,
        edges=tuple(replace(edge, rim_in_doubt=True) for edge in found.edges),
        covariance=found.covariance + DOUBTED**2 * np.eye(len(found.covariance)),
    )


def white_place(picture: Picture, corrections: Corrections) -> Floats | None:
    """Return the linear colour (3,) of the place that the corrections call white, else None."""
    if corrections.white is None:
        return None
    at = np.array(corrections.white) * picture.reduction
    square = np.stack(np.meshgrid(np.arange(-3, 4), np.arange(-3, 4)), axis=-1)
    seen = np.median(sample(picture.linear, at + square).reshape(-1, 3), axis=0)
    return np.asarray(seen / corrections.white_reflects)


def _bore_given(
    path: Path, found: Found, corrections: Corrections, reduction: float
) -> InnerCircle | None:
    """Return the bore that a person gives, else None; raises ``InputError`` if it is no circle."""
    if not corrections.bore:
        return None
    try:
        return given_bore(found.plane, corrections.bore, reduction)
    except ValueError as error:
        said = f"{error}; give three or more points all round the bore's edge"
        raise InputError.of(path, said, field="bore") from None


def _bore(found: Found) -> InnerCircle | None:
    """Return the innermost circle, which may be a faint one, or an eccentric bore, not glare."""
    first = found.circles[0] if found.circles else None
    high = 0.4 if first is None else first.radius - 0.02
    radius = faint_circle(found.disc, 0.03, high)
    if radius is not None:
        x, y = found.plane.shift
        return InnerCircle(x, -y, radius, 0.004, 0.0)
    if first is not None and first.radius < LARGEST_BORE:
        return first
    for circle in found.strays:
        inside = found.disc.radii < 0.6 * circle.radius
        if circle.radius < LARGEST_BORE and found.disc.spoilt[inside].mean() < 0.5:
            return circle
    return None


def _ring(
    found: Found,
    index: int,
    limits: RingLimits,
    lengths: RimLengths,
    corrections: Corrections,
    ground: Lab,
    lighting: Lighting,
    films: tuple[Film, ...],
) -> tuple[ColourRing, tuple[EdgeRows, ...], list[Floats]]:
    """Return a ring as measured, its edges clockwise from zero, and its zones' masks."""
    pixel = 1.0 / found.plane.pixels
    numbered = [(place, edge) for place, edge in enumerate(found.edges) if edge.ring == index]
    numbered.sort(key=lambda each: to_dial(each[1].direction + corrections.zero))
    own = tuple(edge for _, edge in numbered)
    edges = tuple(
        Separation(
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
        zone = describe_zone(found.disc, place, ground, lighting, films)
        places.append(place)
        zones.append(replace(zone, name=f"zone {order + 1}"))
    ring = ColourRing(
        inner_diameter=lengths.about_centre(limits.inner_measured),
        outer_diameter=lengths.about_centre(limits.outer_measured),
        edges=edges,
        zones=tuple(zones),
    )
    return ring, own, places


def _hole(
    hole: FoundHole, index: int, covariance: Floats, lengths: RimLengths, zero: float
) -> MeasuredHole:
    radius = math.hypot(hole.x, hole.y)
    off_centre = math.sqrt(max(covariance[0, 0], covariance[1, 1]))
    moved = math.hypot(lengths.shift, 0.5 * lengths.growth.value)
    error = math.hypot(hole.uncertainty, off_centre, moved)
    return MeasuredHole(
        name="index" if index == 0 else f"hole {index + 1}",
        diameter=lengths.across(hole.x, hole.y, Measured(hole.radius, hole.uncertainty)),
        radius=lengths.out(Measured(radius, error)),
        direction=Measured(
            math.remainder(math.atan2(hole.y, hole.x) + zero, TURN), error / max(radius, error)
        ),
        doubt=hole.doubt,
    )


def _concentricity(plane: DiscPlane, bore: InnerCircle, lengths: RimLengths) -> Concentricity:
    flat = DiscPlane(plane.ellipse)
    x, y = plane.from_picture(flat.to_picture(np.array([bore.x, bore.y]) / (1.0 - bore.radius**2)))
    return Concentricity(
        offset=lengths.out(Measured(math.hypot(x, y), math.hypot(bore.uncertainty, CONCENTRIC))),
        direction=math.atan2(y, x),
    )


def _warnings(
    picture: Picture,
    outline: DiscOutline,
    found: Found,
    bore: InnerCircle | None,
    holes: tuple[FoundHole, ...],
    doubt: str,
    diameter: Measured | None,
    rings: list[ColourRing],
    corrections: Corrections,
) -> tuple[str, ...]:
    said = [*picture.warnings]
    if doubt:
        said.append(doubt)
    if diameter is None:
        said.append("no diameter was given: lengths are pixels of the picture as worked on")
    if outline.given and not outline.support:
        said.append(
            "the rim is that of the points given, which lie within "
            f"{number(outline.spread, 1)} pixels of an ellipse; the picture shows no edge along it"
        )
    if bore is None:
        said.append("no bore was seen")
    if not found.edges:
        said.append(
            "no separation was seen; add_edges in a correction file takes in those that you see"
        )
    for circle in found.strays:
        said.append(
            f"a circle {100 * circle.radius:.1f} % as large as the rim lies off the centre of the "
            "separations and was left out: an eccentric bore, or glare"
        )
    beyond = None if outline.given else faint_circle(found.disc, *BEYOND_RIM)
    if beyond is not None:
        said.append(
            f"a faint circle lies {100 * (beyond - 1):.1f} % outside what was taken for the rim: "
            "if that is the rim of a clear film, give points on it in a correction file (rim), "
            "for all lengths hang on it"
        )
    elif not outline.given and hides_faint_circle(found.disc, *BEYOND_RIM):
        said.append(
            "the ground is so uneven that the rim of a clear film beyond the colours would not be "
            "seen: look at the overlay, and if there is one, give points on it in a correction "
            "file (rim), for all lengths hang on it"
        )
    for hole in holes:
        if hole.doubt:
            dial = number(to_dial(math.atan2(hole.y, hole.x) + corrections.zero), 1)
            said.append(f"a round mark at {dial}° was left out: {hole.doubt}")
    if all(hole.doubt for hole in holes) and not corrections.remove_holes:
        said.append(NO_INDEX)
    for edge in found.left_out:
        dial = number(to_dial(edge.direction + corrections.zero), 1)
        picture_dial = number(to_dial(edge.direction), 1)
        said.append(
            f"near {dial}° something like an edge was left out: "
            f"{edge.doubt or 'it does not run through the centre'}; "
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
