"""Compiled measures of overlap: between parts, with the edge of a sheet, and all of a layout.

Terminology
-----------
overlap    of two parts: how deep they lie in each other, mm; 0 when they do not overlap. Exact
           where their sum has a field or both are discs; else that of their hulls where they
           nearly fill them, provided points of both tell of any; else sampled at these points
cost       weighted overlaps of one part at a spot
"""

from __future__ import annotations

import math

from jobprep.nesting.kernels_hull import CENTRE_X, CENTRE_Y, RADIUS, hull_overlap
from jobprep.nesting.kernels_inner import depth_from_edges, inlined, inner
from jobprep.nesting.kernels_lanes import NONE, ONE, lanes_at, lowest, word_at, words_of
from jobprep.nesting.kernels_spot import ANGLE, COS, HIGH, LEFT, LOW, RIGHT, SHEET, SIN, TURN, X, Y
from jobprep.nesting.layout import CONVEX, DENTED, DISCS, SAMPLED, WORD

HIDDEN = 1e-3
"""Overlap, as a share of a part's size, of parts that cross where no sample point tells."""

SAMPLED_AS_DEPTH = 4.0
"""What a sum over sample points is worth as a depth. Where hollow and other parts meet, either must
matter as much: 1,000 mixed parts took 392 mm of the last sheet, 494 at 2, 401 at 8."""


@inlined()
def field_depth(fields, field, x, y):  # type: ignore[no-untyped-def]
    """Return how deep a point lies in a field; 0 outside."""
    frame = fields.frame
    inverse = frame[field, 2]
    gx = (x - frame[field, 0]) * inverse
    gy = (y - frame[field, 1]) * inverse
    size = fields.size
    n_y = size[field, 1]
    if not (gx > 0.0 and gy > 0.0 and gx < size[field, 0] and gy < n_y):
        return 0.0
    ix = int(gx)
    iy = int(gy)
    cell = size[field, 2] + ix * n_y + iy
    first = fields.first[cell]
    last = fields.first[cell + 1]
    if first == last:
        corner = size[field, 3] + ix * (n_y + 1) + iy
        corners = fields.depth
        near = corners[corner]
        if near <= 0.0:
            return 0.0
        gx -= ix
        gy -= iy
        low = near + gx * (corners[corner + n_y + 1] - near)
        high = corners[corner + 1] + gx * (corners[corner + n_y + 2] - corners[corner + 1])
        return low + gy * (high - low)
    slack = frame[field, 3]
    depth = depth_from_edges(fields.edges, fields.near, first, last, x, y, slack)
    return depth if depth > slack else 0.0


@inner()
def _sampled(fields, shapes, field, kind, cos, sin, x, y):  # type: ignore[no-untyped-def]
    """Return the depth of a turned and shifted part's sample points in a field, summed."""
    total = 0.0
    samples = shapes.samples
    for k in range(shapes.sample_first[kind], shapes.sample_first[kind + 1]):
        px = samples[k, 0]
        py = samples[k, 1]
        d = field_depth(fields, field, cos * px - sin * py + x, sin * px + cos * py + y)
        if d > 0.0:
            total += d * samples[k, 2]
    return total


@inner()
def _any_inside(fields, shapes, field, kind, cos, sin, x, y):  # type: ignore[no-untyped-def]
    """Return whether any sample point of a turned and shifted part lies in a field."""
    samples = shapes.samples
    # The inner points come last and tell most.
    for k in range(shapes.sample_first[kind + 1] - 1, shapes.sample_first[kind] - 1, -1):
        px = samples[k, 0]
        py = samples[k, 1]
        if field_depth(fields, field, cos * px - sin * py + x, sin * px + cos * py + y) > 0.0:
            return True
    return False


@inlined()
def disc_overlap(reach, dx, dy):  # type: ignore[no-untyped-def]
    """Return the overlap of two discs; ``reach`` is the sum of their radii."""
    square = dx * dx + dy * dy
    inner = reach * (1.0 - 1e-12)
    return reach - math.sqrt(square) if square < inner * inner else 0.0


