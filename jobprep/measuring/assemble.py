"""Turn what was found in a photograph into a measurement in mm and words."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import NamedTuple

import numpy as np

from jobprep.errors import InputError
from jobprep.measuring.colour import Lab
from jobprep.measuring.disc_plane import DiscPlane
from jobprep.measuring.doubts import (
    Doubt,
    circle_doubts,
    edge_doubts,
    hole_doubts,
    rim_doubts,
    width_of_zone,
)
from jobprep.measuring.edge_profile import sample
from jobprep.measuring.edge_rows import EdgeRows
from jobprep.measuring.find_centre import InnerCircle
from jobprep.measuring.found import CONCENTRIC, DiscSeen, Found
from jobprep.measuring.given import given_bore, with_given_holes
from jobprep.measuring.lengths import RimLengths, scaled_lengths, shape_variance
from jobprep.measuring.light import light_warnings
from jobprep.measuring.marks import FoundHole, find_holes, odd_places
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
from jobprep.measuring.remembered import Remembered
from jobprep.measuring.second_rim import hides_second_rim, second_rim
from jobprep.measuring.sheet import FoundSheet
from jobprep.measuring.unwrap import (
    OctantRises,
    RingLimits,
    faint_circle,
    octant_rises,
)
from jobprep.measuring.zones import (
    ZonePlace,
    ZoneSeen,
    describe_zone,
    ground_colour,
    zone_mask,
    zone_seen,
)
from jobprep.model import Film
from jobprep.model.taken import Corrections
from jobprep.units import TURN, from_degrees, to_dial

DOUBTED = from_degrees(1.0)
"""Standard uncertainty added to all directions when the rim itself is in doubt."""

LARGEST_BORE = 0.22
"""In disc radii; a larger circle is taken for the limit of a hub, its bore unseen."""

TWELVE = math.pi / 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoMeasurement:
    """A measurement and what was found in the picture, for the overlay.

    ``edges`` are those of the measurement, ring by ring; ``left_out`` those that looked like one
    but do not count. ``sheet`` is the paper that gave scale or white. ``doubt`` is a sentence
    when the disc as a whole may be wrong; ``doubts`` is all that a person should look at,
    in the order of the measurement's warnings.
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
    doubts: tuple[Doubt, ...]
    sheet: FoundSheet | None = None


def assemble(
    path: Path,
    seen: DiscSeen,
    corrections: Corrections,
    scale: PhotoScale,
    films: tuple[Film, ...],
    kept: Remembered,
) -> PhotoMeasurement:
    """Return what was found as a measurement; ``kept`` is what was worked out of it before.

    Raises ``InputError`` where no circle goes through the bore's points in the corrections.
    """
    picture, outline, doubt = seen.picture, seen.outline, seen.doubt
    found = _doubted(seen.found) if doubt else seen.found
    plane, disc = found.plane, found.disc
    steps = kept.of("steps", partial(octant_rises, disc))
    bore = _bore_given(path, found, corrections, picture.reduction) or _bore(found, steps)
    beyond = None if outline.given else second_rim(seen.around)
    may_hide = not outline.given and hides_second_rim(seen.around)
    lengths = scaled_lengths(picture, plane, outline, found, scale.diameter, beyond)
    found = replace(found, covariance=found.covariance + shape_variance(outline, found))
    ground = kept.of("ground", partial(ground_colour, disc))
    rings, edges, odd = [], [], np.zeros(disc.spoilt.shape, dtype=bool)
    for index, limits in enumerate(found.rings):
        own = _clockwise(found, index, corrections.zero)
        views = _views(found, limits, own, kept)
        rings.append(_ring(found, limits, own, views, lengths, corrections, ground, scale, films))
        edges.append(tuple(edge for _, edge in own))
        for view in views:
            odd |= view.odd(odd.shape)
    seen_holes = (
        () if corrections.remove_holes else find_holes(picture, plane, disc, odd, ground, kept)
    )
    holes = with_given_holes(seen_holes, plane, corrections, picture.reduction)
    sure = [hole for hole in holes if not hole.doubt]
    in_light = light_warnings(scale.lighting) if films else ()
    doubts = (
        *(Doubt(words=each, about="picture") for each in picture.warnings),
        *rim_doubts(outline, found, doubt, scale.diameter, has_bore=bore is not None),
        *circle_doubts(found, beyond, may_hide=may_hide),
        *hole_doubts(holes, corrections),
        *edge_doubts(found, rings, edges, corrections),
        *(Doubt(words=each, about="scale") for each in scale.remarks),
        *(Doubt(words=each, about="light") for each in in_light),
    )
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
        warnings=tuple(each.words for each in doubts),
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
        doubts=doubts,
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


