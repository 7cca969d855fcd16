"""What holds a part that hangs on tabs, and that no slot cuts into it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from second.asked import Kind, Tabs
from second.cut_drawing import need
from second.sweep import NEAR, SLOT, Swept
from shapely.geometry import LineString, Polygon
from shapely.geometry.base import BaseGeometry

NICK = 2e-3
"""How deep a slot may seem to reach into a part, mm."""
BRIDGE = 0.02
"""How far the width of a tab may be off, mm: its ends are round."""


@dataclass(frozen=True)
class Found:
    """One piece that was found: which kind it is, and its nominal shape where it lies."""

    kind: Kind
    shape: Polygon
    angle: float


def need_held(
    cut: Swept,
    found: Sequence[Found],
    kerf: float,
    tabs: Tabs,
    shares: bool,
    short: Sequence[str],
) -> None:
    """Check of parts on tabs that no slot cuts into them, and what holds each."""
    width = max(kerf, SLOT)
    standing = shapely.STRtree(cut.standing)
    for each in found:
        where = each.shape.centroid
        named = f"{each.kind.name} at ({where.x:.2f}, {where.y:.2f})"
        into = cut.slots.intersects(each.shape.buffer(-NICK - each.kind.slack))
        need(not into, f"a slot cuts into {named}")
        middle = each.shape.buffer(width / 2.0, quad_segs=64)
        rings = [middle.exterior, *middle.interiors]
        bridges = [_bridges(LineString(ring.coords), cut.slots, each.kind.slack) for ring in rings]
        is_short = any(name.startswith(each.kind.name) for name in short) or short == [""]
        need(is_short or len(bridges[0]) == tabs.count, f"{named} has {len(bridges[0])} tabs")
        for lengths in bridges:
            need(len(lengths) <= tabs.count, f"{named} has {len(lengths)} tabs")
            for length in lengths:
                close = abs(length - tabs.width) < BRIDGE + 2 * NEAR + 4 * each.kind.slack
                need(close, f"{named} has a tab of {length:.3f} mm")
        hangs = len(standing.query(_inside(each.shape), predicate="within")) > 0
        need(not hangs or any(bridges), f"{named} is not cut free, nor has it tabs")
        need(
            hangs or shares or not any(bridges) or _drops_with_others(each, cut, found),
            f"{named} falls with its tabs",
        )


def _drops_with_others(each: Found, cut: Swept, found: Sequence[Found]) -> bool:
    """Whether a part hangs by its tabs on another that has fallen, in whose hole it lies."""
    point = _inside(each.shape)
    around = [piece.shape for piece in cut.fallen if piece.shape.contains(point)]
    return bool(around) and sum(around[0].contains(_inside(other.shape)) for other in found) > 1


def _inside(shape: Polygon) -> shapely.Point:
    """Return a point well inside a shape: the middle of the largest circle in it."""
    return shapely.get_point(shapely.maximum_inscribed_circle(shape, tolerance=0.1), 0)


def _bridges(ring: LineString, slots: BaseGeometry, slack: float) -> list[float]:
    """Return how long the stretches are where no slot runs along the middle of a ring's own."""
    uncut = ring.difference(slots.buffer(NEAR + slack))
    lines = list(shapely.get_parts(shapely.line_merge(uncut)))
    lengths = [line.length for line in lines]
    if len(lines) > 1 and math.dist(lines[0].coords[0], lines[-1].coords[-1]) < 1e-9:
        lengths = [lengths[0] + lengths[-1], *lengths[1:-1]]  # the ring begins in a tab
    return [length for length in lengths if length > BRIDGE]