@inner()
def edges_cross(a, a_first, a_last, cos, sin, x, y, b, b_first, b_last):  # type: ignore[no-untyped-def]
    """Return whether any edge of ``a``, turned and shifted, crosses an edge of ``b``.

    Edges that only touch, or cross by less than 1e-9 of their length, do not count.
    """
    for i in range(a_first, a_last):
        ax = cos * a[i, 0] - sin * a[i, 1] + x
        ay = sin * a[i, 0] + cos * a[i, 1] + y
        ux = cos * a[i, 2] - sin * a[i, 3]
        uy = sin * a[i, 2] + cos * a[i, 3]
        length = a[i, 4]
        for j in range(b_first, b_last):
            bx = b[j, 0] - ax
            by = b[j, 1] - ay
            reach = b[j, 4]
            slack = 1e-9 * (length + reach)
            left = ux * by - uy * bx
            far = left + reach * (ux * b[j, 3] - uy * b[j, 2])
            if (left > slack) == (far > slack) or (left < -slack) == (far < -slack):
                continue
            near = b[j, 3] * bx - b[j, 2] * by
            end = near + length * (b[j, 2] * uy - b[j, 3] * ux)
            if (near > slack) != (end > slack) and (near < -slack) != (end < -slack):
                return True
    return False


@inner()
def outlines_cross(shapes, kind, spot, other_kind, other):  # type: ignore[no-untyped-def]
    """Return whether an edge of one part crosses an edge of another."""
    cos = spot[COS] * other[COS] + spot[SIN] * other[SIN]
    sin = spot[SIN] * other[COS] - spot[COS] * other[SIN]
    dx = spot[X] - other[X]
    dy = spot[Y] - other[Y]
    vx = other[COS] * dx + other[SIN] * dy
    vy = other[COS] * dy - other[SIN] * dx
    return edges_cross(
        shapes.edges,
        shapes.edge_first[kind],
        shapes.edge_first[kind + 1],
        cos,
        sin,
        vx,
        vy,
        shapes.edges,
        shapes.edge_first[other_kind],
        shapes.edge_first[other_kind + 1],
    )


@inner()
def is_exact(shapes, kind, spot, other_kind, other):  # type: ignore[no-untyped-def]
    """Return whether the overlap of two parts is exact, not sampled."""
    if spot[TURN] < 0.0 or other[TURN] < 0.0:
        return False
    relative = int(spot[TURN] - other[TURN])
    if relative < 0:
        relative += len(shapes.turns)
    return shapes.pair[kind * len(shapes.own) + other_kind, relative] != SAMPLED


@inner()
def may_hide(shapes, kind, spot, other_kind, other):  # type: ignore[no-untyped-def]
    """Return whether two parts may overlap though no sample point tells."""
    if is_exact(shapes, kind, spot, other_kind, other):
        return False
    dx = spot[X] - other[X]
    dy = spot[Y] - other[Y]
    depth, _ = hull_overlap(
        shapes.hull,
        shapes.table,
        shapes.disc,
        kind,
        other_kind,
        spot[ANGLE] - other[ANGLE],
        spot[COS] * other[COS] + spot[SIN] * other[SIN],
        spot[SIN] * other[COS] - spot[COS] * other[SIN],
        other[COS] * dx + other[SIN] * dy,
        other[COS] * dy - other[SIN] * dx,
    )
    return depth > 0.0


@inner()
def pair_overlap(fields, shapes, kind, spot, other_kind, other):  # type: ignore[no-untyped-def]
    """Return the overlap of two parts whose bounds overlap."""
    dx = spot[X] - other[X]
    dy = spot[Y] - other[Y]
    # Seen from the other part's own frame.
    vx = other[COS] * dx + other[SIN] * dy
    vy = other[COS] * dy - other[SIN] * dx
    if spot[TURN] >= 0.0 and other[TURN] >= 0.0:
        n_turns = len(shapes.turns)
        relative = int(spot[TURN] - other[TURN])
        if relative < 0:
            relative += n_turns
        field = shapes.pair[kind * len(shapes.own) + other_kind, relative]
        if field == DISCS:
            return disc_overlap(shapes.radius[kind] + shapes.radius[other_kind], dx, dy)
        if field >= 0:
            return field_depth(fields, field, vx, vy)
    cos = spot[COS] * other[COS] + spot[SIN] * other[SIN]
    sin = spot[SIN] * other[COS] - spot[COS] * other[SIN]
    turn = spot[ANGLE] - other[ANGLE]
    depth, _ = hull_overlap(
        shapes.hull, shapes.table, shapes.disc, kind, other_kind, turn, cos, sin, vx, vy
    )
    if depth <= 0.0 or max(shapes.hollow[kind], shapes.hollow[other_kind]) == CONVEX:
        return depth
    return hollow_overlap(fields, shapes, kind, other_kind, cos, sin, vx, vy, depth)


