"""What was found in a photograph as the page draws it: in pixels of the upright picture."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import numpy as np

from jobprep.measuring.colour import hex_from_lab
from jobprep.measuring.disc_plane import DiscPlane, polar
from jobprep.measuring.doubts import Doubt, width_of_zone
from jobprep.measuring.edge_rows import EdgeRows
from jobprep.measuring.measured import Floats, Measured
from jobprep.measuring.measurement import ColourZone, MeasuredHole, Separation
from jobprep.measuring.photo import PhotoMeasurement
from jobprep.measuring.unwrap import RingLimits
from jobprep.measuring.write_design import NO_MATCH
from jobprep.model.taken import Corrections
from jobprep.units import TURN, from_degrees, to_degrees, to_dial

ROUND = 90
"""Corners of a circle as it is drawn over a picture."""

EXPANDED = 2.0
"""Expanded over standard uncertainty, for about 95 % (JCGM 100:2008, 6.2): the bands drawn."""

NEAR = from_degrees(4.0)
"""How far from an edge a correction may point and still mean it, as the reading takes it."""


def photo_json(found: PhotoMeasurement, known: Corrections) -> dict[str, Any]:
    """Return a measured photograph as JSON values; lengths mm, angles degrees, places pixels."""
    return _View(found, known).json()


class _View:
    def __init__(self, found: PhotoMeasurement, known: Corrections) -> None:
        self._found, self._known = found, known
        self._scale = 1.0 / found.picture.reduction

    def json(self) -> dict[str, Any]:
        found, measurement = self._found, self._found.measurement
        return {
            "is_mm": measurement.scale is not None,
            "outer_diameter": _measured(measurement.outer_diameter),
            "bore_diameter": _measured(measurement.bore_diameter),
            "plane": self._plane(),
            "rim": self._circle(0.0, 0.0, 1.0),
            "centre": self._place(np.zeros(2)),
            "radius": self._scale * found.plane.pixels,
            "bore": self._bore(),
            "rings": [self._circle(0.0, 0.0, limits.inner) for limits in found.rings],
            "edges": list(self._edges()),
            "left_out": [self._left_out(edge) for edge in found.left_out],
            "holes": list(self._holes()),
            "zones": list(self._zones()),
            "sheet": None if found.sheet is None else self._pixels(found.sheet.corners),
            "doubt": found.doubt,
            "doubts": [self._doubt(each) for each in found.doubts],
        }

    def _doubt(self, doubt: Doubt) -> dict[str, Any]:
        at = None if doubt.at is None else self._place(np.array(doubt.at))
        return {"about": doubt.about, "number": doubt.number, "words": doubt.words, "at": at}

    def _plane(self) -> list[float]:
        """Return the map from the disc, its rim the unit circle, y up, to pixels, row by row."""
        matrix = np.diag([self._scale, self._scale, 1.0]) @ self._found.plane.matrix
        return [float(each) for each in matrix.ravel()]

    def _pixels(self, working: Floats) -> list[list[float]]:
        return [[round(float(each) * self._scale, 2) for each in place] for place in working]

    def _path(self, places: Floats) -> list[list[float]]:
        return self._pixels(self._found.plane.to_picture(places))

    def _place(self, place: Floats) -> list[float]:
        return self._path(place[None, :])[0]

    def _circle(self, x: float, y: float, radius: float) -> list[list[float]]:
        around = polar(np.array([radius]), np.arange(ROUND) * TURN / ROUND)[0]
        return self._path(around + np.array([x, y]))

    def _bore(self) -> dict[str, Any] | None:
        bore = self._found.bore
        if bore is None:
            return None
        flat = DiscPlane(self._found.plane.ellipse)
        around = polar(np.array([bore.radius]), np.arange(ROUND) * TURN / ROUND)[0]
        places = flat.to_picture(around + np.array([bore.x, bore.y]))
        return {"points": self._pixels(places), "is_given": bool(self._known.bore)}

    def _ray(self, direction: float, limits: RingLimits) -> list[list[float]]:
        radii = np.array([limits.inner, limits.outer])
        return self._path(polar(radii, np.array([direction]))[:, 0])

    def _edges(self) -> Iterator[dict[str, Any]]:
        found = self._found
        for number, (limits, edges, ring) in enumerate(
            zip(found.rings, found.edges, found.measurement.rings, strict=True), 1
        ):
            for edge, measured in zip(edges, ring.edges, strict=True):
                yield self._edge(number, limits, edge, measured)

    def _edge(
        self, ring: int, limits: RingLimits, edge: EdgeRows, measured: Separation
    ) -> dict[str, Any]:
        off = EXPANDED * measured.direction.uncertainty
        return {
            "ring": ring,
            "dial": to_dial(edge.direction),
            "angle": to_dial(measured.direction.value),
            "off": to_degrees(off),
            "line": self._ray(edge.direction, limits),
            "band": [
                *self._ray(edge.direction - off, limits),
                *reversed(self._ray(edge.direction + off, limits)),
            ],
            "doubt": edge.doubt,
            "given": self._how_given(edge.direction),
        }

    def _how_given(self, direction: float) -> str:
        """Return the key of the corrections by which a person put an edge there, else nothing."""
        known = self._known
        for key in ("hold_edges", "add_edges", "sure_edges"):
            if any(_is_near(math.pi / 2.0 - dial, direction) for dial in getattr(known, key)):
                return key
        return ""

    def _left_out(self, edge: EdgeRows) -> dict[str, Any]:
        return {
            "dial": to_dial(edge.direction),
            "line": self._ray(edge.direction, self._found.rings[edge.ring]),
            "doubt": edge.doubt or "it does not run through the centre",
        }

    def _holes(self) -> Iterator[dict[str, Any]]:
        sure: Iterator[MeasuredHole] = iter(self._found.measurement.holes)
        for hole in self._found.holes:
            measured = None if hole.doubt else next(sure)
            at = self._place(np.array([hole.x, hole.y]))
            yield {
                "at": at,
                "points": self._circle(hole.x, hole.y, hole.radius),
                "width": 2.0 * hole.radius * self._found.plane.pixels * self._scale,
                "doubt": hole.doubt,
                "name": "" if measured is None else measured.name,
                "angle": None if measured is None else to_dial(measured.direction.value),
                "radius": None if measured is None else _measured(measured.radius),
                "diameter": None if measured is None else _measured(measured.diameter),
                "is_given": any(
                    math.dist(at, (each.x, each.y)) < 2.0 for each in self._known.add_holes
                ),
            }

    def _zones(self) -> Iterator[dict[str, Any]]:
        found = self._found
        for number, (limits, edges, ring) in enumerate(
            zip(found.rings, found.edges, found.measurement.rings, strict=True), 1
        ):
            for index, zone in enumerate(ring.zones):
                start = edges[index].direction if edges else math.pi / 2.0
                middle = start - width_of_zone(edges, index) / 2.0
                radius = np.array([0.5 * (limits.inner + limits.outer)])
                yield {
                    "ring": number,
                    "number": index + 1,
                    "at": self._path(polar(radius, np.array([middle]))[:, 0])[0],
                    **self._zone(zone),
                }

    def _zone(self, zone: ColourZone) -> dict[str, Any]:
        near = [each for each in zone.proposals if each.difference < NO_MATCH]
        return {
            "kind": zone.kind,
            "doubt": zone.doubt,
            "colour": None if zone.lab is None else hex_from_lab(zone.lab),
            "lab": None if zone.lab is None else [round(value, 2) for value in zone.lab],
            "lab_off": round(EXPANDED * zone.lab_off, 2),
            "films": [
                {
                    "names": list(each.films),
                    "colour": hex_from_lab(each.lab),
                    "difference": round(each.difference, 2),
                }
                for each in near
            ],
        }


def _is_near(one: float, other: float) -> bool:
    return abs(math.remainder(one - other, TURN)) <= NEAR


def _measured(value: Measured | None) -> list[float] | None:
    """Return a value with its expanded uncertainty."""
    return None if value is None else [value.value, EXPANDED * value.uncertainty]
