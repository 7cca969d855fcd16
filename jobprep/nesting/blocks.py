"""Blocks of joined parts as single items of a nest, and their splitting into parts again.

A block's outline goes round everything within half the gap of its members, less half the gap: so a
nest that keeps the gap between blocks keeps it between their members.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from jobprep.geometry.outline import Contour, Region, polygon
from jobprep.nesting.joining import Block, Member
from jobprep.nesting.nest import Item, Nest, Placement
from jobprep.nesting.shapes import Polygon, area, part_polygon, rotated

TOUCHING = 1e-4
"""By how much parts are grown beyond half the gap, mm, so that the members of a block make one."""


def block_item(items: Sequence[Item], block: Block, gap: float, quantity: int) -> Item | None:
    """Return a block as one item; None where its members do not make one outline.

    A block of one part is that part's item.
    """
    first = items[block.members[0].item]
    if len(block.members) == 1:
        return replace(first, quantity=quantity)
    region = _outline(items, block.members, gap)
    if region is None:
        return None
    return Item(region=region, quantity=quantity, rotation_step=first.rotation_step)


def _outline(items: Sequence[Item], members: Sequence[Member], gap: float) -> Region | None:
    growth = 0.5 * gap + TOUCHING
    grown = []
    for member in members:
        outer, *holes = _laid(part_polygon(items[member.item].region, growth), member)
        grown.append(shapely.Polygon(outer, holes))
    whole = shapely.buffer(shapely.union_all(grown), -growth, join_style="mitre")
    if whole.geom_type != "Polygon" or whole.is_empty:
        return None
    least = min(area(part_polygon(items[member.item].region, growth)) for member in members)
    holes = [ring for ring in whole.interiors if shapely.Polygon(ring).area >= least]
    return Region(
        _contour(whole.exterior, is_anticlockwise=True),
        tuple(_contour(ring, is_anticlockwise=False) for ring in holes),
    )


def _laid(part: Polygon, member: Member) -> Polygon:
    return [ring + np.array([member.x, member.y]) for ring in rotated(part, member.angle)]


def _contour(ring: shapely.LinearRing, *, is_anticlockwise: bool) -> Contour:
    points = np.asarray(ring.coords)[:-1]
    if ring.is_ccw != is_anticlockwise:
        points = points[::-1]
    return polygon((float(x), float(y)) for x, y in points)


def split(blocks: Sequence[Block], n_items: int, nest: Nest) -> Nest:
    """Return a nest of blocks as a nest of their members."""
    copies = [0] * n_items
    placements = []
    for place in nest.placements:
        cos, sin = math.cos(place.angle), math.sin(place.angle)
        for member in blocks[place.item].members:
            placements.append(
                Placement(
                    item=member.item,
                    copy=copies[member.item],
                    sheet=place.sheet,
                    angle=place.angle + member.angle,
                    x=place.x + cos * member.x - sin * member.y,
                    y=place.y + sin * member.x + cos * member.y,
                )
            )
            copies[member.item] += 1
    unplaced = [0] * n_items
    for block, n in zip(blocks, nest.unplaced, strict=True):
        for member in block.members:
            unplaced[member.item] += n
    return replace(nest, placements=tuple(placements), unplaced=tuple(unplaced))
