"""Prove a nest with polygons on an integer grid: a second opinion on ``nesting/check.py``.

Outlines are turned into polygons here, and pyclipper (Angus Johnson's Clipper) grows and intersects
them. Nothing is taken from ``geometry`` but the outlines themselves, so a mistake in offsets,
distances or containment there is not repeated here.

An arc of a part becomes chords or tangents inside the part, one of a sheet such as lie outside the
sheet's film, all within ``CHORD``. What is found is therefore wrong, and what is wrong by more than
twice as much is found.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import pyclipper

from jobprep.geometry.outline import Arc, Contour, Region
from jobprep.nesting.nest import Item, Nest, Placement, Sheet, Spacing

GRID = 1e-7
"""Size of the grid's cells, mm."""

TOLERANCE = 1e-6
"""How much nearer than asked parts may come, mm: what ``check_nest`` forgives."""

SLIVER = 1e-9
"""Area, mm², that is rounding to the grid."""

CHORD = 4e-3
"""How far a chord or the corner of two tangents may lie from its arc, mm."""

Ring = list[tuple[float, float]]
Rings = list[list[tuple[int, int]]]
Box = tuple[int, int, int, int]


def polygon_faults(
    items: Sequence[Item], sheets: Sequence[Sheet], spacing: Spacing, nest: Nest
) -> Iterator[str]:
    """Yield what lies too near another part or the edge; which copies there are is not asked.

    Two parts are too near each other if they overlap, both grown by half the gap; a part is too
    near the edge if it meets what is not sheet, grown by the edge's distance.
    """
    half, edge = (spacing.gap - TOLERANCE) / 2.0, spacing.edge - TOLERANCE
    for number, kind in enumerate(nest.sheets):
        here = [placed for placed in nest.placements if placed.sheet == number]
        parts = [_placed(items[placed.item].region, placed) for placed in here]
        grown = [_grown(part, half) for part in parts]
        boxes = [_box(part) for part in grown]
        for i, box in enumerate(boxes):
            for j in range(i):
                if _meet(box, boxes[j]) and _is_common(grown[i], grown[j]):
                    yield f"{_name(here[j])} and {_name(here[i])} are too near each other"
        sheet = _on_grid([_ring(each, is_within=False) for each in sheets[kind].region.contours])
        for placed, part in zip(here, parts, strict=True):
            if _sticks_out(_grown(part, edge), sheet):
                yield f"{_name(placed)} is too near the edge"


def _name(placed: Placement) -> str:
    return f"item {placed.item} copy {placed.copy} on sheet {placed.sheet}"


def _ring(contour: Contour, *, is_within: bool) -> Ring:
    """Return the corners of a polygon within a contour's material, or of one around it.

    Material lies to the left, so an arc that runs anticlockwise has its chords within.
    """
    points: Ring = []
    for segment in contour.segments:
        points.append((segment.start.x, segment.start.y))
        if isinstance(segment, Arc):
            points += _arc(segment, has_chords=(segment.sweep > 0.0) == is_within)
    return points


def _arc(arc: Arc, *, has_chords: bool) -> Ring:
    """Return the corners between the ends of an arc: of its chords, or of its tangents."""
    widest = math.acos(max(0.5, 1.0 - CHORD / arc.radius))  # a tangent reaches half as far again
    count = max(2, math.ceil(abs(arc.sweep) / widest))
    step = arc.sweep / count
    if has_chords:
        angles, radius = [k * step for k in range(1, count)], arc.radius
    else:
        angles = [(k + 0.5) * step for k in range(count)]
        radius = arc.radius / math.cos(0.5 * step)
    return [
        (
            arc.centre.x + radius * math.cos(arc.start_angle + angle),
            arc.centre.y + radius * math.sin(arc.start_angle + angle),
        )
        for angle in angles
    ]


def _placed(region: Region, placed: Placement) -> Rings:
    cos, sin = math.cos(placed.angle), math.sin(placed.angle)
    rings = [_ring(contour, is_within=True) for contour in region.contours]
    return _on_grid(
        [
            [(cos * x - sin * y + placed.x, sin * x + cos * y + placed.y) for x, y in ring]
            for ring in rings
        ]
    )


def _on_grid(rings: Sequence[Ring]) -> Rings:
    return [[(round(x / GRID), round(y / GRID)) for x, y in ring] for ring in rings]


def _grown(rings: Rings, by: float) -> Rings:
    offset = pyclipper.PyclipperOffset(2.0, CHORD / GRID)
    offset.AddPaths(rings, pyclipper.JT_ROUND, pyclipper.ET_CLOSEDPOLYGON)
    return offset.Execute(by / GRID)


def _box(rings: Rings) -> Box:
    xs, ys = [x for ring in rings for x, _ in ring], [y for ring in rings for _, y in ring]
    return (min(xs), min(ys), max(xs), max(ys)) if xs else (0, 0, 0, 0)


def _meet(a: Box, b: Box) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _is_common(a: Rings, b: Rings) -> bool:
    return _area(a, b, pyclipper.CT_INTERSECTION) > SLIVER


def _sticks_out(part: Rings, sheet: Rings) -> bool:
    return _area(part, sheet, pyclipper.CT_DIFFERENCE) > SLIVER


def _area(a: Rings, b: Rings, operation: int) -> float:
    """Return the area of what two sets of rings have in common, or the first beyond the second."""
    if not a:  # shrunk to nothing
        return 0.0
    clipper = pyclipper.Pyclipper()
    clipper.AddPaths(a, pyclipper.PT_SUBJECT, True)
    clipper.AddPaths(b, pyclipper.PT_CLIP, True)
    fill = pyclipper.PFT_NONZERO
    return math.fsum(map(pyclipper.Area, clipper.Execute(operation, fill, fill))) * GRID**2
