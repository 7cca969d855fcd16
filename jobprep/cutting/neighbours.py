"""What lies near a tool path."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from jobprep.cutting.plan import PlacedPart
from jobprep.geometry.measure import Bounds, bounds
from jobprep.geometry.outline import Path
from jobprep.geometry.segment import segment_box

Box = tuple[float, float, float, float]


def part_boxes(parts: Sequence[PlacedPart]) -> tuple[Bounds, ...]:
    """Return the box around each part."""
    return tuple(bounds(part.region.outer.segments) for part in parts)


def others_near(
    path: Path, own: int, parts: Sequence[PlacedPart], boxes: Sequence[Bounds], reach: float
) -> list[Path]:
    """Return the contours of all parts but ``own`` whose boxes come within reach of a path's."""
    around = bounds(path)
    return [
        contour.segments
        for index, box in enumerate(boxes)
        if index != own and _are_near(box, around, reach)
        for contour in parts[index].region.contours
    ]


def segments_near(path: Path, paths: Iterable[Path], reach: float) -> Path:
    """Return the segments of all ``paths`` whose boxes come within reach of a path's, mm."""
    box = bounds(path)
    return tuple(
        segment
        for other in paths
        for segment in other
        if _are_near(segment_box(segment), box, reach)
    )


def _are_near(one: Box, other: Box, reach: float) -> bool:
    """Whether two boxes (x_min, y_min, x_max, y_max) come within reach of each other."""
    return (
        one[0] - other[2] <= reach
        and other[0] - one[2] <= reach
        and one[1] - other[3] <= reach
        and other[1] - one[3] <= reach
    )
