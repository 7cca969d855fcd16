"""Which segments may come near each other: the one search that all of geometry asks.

A few segments, or segments whose boxes tell most of them apart, are swept over here. The boxes of
many long slanting ones all meet; those are looked up among level slabs (``near_pieces``).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from jobprep.geometry.outline import Arc, Line, Segment
from jobprep.geometry.segment import segment_box

FEW = 256
"""As many segments are always swept over: that takes less time than loading arrays."""

MANY_PAIRS = 100_000
"""As many pairs of a segment of one path and one of another are always looked at one by one."""

LOOKS = 24
"""Boxes held against each of more boxes, on average, before their sweep is given up."""

Box = tuple[float, float, float, float]


class CrowdedError(ArithmeticError):
    """More pairs of segments than asked for come near each other."""


def near_segments(
    segments: Sequence[Segment], tolerance: float, most: float = math.inf
) -> Iterator[tuple[int, int]]:
    """Yield the pairs of segments that may come as near as ``tolerance``, mm, each once.

    Their boxes meet, and each box the other's circle: the box of a large arc holds all that
    lies inside its circle, most of it far from the arc.

    Raises ``CrowdedError``, before the first pair, when of more than ``FEW`` segments more than
    ``most`` pairs come that near.
    """
    boxes = [segment_box(segment) for segment in segments]
    is_small = len(boxes) <= FEW
    found = near_boxes(boxes, tolerance, math.inf if is_small else LOOKS * len(boxes))
    if found is None or (len(found) > most and not is_small):
        # Not needed for a small part: a check of those is to start at once.
        from jobprep.geometry.near_pieces import near_among_many

        yield from near_among_many(segments, tolerance, most)
        return
    for i, j in found:
        a, b = segments[i], segments[j]
        if (isinstance(a, Line) or _circle_meets(a, boxes[j], tolerance)) and (
            isinstance(b, Line) or _circle_meets(b, boxes[i], tolerance)
        ):
            yield i, j


def near_between(
    ours: Sequence[Segment], theirs: Sequence[Segment], tolerance: float
) -> list[tuple[int, int]]:
    """Return the pairs of a segment of one path and one of another that may come near each other.

    This is for many segments; ``tolerance`` in mm.
    """
    from jobprep.geometry.near_pieces import near_among_many

    pairs = near_among_many((*ours, *theirs), tolerance, math.inf, ours=len(ours))
    return [(i, j - len(ours)) for i, j in pairs]


def near_boxes(
    boxes: Sequence[Box], tolerance: float, looks: float = math.inf
) -> list[tuple[int, int]] | None:
    """Return the pairs of boxes that meet, by a sweep along the axis that keeps them apart.

    The front of the sweep is cut into lanes, so that a box is only held against those beside it.
    None when more than this number of looks from box to box would not be enough.
    """
    if not boxes:
        return []
    x_min, y_min, x_max, y_max = zip(*boxes, strict=True)
    width, height = max(x_max) - min(x_min), max(y_max) - min(y_min)
    wide, tall = sum(x_max) - sum(x_min), sum(y_max) - sum(y_min)
    if wide * height > tall * width:
        x_min, x_max, y_min, y_max = y_min, y_max, x_min, x_max
        height, tall = width, wide
    # About two lanes a box, however tall the boxes are.
    tall += 2.0 * tolerance * len(boxes)
    number = max(1, min(len(boxes), int(len(boxes) * height / tall))) if tall > 0.0 else 1
    foot, scale = min(y_min), number / height if height > 0.0 else 0.0
    lanes: list[list[int]] = [[] for _ in range(number)]
    order = sorted(range(len(boxes)), key=x_min.__getitem__)
    rank = [0] * len(boxes)
    pairs: list[tuple[int, int]] = []
    for place, i in enumerate(order):
        rank[i] = place
        front, low, high = x_min[i] - tolerance, y_min[i] - tolerance, y_max[i] + tolerance
        first = max(0, int((low - foot) * scale))
        last = min(number - 1, int((high - foot) * scale))
        met: list[int] = []
        for lane in range(first, last + 1):
            looks -= len(lanes[lane])
            active = [j for j in lanes[lane] if x_max[j] >= front]
            met += [j for j in active if y_min[j] <= high and y_max[j] >= low]
            active.append(i)
            lanes[lane] = active
        if looks < 0.0:
            return None
        if first < last:
            met = sorted(set(met), key=rank.__getitem__)
        pairs += [(j, i) for j in met]
    return pairs


def _circle_meets(arc: Arc, box: Box, tolerance: float) -> bool:
    """Return whether the circle of an arc comes as near as ``tolerance`` to a box."""
    (x, y), radius = arc.centre, arc.radius
    x_min, y_min, x_max, y_max = box
    nearest = math.hypot(max(x_min - x, x - x_max, 0.0), max(y_min - y, y - y_max, 0.0))
    farthest = math.hypot(max(x - x_min, x_max - x), max(y - y_min, y_max - y))
    return nearest - tolerance <= radius <= farthest + tolerance
