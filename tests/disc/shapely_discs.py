"""Discs as shapely polygons with fine chords: an independent way to the same outlines."""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from jobprep.geometry.outline import Arc, Contour, Path, Region
from jobprep.model import NO_FILM, Design, Layer, Opening, RoundBore

CHORDS = 4096
"""Chords per turn; an area is then short by 2 pi²/3 / CHORDS², 4e-7 of itself."""


def polygon_of(region: Region) -> Polygon:
    """Return our region as a polygon whose arcs are fine chords."""
    return Polygon(ring_of(region.outer), [ring_of(hole) for hole in region.holes])


def ring_of(contour: Contour) -> list[tuple[float, float]]:
    return points_of(contour.segments)[:-1]


def line_of(path: Path) -> LineString:
    return LineString(points_of(path))


def points_of(path: Path) -> list[tuple[float, float]]:
    points: list[tuple[float, float]] = []
    for segment in path:
        if isinstance(segment, Arc):
            n = max(2, math.ceil(abs(segment.sweep) / math.tau * CHORDS))
            points += [segment.at(segment.start_angle + segment.sweep * i / n) for i in range(n)]
        else:
            points.append(segment.start)
    return [*points, path[-1].end]


def layer_polygons(design: Design, layer: Layer) -> list[tuple[str, BaseGeometry]]:
    """Return each film of a layer with its polygon, straight from the design's numbers.

    Written against the meaning of a design, not against our geometry; round bores only. The
    circumscribed-area chords keep areas exact: radii are scaled so that a full circle's area is.
    """
    outer = layer.outer_diameter / 2.0
    bore = design.bore.diameter / 2.0 if isinstance(design.bore, RoundBore) else 0.0
    inner = max(bore, (layer.inner_diameter or 0.0) / 2.0)
    blank = disc(0.0, 0.0, outer)
    if inner > 0.0:
        blank = blank.difference(disc(0.0, 0.0, inner))
    for hole in design.holes:
        if hole.layers is None or layer.name in hole.layers:
            x = hole.radius * math.cos(hole.direction)
            y = hole.radius * math.sin(hole.direction)
            blank = blank.difference(disc(x, y, hole.diameter / 2.0))
    for opening in layer.openings:
        blank = blank.difference(_openings(opening, 2.0 * outer))
    if not layer.sectors:
        return [(layer.film, blank)]
    found: list[tuple[str, BaseGeometry]] = []
    start = layer.start
    count = len(layer.sectors)
    for i, sector in enumerate(layer.sectors):
        if sector.film != NO_FILM:
            piece = blank.intersection(_wedge(start - sector.angle, sector.angle, 2.0 * outer))
            sides = (
                (start, layer.sectors[i - 1].film),
                (start - sector.angle, layer.sectors[(i + 1) % count].film),
            )
            for direction, neighbour in sides:
                if neighbour != NO_FILM and layer.joint_gap > 0.0:
                    piece = piece.difference(_strip(direction, layer.joint_gap, 2.0 * outer))
            found.append((sector.film, piece))
        start -= sector.angle
    return found


def design_polygons(design: Design) -> list[tuple[str, BaseGeometry]]:
    """Return each film of a design with its polygon, the patches of its dots too."""
    found = [each for layer in design.layers for each in layer_polygons(design, layer)]
    for dot in design.dots:
        x = dot.radius * math.cos(dot.direction)
        y = dot.radius * math.sin(dot.direction)
        found += [(dot.film, disc(x, y, dot.diameter / 2.0))] * dot.count
    return found


def disc(x: float, y: float, radius: float) -> Polygon:
    angles = np.arange(CHORDS) * (math.tau / CHORDS)
    step = math.tau / CHORDS
    equal_area = radius * math.sqrt(step / math.sin(step))
    return Polygon(
        np.column_stack((x + equal_area * np.cos(angles), y + equal_area * np.sin(angles)))
    )


def raster_moments(
    pieces: list[tuple[float, BaseGeometry]], reach: float, cells: int
) -> tuple[float, float, float, float]:
    """Return mass, first moments and polar inertia of (areal mass, polygon) by counting cells."""
    side = 2.0 * reach / cells
    middles = -reach + side * (np.arange(cells) + 0.5)
    x, y = (grid.ravel() for grid in np.meshgrid(middles, middles))
    density = np.zeros_like(x)
    for areal_mass, polygon in pieces:
        shapely.prepare(polygon)
        density += areal_mass * shapely.contains_xy(polygon, x, y)
    density *= side * side
    return (
        float(density.sum()),
        float((density * x).sum()),
        float((density * y).sum()),
        float((density * (x * x + y * y)).sum()),
    )


def polygon_moments(polygon: BaseGeometry) -> tuple[float, float, float, float]:
    """Return area, first moments and polar second moment of a polygon by Green's theorem."""
    total = np.zeros(4)
    # Sides that coincide may leave a line beside the polygons, which has no moments.
    for part in (each for each in shapely.get_parts(polygon) if isinstance(each, Polygon)):
        for ring, sign in [(part.exterior, 1.0), *((hole, -1.0) for hole in part.interiors)]:
            x, y = np.asarray(ring.coords).T
            x0, y0, x1, y1 = x[:-1], y[:-1], x[1:], y[1:]
            cross = x0 * y1 - x1 * y0
            moments = np.array(
                [
                    cross.sum() / 2.0,
                    (cross * (x0 + x1)).sum() / 6.0,
                    (cross * (y0 + y1)).sum() / 6.0,
                    (cross * (x0 * x0 + x0 * x1 + x1 * x1 + y0 * y0 + y0 * y1 + y1 * y1)).sum()
                    / 12.0,
                ]
            )
            total += sign * math.copysign(1.0, moments[0]) * moments
    return tuple(float(value) for value in total)  # type: ignore[return-value]


def _wedge(start: float, sweep: float, reach: float) -> Polygon:
    n = max(2, math.ceil(sweep / 0.05))
    rim = [
        (reach * math.cos(start + sweep * i / n), reach * math.sin(start + sweep * i / n))
        for i in range(n + 1)
    ]
    return Polygon([(0.0, 0.0), *rim])


def _strip(direction: float, width: float, reach: float) -> BaseGeometry:
    end = (reach * math.cos(direction), reach * math.sin(direction))
    return LineString([(0.0, 0.0), end]).buffer(width / 2.0, cap_style="flat")


def _openings(opening: Opening, reach: float) -> BaseGeometry:
    outer = reach if opening.outer_diameter is None else opening.outer_diameter / 2.0
    ring = disc(0.0, 0.0, outer).difference(disc(0.0, 0.0, opening.inner_diameter / 2.0))
    wedges = [
        _wedge(
            opening.direction - opening.angle - i * math.tau / opening.count,
            opening.angle,
            2 * reach,
        )
        for i in range(opening.count)
    ]
    return shapely.union_all([ring.intersection(wedge) for wedge in wedges])