@inlined()
def is_corner_inside(fields, shapes, kind, other_kind, cos, sin, x, y, corner):  # type: ignore[no-untyped-def]
    """Return whether two hulls' overlap surely is that of their parts.

    The corner that lies deepest in the other's hull mostly lies in the other, too.
    """
    hollow = max(shapes.hollow[kind], shapes.hollow[other_kind])
    if hollow != DENTED:
        return hollow == CONVEX
    px = shapes.hull[corner, 0]
    py = shapes.hull[corner, 1]
    if shapes.table[kind, 0] <= corner < 2 * shapes.table[kind, 1] - shapes.table[kind, 0]:
        own = shapes.own[other_kind]
        px, py = cos * px - sin * py + x, sin * px + cos * py + y
    else:
        own = shapes.own[kind]
        px, py = cos * (px - x) + sin * (py - y), cos * (py - y) - sin * (px - x)
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
def hollow_overlap(fields, shapes, kind, other_kind, cos, sin, x, y, depth):  # type: ignore[no-untyped-def]
    """Return the overlap of two parts whose hulls overlap by a depth.

    The depth itself, when they nearly fill their hulls and any sample point tells of an overlap.
    """
    back_x = -cos * x - sin * y
    back_y = sin * x - cos * y
    own = shapes.own[other_kind]
    back = shapes.own[kind]
    if max(shapes.hollow[kind], shapes.hollow[other_kind]) == DENTED:
        is_met = _any_inside(fields, shapes, own, kind, cos, sin, x, y) or _any_inside(
            fields, shapes, back, other_kind, cos, -sin, back_x, back_y
        )
        return depth if is_met else 0.0
    total = _sampled(fields, shapes, own, kind, cos, sin, x, y)
    total += _sampled(fields, shapes, back, other_kind, cos, -sin, back_x, back_y)
    return min(depth, SAMPLED_AS_DEPTH * total)


@inlined()
def sheet_overlap(fields, shapes, layout, kind, spot):  # type: ignore[no-untyped-def]
    """Return how far a part reaches over the edge of its sheet."""
    sheet = int(spot[SHEET])
    bounds = layout.bounds
    over = max(0.0, spot[X] + spot[RIGHT] - bounds[sheet, 2] - 1e-9)
    over += max(0.0, spot[Y] + spot[HIGH] - bounds[sheet, 3] - 1e-9)
    field = layout.fields[sheet]
    if field >= 0:
        over += _sampled(fields, shapes, field, kind, spot[COS], spot[SIN], spot[X], spot[Y])
        # The other way round: a defect smaller than the part may lie between all its points.
        own = shapes.own[kind]
        edges = fields.edges
        for k in range(fields.edge_first[field], fields.edge_first[field + 1]):
            x = edges[k, 0] - spot[X]
            y = edges[k, 1] - spot[Y]
            if spot[LEFT] < x < spot[RIGHT] and spot[LOW] < y < spot[HIGH]:
                x, y = spot[COS] * x + spot[SIN] * y, spot[COS] * y - spot[SIN] * x
                over += 0.5 * field_depth(fields, own, x, y)
    return over


@inner()
def sheet_crossed(fields, shapes, kind, spot, field):  # type: ignore[no-untyped-def]
    """Return whether an edge of a part crosses the edge of its sheet."""
    first = fields.edge_first[field]
    last = fields.edge_first[field + 1]
    return edges_cross(
        shapes.edges,
        shapes.edge_first[kind],
        shapes.edge_first[kind + 1],
        spot[COS],
        spot[SIN],
        spot[X],
        spot[Y],
        fields.edges,
        first,
        last,
    )


