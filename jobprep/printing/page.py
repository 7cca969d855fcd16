"""What is printed, in mm and exact: inks, pieces made of them, pages they lie on.

Terminology
-----------
ink     a line, a black area, a text, or what artwork is made of
piece   inks that belong together in a box of their own, its lower left corner at the origin
page    a sheet of paper with inks; x to the right, y up, the origin at the lower left

No ink knows of PDF. Texts are in one built-in upright face; what must keep its exact shape is drawn
as paths.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Literal, NamedTuple

from jobprep.colour import Channels
from jobprep.geometry.outline import Line, Path, Point, Region

Anchor = Literal["start", "middle", "end"]

HAIRLINE = 0.1
"""Width of a line that is measured or cut along, mm: one dot at 254 dpi."""
THIN = 0.2
GREY = 0.55
"""Lightness of what is only there to find one's way: 0 is black, 1 is paper."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """Open or closed paths drawn ``width`` mm wide; ``dashes`` are on and off lengths, mm."""

    paths: tuple[Path, ...]
    width: float = THIN
    grey: float = 0.0
    dashes: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Area:
    """Closed paths filled by the even-odd rule."""

    paths: tuple[Path, ...]
    grey: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """A line of text, its foot at ``at``, turned by ``turn`` radians anticlockwise.

    ``size`` is the height of the letters' body, mm; text wider than ``room`` mm is set smaller.
    """

    text: str
    at: Point
    size: float
    room: float | None = None
    turn: float = 0.0
    anchor: Anchor = "start"
    grey: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Inks turned about their origin by ``turn``, then shifted to ``(x, y)``.

    Of them nothing is seen outside ``window``: closed paths (even-odd) where they are placed, none
    for all.
    """

    inks: tuple[Ink, ...]
    x: float
    y: float
    turn: float = 0.0
    window: tuple[Path, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Painted:
    """Paths as a drawing paints them, filled and then stroked ``width`` mm wide.

    ``cap`` and ``join`` of the stroke count as in PDF: butt, round, square; mitre, round, bevel.
    """

    paths: tuple[Path, ...]
    fill: Channels | None = None
    is_even_odd: bool = False
    stroke: Channels | None = None
    width: float = 0.0
    cap: int = 0
    join: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Raster:
    """A picture ``width`` by ``height`` mm, its middle at the origin; ``pixels`` is Pillow's."""

    pixels: Any
    width: float
    height: float


Ink = Lines | Area | Text | Placed | Painted | Raster


class Box(NamedTuple):
    """An upright box, mm."""

    left: float
    bottom: float
    right: float
    top: float

    @property
    def width(self) -> float:
        """From left to right."""
        return self.right - self.left

    @property
    def height(self) -> float:
        """From bottom to top."""
        return self.top - self.bottom


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """Something to print as one, ``width`` by ``height`` mm.

    ``title`` is what stands on its page; ``is_alone`` keeps others off that page.
    """

    title: str
    width: float
    height: float
    inks: tuple[Ink, ...]
    is_alone: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """One sheet of paper, mm, and what is on it."""

    width: float
    height: float
    title: str
    inks: tuple[Ink, ...]


def region_paths(regions: Iterable[Region]) -> tuple[Path, ...]:
    """Return every contour of some regions as a path."""
    return tuple(contour.segments for region in regions for contour in region.contours)


def stroke(x0: float, y0: float, x1: float, y1: float) -> Path:
    """Return a straight path."""
    return (Line(Point(x0, y0), Point(x1, y1)),)


def frame(box: Box) -> Path:
    """Return the closed path round a box."""
    corners = (
        Point(box.left, box.bottom),
        Point(box.right, box.bottom),
        Point(box.right, box.top),
        Point(box.left, box.top),
    )
    return tuple(Line(a, b) for a, b in zip(corners, (*corners[1:], corners[0]), strict=True))
