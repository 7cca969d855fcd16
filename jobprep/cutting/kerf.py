"""Where the middle of the beam runs so that the finished part is nominal.

The cutter removes a strip one kerf wide. The tool path of a part therefore lies half a kerf
outside its outer contour and half a kerf inside each of its holes: always on the scrap side.
Convex corners of the part stay sharp, the path rounds them with an arc of kerf/2. A round beam
cannot reach into a concave corner, which keeps a radius of kerf/2 (the closing of the outline
by a disc of the beam's size; Serra, Image Analysis and Mathematical Morphology, 1982).
"""

from __future__ import annotations

from dataclasses import dataclass

from jobprep.cutting.plan import PlacedPart
from jobprep.errors import CannotDoError
from jobprep.geometry.offset import offset_contour
from jobprep.geometry.outline import Contour
from jobprep.units import number


@dataclass(frozen=True, slots=True)
class ToolPaths:
    """The middle of the kerf round one part: its outer path and one path in each hole."""

    outer: Contour
    holes: tuple[Contour, ...]


def tool_paths(part: PlacedPart, kerf: float) -> ToolPaths:
    """Return the paths the beam follows so that ``part`` comes out nominal.

    Directions stay as they are: the outer path anticlockwise, those in holes clockwise. A kerf
    of 0 leaves the contours as they are.

    Raises
    ------
    CannotDoError
        When a hole is too narrow for the kerf, or the outer contour closes on itself under it.
    """
    holes = tuple(
        _hole_path(part, index, hole, kerf) for index, hole in enumerate(part.region.holes, start=1)
    )
    return ToolPaths(_outer_path(part, kerf), holes)


def _outer_path(part: PlacedPart, kerf: float) -> Contour:
    paths = offset_contour(part.region.outer, kerf / 2.0)
    if len(paths) != 1:
        raise CannotDoError(
            f"{_title(part)}: the outline closes on itself under the kerf of {number(kerf)} mm; "
            "an opening in it must be wider than the kerf"
        )
    return paths[0]


def _hole_path(part: PlacedPart, index: int, hole: Contour, kerf: float) -> Contour:
    paths = offset_contour(hole, -kerf / 2.0)
    if len(paths) != 1:
        wrong = "vanishes" if not paths else f"falls into {len(paths)} pieces"
        raise CannotDoError(
            f"{_title(part)}: hole {index} {wrong} under the kerf of {number(kerf)} mm; "
            "it must be wider than the kerf everywhere"
        )
    return paths[0]


def _title(part: PlacedPart) -> str:
    return f"part {part.number} ({part.name}), copy {part.copy}"