@inlined()
def spot_cost(fields, shapes, layout, weights, part, spot, enough):  # type: ignore[no-untyped-def]
    """Return a part's cost at a spot, or any number above ``enough`` once it exceeds that."""
    kind = layout.kind[part]
    spots = layout.spots
    cost = weights.edge[part] * sheet_overlap(fields, shapes, layout, kind, spot)
    if cost > enough:
        return cost
    sheet = spot[SHEET]
    turn = int(spot[TURN])
    x0 = spot[X] + spot[LEFT]
    y0 = spot[Y] + spot[LOW]
    x1 = spot[X] + spot[RIGHT]
    y1 = spot[Y] + spot[HIGH]
    boxes = layout.boxes
    kinds = len(shapes.own)
    n_turns = len(shapes.turns)
    on_sheet = int(sheet)
    members = layout.members
    hull = shapes.hull
    table = shapes.table
    disc = shapes.disc
    lanes = layout.lanes
    at = lanes_at(layout, on_sheet, x0, y0, x1, y1)
    n_words = words_of(layout, on_sheet)
    word = -1
    bits = NONE
    while True:
        while bits == NONE:
            word += 1
            if word == n_words:
                return cost
            bits = word_at(lanes, on_sheet, word, *at)
        other = members[on_sheet, WORD * word + lowest(bits)]
        bits &= bits - ONE
        if (
            (boxes[0, other] >= x1)
            | (boxes[2, other] <= x0)
            | (boxes[1, other] >= y1)
            | (boxes[3, other] <= y0)
            | (other == part)
        ):
            continue
        field = -1
        relative = turn - int(spots[other, TURN])
        if turn >= 0 and relative <= turn:
            if relative < 0:
                relative += n_turns
            field = shapes.pair[kind * kinds + layout.kind[other], relative]
        dx = spot[X] - spots[other, X]
        dy = spot[Y] - spots[other, Y]
        if field == DISCS:
            overlap = disc_overlap(shapes.radius[kind] + shapes.radius[layout.kind[other]], dx, dy)
        elif field >= 0:
            cos = spots[other, COS]
            sin = spots[other, SIN]
            overlap = field_depth(fields, field, cos * dx + sin * dy, cos * dy - sin * dx)
        else:
            other_kind = layout.kind[other]
            there = spots[other]
            least = (enough - cost) / weights.pair[part, other]
            if discs_overlap(disc, kind, spot, other_kind, there, least):
                return 1e300
            cos = spot[COS] * there[COS] + spot[SIN] * there[SIN]
            sin = spot[SIN] * there[COS] - spot[COS] * there[SIN]
            x = there[COS] * dx + there[SIN] * dy
            y = there[COS] * dy - there[SIN] * dx
            angle = spot[ANGLE] - there[ANGLE]
            overlap, corner = hull_overlap(
                hull, table, disc, kind, other_kind, angle, cos, sin, x, y
            )
            if overlap > 0.0 and not is_corner_inside(
                fields, shapes, kind, other_kind, cos, sin, x, y, corner
            ):
                overlap = hollow_overlap(fields, shapes, kind, other_kind, cos, sin, x, y, overlap)
        if overlap > 0.0:
            cost += weights.pair[part, other] * overlap
            if cost > enough:
                return cost


@inner()
def find_overlaps(fields, shapes, layout, pairs, depths, over):  # type: ignore[no-untyped-def]
    """Write all overlapping pairs, their overlaps, and each part's overlap of the sheet's edge.

    Returns how many pairs, or -1 when there are more than ``pairs`` holds.
    """
    n = len(layout.kind)
    spots = layout.spots
    boxes = layout.boxes
    count = 0
    for i in range(n):
        here = spots[i]
        over[i] = sheet_overlap(fields, shapes, layout, layout.kind[i], here)
        field = layout.fields[int(here[SHEET])]
        if (
            over[i] <= 0.0
            and field >= 0
            and sheet_crossed(fields, shapes, layout.kind[i], here, field)
        ):
            over[i] = HIDDEN * shapes.size[layout.kind[i]]
        sheet = int(here[SHEET])
        at = lanes_at(layout, sheet, boxes[0, i], boxes[1, i], boxes[2, i], boxes[3, i])
        n_words = words_of(layout, sheet)
        word = -1
        bits = NONE
        while True:
            while bits == NONE and word + 1 < n_words:
                word += 1
                bits = word_at(layout.lanes, sheet, word, *at)
            if bits == NONE:
                break
            j = layout.members[sheet, WORD * word + lowest(bits)]
            bits &= bits - ONE
            if (
                (j >= i)
                | (boxes[0, j] >= boxes[2, i])
                | (boxes[2, j] <= boxes[0, i])
                | (boxes[1, j] >= boxes[3, i])
                | (boxes[3, j] <= boxes[1, i])
            ):
                continue
            there = spots[j]
            kind, other = layout.kind[i], layout.kind[j]
            overlap = pair_overlap(fields, shapes, kind, here, other, there)
            if (
                overlap <= 0.0
                and may_hide(shapes, kind, here, other, there)
                and outlines_cross(shapes, kind, here, other, there)
            ):
                overlap = HIDDEN * min(shapes.size[kind], shapes.size[other])
            if overlap > 0.0:
                if count == len(depths):
                    return -1
                pairs[count, 0] = i
                pairs[count, 1] = j
                depths[count] = overlap
                count += 1
    return count
