"""Which parts lie near a tool path."""

from __future__ import annotations

from collections.abc import Sequence

from jobprep.cutting.plan import PlacedPart
from jobprep.geometry.measure import Bounds, bounds
from jobprep.geometry.outline import Path


def part_boxes(parts: Sequence[PlacedPart]) -> tuple[Bounds, ...]:
    """Return the box around each part."""
    return tuple(bounds(part.region.outer.segments) for part in parts)


def others_near(
    path: Path, own: int, parts: Sequence[PlacedPart], boxes: Sequence[Bounds], reach: float
) -> list[Path]:
    """Return the contours of all parts but ``own`` whose boxes come within reach of a path's."""
    x_min, y_min, x_max, y_max = bounds(path)
    near: list[Path] = []
    for index, box in enumerate(boxes):
        if box.x_min - x_max > reach or x_min - box.x_max > reach:
            continue
        if box.y_min - y_max > reach or y_min - box.y_max > reach:
            continue
        if index != own:
            near += [contour.segments for contour in parts[index].region.contours]
    return near
