"""What a photograph leaves in doubt: a sentence each, what it is about and where it lies."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from jobprep.geometry.outline import Point
from jobprep.measuring.edge_rows import EdgeRows
from jobprep.measuring.find_centre import InnerCircle
from jobprep.measuring.find_disc import DiscOutline
from jobprep.measuring.found import Found
from jobprep.measuring.marks import FoundHole
from jobprep.measuring.measured import Measured
from jobprep.measuring.measurement import ColourRing
from jobprep.measuring.unwrap import RingLimits
from jobprep.model.taken import Corrections
from jobprep.units import TURN, number, to_dial

NO_INDEX = "no index hole was seen; if there is one, add it to the design by hand"
"""A warning for whoever measures an original."""

About = Literal[
    "picture",
    "rim",
    "scale",
    "bore",
    "circle",
    "mark",
    "index",
    "left out",
    "edge",
    "zone",
    "ring",
    "edges",
    "light",
]
"""What a doubt is about; "mark" is a round place that may be a hole, "index" and "edges" what was
not seen at all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """One thing that a person should look at.

    ``number`` counts things of its kind from 0, ring by ring; ``at`` is its place in the disc's
    plane, in disc radii, None where it has none.
    """

    words: str
    about: About
    number: int = 0
    at: Point | None = None


def rim_doubts(
    outline: DiscOutline, found: Found, doubt: str, diameter: Measured | None, *, has_bore: bool
) -> Iterator[Doubt]:
    """Yield what is in doubt of the disc as a whole: ``doubt`` is that of its rim."""
    if doubt:
        yield Doubt(words=doubt, about="rim")
    if diameter is None:
        words = "no diameter was given: lengths are pixels of the picture as worked on"
        yield Doubt(words=words, about="scale")
    if outline.given and not outline.support:
        words = (
            "the rim is that of the points given, which lie within "
            f"{number(outline.spread, 1)} pixels of an ellipse; the picture shows no edge along it"
        )
        yield Doubt(words=words, about="rim")
    if not has_bore:
        yield Doubt(words="no bore was seen", about="bore")
    if not found.edges:
        words = "no separation was seen; add_edges in a correction file takes in those that you see"
        yield Doubt(words=words, about="edges")


def circle_doubts(found: Found, beyond: float | None, *, may_hide: bool) -> Iterator[Doubt]:
    """Yield the circles that may be something other than they were taken for.

    ``beyond`` is the radius of a faint one outside the rim; ``may_hide`` says that one may go
    unseen there.
    """
    for place, circle in enumerate(found.strays):
        words = (
            f"a circle {100 * circle.radius:.1f} % as large as the rim lies off the centre of the "
            "separations and was left out: an eccentric bore, or glare"
        )
        yield Doubt(words=words, about="circle", number=place, at=_beside(circle))
    if beyond is not None:
        words = (
            f"a faint circle lies {100 * (beyond - 1):.1f} % outside what was taken for the rim: "
            "if that is the rim of a clear film, give points on it in a correction file (rim), "
            "since all lengths depend on it"
        )
        yield Doubt(words=words, about="rim")
    elif may_hide:
        words = (
            "the ground is so uneven that the rim of a clear film beyond the colours would not be "
            "seen: look at the overlay, and if there is one, give points on it in a correction "
            "file (rim), since all lengths depend on it"
        )
        yield Doubt(words=words, about="rim")


def hole_doubts(holes: tuple[FoundHole, ...], corrections: Corrections) -> Iterator[Doubt]:
    """Yield round marks that were left out, and that no index hole was seen."""
    for place, hole in enumerate(holes):
        if hole.doubt:
            dial = number(to_dial(math.atan2(hole.y, hole.x) + corrections.zero), 1)
            words = f"a round mark at {dial}° was left out: {hole.doubt}"
            yield Doubt(words=words, about="mark", number=place, at=Point(hole.x, hole.y))
    if all(hole.doubt for hole in holes) and not corrections.remove_holes:
        yield Doubt(words=NO_INDEX, about="index")


def edge_doubts(
    found: Found,
    rings: list[ColourRing],
    edges: list[tuple[EdgeRows, ...]],
    corrections: Corrections,
) -> Iterator[Doubt]:
    """Yield edges that were left out, those that may be none, and zones that may hide one."""
    for place, edge in enumerate(found.left_out):
        dial = number(to_dial(edge.direction + corrections.zero), 1)
        picture_dial = number(to_dial(edge.direction), 1)
        words = (
            f"near {dial}° something like an edge was left out: "
            f"{edge.doubt or 'it does not run through the centre'}; "
            f"add_edges = [{picture_dial}] in a correction file takes it in"
        )
        at = _within(found.rings[edge.ring], edge.direction)
        yield Doubt(words=words, about="left out", number=place, at=at)
    before = 0
    for limits, ring, own in zip(found.rings, rings, edges, strict=True):
        for place, (border, zone) in enumerate(zip(ring.edges, ring.zones, strict=False)):
            dial = number(to_dial(border.direction.value), 1)
            if border.doubt:
                words = f"the edge at {dial}° is doubtful: {border.doubt}"
                at = _within(limits, own[place].direction)
                yield Doubt(words=words, about="edge", number=before + place, at=at)
            if zone.doubt and zone.kind != "clear":
                words = f"the zone from {dial}° on is {zone.doubt}"
                at = _within(limits, own[place].direction - 0.5 * width_of_zone(own, place))
                yield Doubt(words=words, about="zone", number=before + place, at=at)
        if len(ring.edges) == 1:
            words = "a ring shows a single edge; a second one was not seen"
            at = _within(limits, own[0].direction)
            yield Doubt(words=words, about="ring", number=before, at=at)
        before += len(ring.edges)


def width_of_zone(edges: tuple[EdgeRows, ...], place: int) -> float:
    """Return how wide the zone is that starts at an edge of a ring; a whole turn without two."""
    if len(edges) < 2:
        return TURN
    return (edges[place].direction - edges[(place + 1) % len(edges)].direction) % TURN


def _within(limits: RingLimits, direction: float) -> Point:
    radius = 0.5 * (limits.inner + limits.outer)
    return Point(radius * math.cos(direction), radius * math.sin(direction))


def _beside(circle: InnerCircle) -> Point:
    return Point(circle.x, circle.y)
