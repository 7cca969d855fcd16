"""Compiled measures of overlap of two parts, and of a part with a field.

Terminology
-----------
overlap    of two parts: how deep they lie in each other, mm; 0 when they do not overlap. Exact
           where their sum has a field or both are discs; else that of their hulls where they
           nearly fill them, provided points of both find any; else sampled at these points
"""

from __future__ import annotations

import math

from jobprep.nesting.columns import (
    ALONG_X,
    ALONG_Y,
    AT_X,
    AT_Y,
    CELLS_X,
    CELLS_Y,
    CENTRE_X,
    CENTRE_Y,
    CORNER_X,
    CORNER_Y,
    COS,
    END,
    FIRST,
    FIRST_CELL,
    FIRST_CORNER,
    LENGTH,
    ORIGIN_X,
    ORIGIN_Y,
    PER_MM,
    RADIUS,
    SHARE,
    SIN,
    SLACK,
    START_X,
    START_Y,
    TURN,
    X,
    Y,
)
from jobprep.nesting.kernels_hull import hull_overlap
from jobprep.nesting.kernels_inner import depth_from_edges, inlined, inner
from jobprep.nesting.kernels_spot import placed, pose_seen, seen_back, turned
from jobprep.nesting.layout import CONVEX, DENTED, DISCS, SAMPLED

SAMPLED_AS_DEPTH = 4.0
"""What a sum over sample points is worth as a depth. Where hollow and other parts meet, either must
matter as much: 1,000 mixed parts took 392 mm of the last sheet, 494 at 2, 401 at 8."""

ROUNDED_APART = 1e-12
"""Discs that overlap by less than this share of their radii only touch: rounding."""

CROSSED = 1e-9
"""Edges that cross by less than this share of their lengths only touch: rounding."""


@inlined()
def field_depth(fields, field, x, y):  # type: ignore[no-untyped-def]
    """Return how deep a point lies in a field; 0 outside."""
    frame = fields.frame
    inverse = frame[field, PER_MM]
    gx = (x - frame[field, ORIGIN_X]) * inverse
    gy = (y - frame[field, ORIGIN_Y]) * inverse
    size = fields.size
    n_y = size[field, CELLS_Y]
    if not (gx > 0.0 and gy > 0.0 and gx < size[field, CELLS_X] and gy < n_y):
        return 0.0
    ix = int(gx)
    iy = int(gy)
    cell = size[field, FIRST_CELL] + ix * n_y + iy
    first = fields.first[cell]
    last = fields.first[cell + 1]
    if first == last:
        corner = size[field, FIRST_CORNER] + ix * (n_y + 1) + iy
        corners = fields.depth
        near = corners[corner]
        if near <= 0.0:
            return 0.0
        gx -= ix
        gy -= iy
        low = near + gx * (corners[corner + n_y + 1] - near)
        high = corners[corner + 1] + gx * (corners[corner + n_y + 2] - corners[corner + 1])
        return low + gy * (high - low)
    slack = frame[field, SLACK]
    depth = depth_from_edges(fields.edges, fields.near, first, last, x, y, slack)
    return depth if depth > slack else 0.0


@inner()
def sampled(fields, shapes, field, kind, pose):  # type: ignore[no-untyped-def]
    """Return the depth of a part's sample points in a field, summed."""
    total = 0.0
    samples = shapes.samples
    for k in range(shapes.sample_first[kind], shapes.sample_first[kind + 1]):
        x, y = placed(pose, samples[k, AT_X], samples[k, AT_Y])
        d = field_depth(fields, field, x, y)
        if d > 0.0:
            total += d * samples[k, SHARE]
    return total


@inner()
def any_inside(fields, shapes, field, kind, pose):  # type: ignore[no-untyped-def]
    """Return whether any sample point of a part lies in a field."""
    samples = shapes.samples
    # The inner points come last and decide most often.
    for k in range(shapes.sample_first[kind + 1] - 1, shapes.sample_first[kind] - 1, -1):
        x, y = placed(pose, samples[k, AT_X], samples[k, AT_Y])
        if field_depth(fields, field, x, y) > 0.0:
            return True
    return False


@inlined()
def disc_overlap(reach, dx, dy):  # type: ignore[no-untyped-def]
    """Return the overlap of two discs; ``reach`` is the sum of their radii."""
    square = dx * dx + dy * dy
    inner = reach * (1.0 - ROUNDED_APART)
    return reach - math.sqrt(square) if square < inner * inner else 0.0


@inner()
def edges_cross(a, a_first, a_last, pose, b, b_first, b_last):  # type: ignore[no-untyped-def]
    """Return whether any edge of ``a``, as it lies, crosses an edge of ``b``.

    Edges that only touch do not count.
    """
    for i in range(a_first, a_last):
        ax, ay = placed(pose, a[i, START_X], a[i, START_Y])
        ux, uy = turned(pose, a[i, ALONG_X], a[i, ALONG_Y])
        length = a[i, LENGTH]
        for j in range(b_first, b_last):
            bx = b[j, START_X] - ax
            by = b[j, START_Y] - ay
            vx = b[j, ALONG_X]
            vy = b[j, ALONG_Y]
            reach = b[j, LENGTH]
            slack = CROSSED * (length + reach)
            left = ux * by - uy * bx
            far = left + reach * (ux * vy - uy * vx)
            if (left > slack) == (far > slack) or (left < -slack) == (far < -slack):
                continue
            near = vy * bx - vx * by
            end = near + length * (vx * uy - vy * ux)
            if (near > slack) != (end > slack) and (near < -slack) != (end < -slack):
                return True
    return False


