"""Shapes as shapely polygons, from closed forms: every corner lies on the true outline.

Angles are those of a dial: degrees clockwise from 12 o'clock, y up; the origin is the middle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from second.cut_drawing import SAGITTA, Points
from shapely.affinity import rotate
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

Table = dict[str, Any]
FAR = 4.0
"""How much farther than a shape its wedges reach, so that their ends do not matter."""


def on_dial(radius: float, degrees: float) -> tuple[float, float]:
    """Return the point at a radius and a dial angle."""
    return radius * math.sin(math.radians(degrees)), radius * math.cos(math.radians(degrees))


def disc(radius: float, centre: tuple[float, float] = (0.0, 0.0)) -> Polygon:
    """Return a disc."""
    count = max(16, math.ceil(math.tau / _chord(radius)))
    angles = math.tau * np.arange(count) / count
    return Polygon(np.column_stack((np.cos(angles), np.sin(angles))) * radius + centre)


def ring(outer: float, inner: float) -> Polygon:
    """Return a ring between two radii; a disc where the inner one is 0."""
    return disc(outer).difference(disc(inner)) if inner else disc(outer)


def wedge(degrees: float, width: float, reach: float) -> BaseGeometry:
    """Return everything from one dial angle clockwise over a width, as far as ``reach``."""
    if width >= 360.0:
        return disc(reach)
    steps = max(2, math.ceil(width / 20.0))
    rim = [on_dial(FAR * reach, degrees + width * step / steps) for step in range(steps + 1)]
    return Polygon([(0.0, 0.0), *rim])


def strip(degrees: float, half: float, reach: float) -> Polygon:
    """Return what lies within ``half`` mm of the ray from the middle at a dial angle."""
    return rotate(shapely.box(-half, 0.0, half, FAR * reach), -degrees, origin=(0.0, 0.0))


def between(
    degrees: float, width: float, reach: float, shifts: tuple[float, float]
) -> BaseGeometry:
    """Return a wedge whose sides lie on lines, each shifted into it (negative: out of it), mm."""
    far = FAR * reach
    first = shapely.box(shifts[0], -far, far, far)
    last = shapely.box(-far, -far, -shifts[1], far)
    sides = [
        rotate(first, -degrees, origin=(0.0, 0.0)),
        rotate(last, -degrees - width, origin=(0.0, 0.0)),
    ]
    return sides[0].intersection(sides[1]) if width <= 180.0 else sides[0].union(sides[1])


def sector(outer: float, inner: float, degrees: float, width: float) -> BaseGeometry:
    """Return the piece of a ring from one dial angle clockwise over a width."""
    return ring(outer, inner).intersection(wedge(degrees, width, outer))


def rectangle(width: float, height: float, corner: float = 0.0) -> BaseGeometry:
    """Return a rectangle from the origin on, its corners round."""
    if not corner:
        return shapely.box(0.0, 0.0, width, height)
    upright = shapely.box(corner, 0.0, width - corner, height)
    level = shapely.box(0.0, corner, width, height - corner)
    rounds = [
        disc(corner, (x, y)) for x in (corner, width - corner) for y in (corner, height - corner)
    ]
    return shapely.union_all([upright, level, *rounds])


def bore(table: Table) -> BaseGeometry:
    """Return a central hole: round, square, with a flat, or with a key."""
    angle = table.get("angle", 0.0)
    if "square" in table:
        half = table["square"] / 2.0
        return rotate(shapely.box(-half, -half, half, half), -angle, origin=(0.0, 0.0))
    radius = table["diameter"] / 2.0
    round_hole = disc(radius)
    if "flat" in table:  # across, from the flat to the arc that faces it
        kept = shapely.box(-2 * radius, -2 * radius, 2 * radius, table["flat"] - radius)
        return round_hole.intersection(rotate(kept, -angle, origin=(0.0, 0.0)))
    if "key_width" in table:
        half = table["key_width"] / 2.0
        key = shapely.box(-half, 0.0, half, radius + table["key_depth"])
        return round_hole.union(rotate(key, -angle, origin=(0.0, 0.0)))
    return round_hole


def holes(tables: Sequence[Table], layer: str) -> list[BaseGeometry]:
    """Return the round holes that go through a layer."""
    return [
        disc(hole["diameter"] / 2.0, on_dial(hole["radius"], hole.get("angle", 0.0)))
        for hole in tables
        if layer in hole.get("layers", [layer])
    ]


def hub_slots(tables: Sequence[Table], layer: str) -> list[BaseGeometry]:
    """Return the slots bent along a circle, with round ends that count in their length."""
    found: list[BaseGeometry] = []
    for slot in tables:
        if layer not in slot.get("layers", [layer]):
            continue
        middle, half = slot["circle_diameter"] / 2.0, slot["width"] / 2.0
        width = math.degrees((slot["length"] - slot["width"]) / middle)
        for number in range(slot["count"]):
            angle = slot.get("angle", 0.0) + 360.0 * number / slot["count"]
            ends = [disc(half, on_dial(middle, angle + side * width / 2.0)) for side in (-1, 1)]
            bent = sector(middle + half, middle - half, angle - width / 2.0, width)
            found.append(shapely.union_all([bent, *ends]) if width > 0.0 else ends[0])
    return found


def openings(tables: Sequence[Table], rim: float) -> list[BaseGeometry]:
    """Return the openings of a layer; one without an outer diameter runs out over the rim."""
    found = []
    for table in tables:
        corner = table.get("corner_radius", 0.0)
        outer = table["outer_diameter"] / 2.0 if "outer_diameter" in table else FAR * rim
        inner, width = table["inner_diameter"] / 2.0, table["degrees"]
        size = (outer, inner, width, corner)
        first = _rounded_sector(*size) if corner else sector(outer, inner, 0.0, width)
        for number in range(table.get("count", 1)):
            angle = table.get("angle", 0.0) + 360.0 * number / table.get("count", 1)
            found.append(rotate(first, -angle, origin=(0.0, 0.0)))
    return found


def _rounded_sector(outer: float, inner: float, width: float, corner: float) -> Polygon:
    """Return a sector from 12 o'clock on with round corners, clockwise along its outline.

    The middle of each round lies one radius from the side and from the arc.
    """
    far, near = outer - corner, inner + corner
    far_aside, near_aside = (math.degrees(math.asin(corner / reach)) for reach in (far, near))
    arcs = (
        ((0.0, 0.0), outer, far_aside, width - far_aside),
        (on_dial(far, width - far_aside), corner, width - far_aside, width + 90.0),
        (on_dial(near, width - near_aside), corner, width + 90.0, width - near_aside + 180.0),
        ((0.0, 0.0), inner, width - near_aside, near_aside),
        (on_dial(near, near_aside), corner, near_aside + 180.0, 270.0),
        (on_dial(far, far_aside), corner, -90.0, far_aside),
    )
    return Polygon(np.concatenate([_arc(*arc) for arc in arcs]))


def _arc(middle: tuple[float, float], radius: float, start: float, end: float) -> Points:
    """Return points along an arc from one dial angle to another."""
    sweep = math.radians(abs(end - start))
    angles = np.radians(np.linspace(start, end, 2 + math.ceil(sweep / _chord(radius))))
    return np.column_stack((np.sin(angles), np.cos(angles))) * radius + middle


def _chord(radius: float) -> float:
    """Return the angle of chords that lie near enough to their arc."""
    return math.sqrt(8.0 * SAGITTA / radius)
