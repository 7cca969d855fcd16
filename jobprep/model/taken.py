"""What a person has measured by hand, or knows better than a photograph tells."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, NamedTuple

from jobprep.geometry.outline import Point


class TakenPoint(NamedTuple):
    """A point as taken, in the picture's units; ``label`` as written, ``line`` where."""

    kind: str
    x: float
    y: float
    label: str = ""
    line: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PointSet:
    """The points of one file; ``diameter``, ``reading`` and ``y_down`` are None where not given.

    Points of a scale follow each other in pairs: the label of each is their distance in mm. The
    label of a reference is its place on the disc, x y in mm.
    """

    file: str
    points: tuple[TakenPoint, ...]
    diameter: float | None = None
    reading: float | None = None
    y_down: bool | None = None
    name: str = ""

    def of(self, kind: str, label: str | None = None) -> list[Point]:
        """Return the places of a kind, in order."""
        return [
            Point(p.x, p.y)
            for p in self.points
            if p.kind == kind and (label is None or p.label == label)
        ]

    def labels(self, kind: str) -> list[str]:
        """Return the labels of a kind in order of appearance."""
        return list(dict.fromkeys(p.label for p in self.points if p.kind == kind))


class GivenHole(NamedTuple):
    """A round hole as a person gives it: its middle and its width in pixels of the upright picture.

    Seen at a slant it is as wide as it looks on the average.
    """

    x: float
    y: float
    width: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrections:
    """What a person knows better. Points are pixels of the upright picture, (column, row).

    ``paper``, ``scan`` (dots per inch) and ``light`` say how the picture was taken. ``rim``: five
    or more points on the rim, instead of looking for the disc. ``bore``: three or more on the
    bore's edge, instead of looking for it. ``zero``: the dial direction in the picture, radians
    clockwise from 12 o'clock, that the design counts from. ``white``: a place that is white, or a
    neutral grey that sends back ``white_reflects`` of the light.

    All edges are dial directions in radians. An added one is refined where it is seen and else
    taken as given; a held one is taken as given; a sure one is a found one that is no longer
    doubted. ``remove_holes`` drops every hole that was found, ``no_holes`` those at these points;
    ``add_holes`` are taken as given.
    """

    diameter: float | None = None
    paper: str | None = None
    scan: float | None = None
    light: Literal["behind", "paper"] | None = None
    rim: tuple[Point, ...] = ()
    bore: tuple[Point, ...] = ()
    zero: float = 0.0
    white: Point | None = None
    white_reflects: float = 1.0
    add_edges: tuple[float, ...] = ()
    hold_edges: tuple[float, ...] = ()
    sure_edges: tuple[float, ...] = ()
    remove_edges: tuple[float, ...] = ()
    remove_holes: bool = False
    no_holes: tuple[Point, ...] = ()
    add_holes: tuple[GivenHole, ...] = ()


NO_CORRECTIONS = Corrections()