@inner()
def outlines_cross(shapes, kind, spot, other_kind, other):  # type: ignore[no-untyped-def]
    """Return whether an edge of one part crosses an edge of another."""
    first = shapes.edge_first
    return edges_cross(
        shapes.edges,
        first[kind],
        first[kind + 1],
        pose_seen(spot, other),
        shapes.edges,
        first[other_kind],
        first[other_kind + 1],
    )


@inlined()
def field_of(shapes, kind, spot, other_kind, other):  # type: ignore[no-untyped-def]
    """Return the field of two parts' sum as they are turned; SAMPLED, or DISCS, where none is."""
    if spot[TURN] < 0.0 or other[TURN] < 0.0:
        return SAMPLED
    relative = int(spot[TURN] - other[TURN])
    if relative < 0:
        relative += len(shapes.turns)
    return shapes.pair[kind * len(shapes.own) + other_kind, relative]


@inner()
def may_hide(shapes, kind, spot, other_kind, other):  # type: ignore[no-untyped-def]
    """Return whether two parts may overlap though no sample point shows it."""
    if field_of(shapes, kind, spot, other_kind, other) != SAMPLED:
        return False
    depth, _ = hull_overlap(shapes.hulls, kind, other_kind, pose_seen(spot, other))
    return depth > 0.0


@inner()
def pair_overlap(fields, shapes, kind, spot, other_kind, other):  # type: ignore[no-untyped-def]
    """Return the overlap of two parts whose bounds overlap."""
    pose = pose_seen(spot, other)
    field = field_of(shapes, kind, spot, other_kind, other)
    if field == DISCS:
        reach = shapes.radius[kind] + shapes.radius[other_kind]
        return disc_overlap(reach, spot[X] - other[X], spot[Y] - other[Y])
    if field >= 0:
        return field_depth(fields, field, pose.x, pose.y)
    hollow = shapes.hollow
    depth, _ = hull_overlap(shapes.hulls, kind, other_kind, pose)
    if depth <= 0.0 or max(hollow[kind], hollow[other_kind]) == CONVEX:
        return depth
    return hollow_overlap(fields, shapes, kind, other_kind, pose, depth)


@inlined()
def is_corner_inside(fields, shapes, kind, other_kind, pose, corner):  # type: ignore[no-untyped-def]
    """Return whether two hulls' overlap surely is that of their parts.

    The corner that lies deepest in the other's hull mostly lies in the other, too.
    """
    corners = shapes.hulls.corners
    table = shapes.hulls.table
    hollow = max(shapes.hollow[kind], shapes.hollow[other_kind])
    if hollow != DENTED:
        return hollow == CONVEX
    px = corners[corner, CORNER_X]
    py = corners[corner, CORNER_Y]
    if table[kind, FIRST] <= corner < 2 * table[kind, END] - table[kind, FIRST]:
        own = shapes.own[other_kind]
        px, py = placed(pose, px, py)
    else:
        own = shapes.own[kind]
        dx = px - pose.x
        dy = py - pose.y
        px, py = pose.cos * dx + pose.sin * dy, pose.cos * dy - pose.sin * dx
    return field_depth(fields, own, px, py) > 0.0


@inlined()
def discs_overlap(disc, kind, spot, other_kind, other, least):  # type: ignore[no-untyped-def]
    """Return whether discs inside two parts, and so these, overlap by more than ``least``."""
    reach = disc[kind, RADIUS] + disc[other_kind, RADIUS] - least
    px = disc[kind, CENTRE_X]
    py = disc[kind, CENTRE_Y]
    qx = disc[other_kind, CENTRE_X]
    qy = disc[other_kind, CENTRE_Y]
    dx = spot[COS] * px - spot[SIN] * py + spot[X] - other[COS] * qx + other[SIN] * qy - other[X]
    dy = spot[SIN] * px + spot[COS] * py + spot[Y] - other[SIN] * qx - other[COS] * qy - other[Y]
    return reach > 0.0 and dx * dx + dy * dy < reach * reach


@inner()
def hollow_overlap(fields, shapes, kind, other_kind, pose, depth):  # type: ignore[no-untyped-def]
    """Return the overlap of two parts whose hulls overlap by a depth.

    The depth itself, when they nearly fill their hulls and any sample point lies in an overlap.
    """
    seen = seen_back(pose)
    own = shapes.own[other_kind]
    back = shapes.own[kind]
    hollow = shapes.hollow
    if max(hollow[kind], hollow[other_kind]) == DENTED:
        is_met = any_inside(fields, shapes, own, kind, pose) or any_inside(
            fields, shapes, back, other_kind, seen
        )
        return depth if is_met else 0.0
    total = sampled(fields, shapes, own, kind, pose)
    total += sampled(fields, shapes, back, other_kind, seen)
    return min(depth, SAMPLED_AS_DEPTH * total)
