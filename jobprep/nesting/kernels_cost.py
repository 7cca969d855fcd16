"""Compiled costs: of a part at a spot, and all overlaps of a layout.

Terminology
-----------
cost       weighted overlaps of one part at a spot
"""

from __future__ import annotations

from jobprep.nesting.columns import (
    COS,
    HIGH,
    LEFT,
    LOW,
    RIGHT,
    SHEET,
    SIN,
    START_X,
    START_Y,
    TURN,
    X_MAX,
    X_MIN,
    Y_MAX,
    Y_MIN,
    X,
    Y,
)
from jobprep.nesting.kernels_hull import hull_overlap
from jobprep.nesting.kernels_inner import inlined, inner
from jobprep.nesting.kernels_lanes import NONE, ONE, lanes_at, lowest, word_at, words_of
from jobprep.nesting.kernels_overlap import (
    disc_overlap,
    discs_overlap,
    edges_cross,
    field_depth,
    hollow_overlap,
    is_corner_inside,
    may_hide,
    outlines_cross,
    pair_overlap,
    sampled,
)
from jobprep.nesting.kernels_spot import ROUNDING, pose_on_sheet, pose_seen
from jobprep.nesting.layout import DISCS, WORD

HIDDEN = 1e-3
"""Overlap, as a share of a part's size, of parts that cross where no sample point shows it."""

DEFECT_AS_DEPTH = 0.5
"""What the corner of a sheet's edge inside a part is worth as a depth."""

NO_LIMIT = 1e300
"""More than any cost."""


@inlined()
def sheet_overlap(fields, shapes, layout, kind, spot):  # type: ignore[no-untyped-def]
    """Return how far a part reaches over the edge of its sheet."""
    sheet = int(spot[SHEET])
    bounds = layout.bounds
    over = max(0.0, spot[X] + spot[RIGHT] - bounds[sheet, X_MAX] - ROUNDING)
    over += max(0.0, spot[Y] + spot[HIGH] - bounds[sheet, Y_MAX] - ROUNDING)
    field = layout.fields[sheet]
    if field >= 0:
        over += sampled(fields, shapes, field, kind, pose_on_sheet(spot))
        # The other way round: a defect smaller than the part may lie between all its points.
        own = shapes.own[kind]
        edges = fields.edges
        for k in range(fields.edge_first[field], fields.edge_first[field + 1]):
            x = edges[k, START_X] - spot[X]
            y = edges[k, START_Y] - spot[Y]
            if spot[LEFT] < x < spot[RIGHT] and spot[LOW] < y < spot[HIGH]:
                x, y = spot[COS] * x + spot[SIN] * y, spot[COS] * y - spot[SIN] * x
                over += DEFECT_AS_DEPTH * field_depth(fields, own, x, y)
    return over


@inner()
def sheet_crossed(fields, shapes, kind, spot, field):  # type: ignore[no-untyped-def]
    """Return whether an edge of a part crosses the edge of its sheet."""
    return edges_cross(
        shapes.edges,
        shapes.edge_first[kind],
        shapes.edge_first[kind + 1],
        pose_on_sheet(spot),
        fields.edges,
        fields.edge_first[field],
        fields.edge_first[field + 1],
    )


@inlined()
def is_apart(boxes, other, x0, y0, x1, y1):  # type: ignore[no-untyped-def]
    """Return whether the box of another part meets none of a box."""
    return (
        (boxes[X_MIN, other] >= x1)
        | (boxes[X_MAX, other] <= x0)
        | (boxes[Y_MIN, other] >= y1)
        | (boxes[Y_MAX, other] <= y0)
    )


@inlined()
def free_overlap(fields, shapes, kind, spot, other_kind, other, least):  # type: ignore[no-untyped-def]
    """Return the overlap of two parts without a field; any more than ``least`` as NO_LIMIT."""
    if discs_overlap(shapes.hulls.disc, kind, spot, other_kind, other, least):
        return NO_LIMIT
    pose = pose_seen(spot, other)
    overlap, corner = hull_overlap(shapes.hulls, kind, other_kind, pose)
    if overlap > 0.0 and not is_corner_inside(fields, shapes, kind, other_kind, pose, corner):
        overlap = hollow_overlap(fields, shapes, kind, other_kind, pose, overlap)
    return overlap


@inlined()
def spot_cost(scene, part, spot, enough):  # type: ignore[no-untyped-def]
    """Return a part's cost at a spot, or any number above ``enough`` once it exceeds that."""
    fields, shapes, layout, weights = scene
    kind = layout.kind[part]
    spots = layout.spots
    cost = weights.edge[part] * sheet_overlap(fields, shapes, layout, kind, spot)
    if cost > enough:
        return cost
    turn = int(spot[TURN])
    x0 = spot[X] + spot[LEFT]
    y0 = spot[Y] + spot[LOW]
    x1 = spot[X] + spot[RIGHT]
    y1 = spot[Y] + spot[HIGH]
    kinds = len(shapes.own)
    n_turns = len(shapes.turns)
    sheet = int(spot[SHEET])
    at = lanes_at(layout, sheet, x0, y0, x1, y1)
    n_words = words_of(layout, sheet)
    word = -1
    bits = NONE
    while True:
        while bits == NONE:
            word += 1
            if word == n_words:
                return cost
            bits = word_at(layout.lanes, sheet, word, *at)
        other = layout.members[sheet, WORD * word + lowest(bits)]
        bits &= bits - ONE
        if is_apart(layout.boxes, other, x0, y0, x1, y1) | (other == part):
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
            least = (enough - cost) / weights.pair[part, other]
            overlap = free_overlap(
                fields, shapes, kind, spot, layout.kind[other], spots[other], least
            )
            if overlap == NO_LIMIT:
                return NO_LIMIT
        if overlap > 0.0:
            cost += weights.pair[part, other] * overlap
            if cost > enough:
                return cost


@inner()
def part_over(fields, shapes, layout, part):  # type: ignore[no-untyped-def]
    """Return a part's overlap of its sheet's edge, also where no sample point shows it."""
    here = layout.spots[part]
    kind = layout.kind[part]
    over = sheet_overlap(fields, shapes, layout, kind, here)
    field = layout.fields[int(here[SHEET])]
    if over <= 0.0 and field >= 0 and sheet_crossed(fields, shapes, kind, here, field):
        return HIDDEN * shapes.size[kind]
    return over


@inner()
def find_overlaps(scene, pairs, depths, over):  # type: ignore[no-untyped-def]
    """Write all overlapping pairs, their overlaps, and each part's overlap of the sheet's edge.

    Returns how many pairs, or -1 when there are more than ``pairs`` holds.
    """
    fields = scene.fields
    shapes = scene.shapes
    layout = scene.layout
    spots = layout.spots
    boxes = layout.boxes
    count = 0
    for i in range(len(layout.kind)):
        here = spots[i]
        over[i] = part_over(fields, shapes, layout, i)
        sheet = int(here[SHEET])
        x0, y0, x1, y1 = boxes[X_MIN, i], boxes[Y_MIN, i], boxes[X_MAX, i], boxes[Y_MAX, i]
        at = lanes_at(layout, sheet, x0, y0, x1, y1)
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
            if (j >= i) | is_apart(boxes, j, x0, y0, x1, y1):
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