def _bore(found: Found, steps: OctantRises) -> InnerCircle | None:
    """Return the innermost circle, which may be a faint one, or an eccentric bore, not glare."""
    first = found.circles[0] if found.circles else None
    high = LARGEST_BORE if first is None else min(first.radius - 0.02, LARGEST_BORE)
    radius = faint_circle(steps, 0.03, high)
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


class _ZoneView(NamedTuple):
    """What is seen of a zone: its colour, and where it differs from that, eight pixels a byte."""

    seen: ZoneSeen | None
    packed: Floats

    def odd(self, shape: tuple[int, ...]) -> Floats:
        """Return where it differs, as a mask of a shape."""
        bits = np.unpackbits(self.packed, count=math.prod(shape))
        return np.asarray(bits.reshape(shape).astype(bool))


def _clockwise(found: Found, ring: int, zero: float) -> list[tuple[int, EdgeRows]]:
    """Return the edges of a ring clockwise from zero, each with its place among all."""
    numbered = [(place, edge) for place, edge in enumerate(found.edges) if edge.ring == ring]
    return sorted(numbered, key=lambda each: to_dial(each[1].direction + zero))


def _views(
    found: Found, limits: RingLimits, own: list[tuple[int, EdgeRows]], kept: Remembered
) -> list[_ZoneView]:
    """Return what is seen of a ring's zones, clockwise."""
    edges = tuple(edge for _, edge in own)
    views = []
    for order in range(max(len(edges), 1)):
        start, width = edges[order].direction if edges else TWELVE, width_of_zone(edges, order)
        zone = ZonePlace(limits.inner, limits.outer, start, width)
        views.append(kept.of(("zone", zone), partial(_view, found, zone)))
    return views


def _view(found: Found, zone: ZonePlace) -> _ZoneView:
    mask = zone_mask(found.disc, zone, 1.0 / found.plane.pixels)
    return _ZoneView(zone_seen(found.disc, mask), np.packbits(odd_places(found.disc, mask)))


def _ring(
    found: Found,
    limits: RingLimits,
    own: list[tuple[int, EdgeRows]],
    views: list[_ZoneView],
    lengths: RimLengths,
    corrections: Corrections,
    ground: Lab,
    scale: PhotoScale,
    films: tuple[Film, ...],
) -> ColourRing:
    """Return a ring as measured, its edges clockwise from zero."""
    edges = tuple(
        Separation(
            name=f"edge {order + 1}",
            direction=Measured(
                math.remainder(edge.direction + corrections.zero, TURN),
                math.sqrt(found.covariance[2 + place, 2 + place]),
            ),
            doubt=edge.doubt,
        )
        for order, (place, edge) in enumerate(own)
    )
    return ColourRing(
        inner_diameter=lengths.about_centre(limits.inner_measured),
        outer_diameter=lengths.about_centre(limits.outer_measured),
        edges=edges,
        zones=tuple(
            replace(
                describe_zone(view.seen, ground, scale.lighting, films), name=f"zone {order + 1}"
            )
            for order, view in enumerate(views)
        ),
    )


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
