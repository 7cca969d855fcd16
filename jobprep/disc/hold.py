"""What holds each piece of a disc: a path from it to the hub.

Terminology
-----------
zone      what lies under the hub: the hub clamps it, and there the layers are glued together
hub       the piece reaches into the zone
pin       the piece goes all round the bore that it reaches, or all round the slot of a hub's tab
glue      the piece is stuck on a held one: a counterweight, which the design sticks on
covers    most of the piece lies between held pieces further to the front and further to the back
nothing   none of these: an overlap without glue holds nothing

How strong a glue is, how hard a hub clamps and how stiff a cover is are not known, so they are left
out: held does not mean strong enough.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

from jobprep.disc.balance import unbalance_force
from jobprep.disc.features import bore_reach, slot_regions
from jobprep.disc.glue import stuck_on
from jobprep.disc.mass import Body, PieceBody, whole
from jobprep.disc.pieces import DiscPiece, inner_radius
from jobprep.geometry.boolean import intersection, union
from jobprep.geometry.measure import area, contains, contour_contains, signed_area
from jobprep.geometry.outline import Contour, Point, Region, circle
from jobprep.geometry.segment import point_distance
from jobprep.geometry.within import is_within
from jobprep.model.design import Design

By = Literal["hub", "pin", "glue", "covers", "nothing"]

BY_HAND = 0.2
"""How far off a piece may lie that is laid by hand, mm (common practice, no source): one that
reaches no further under the hub may as well lie outside."""
MOST = 0.5
"""The share of a piece that lies between the covers that hold it (common practice, no source)."""
SAME = 1e-6
"""Outlines nearer than this are one, mm, and areas below it are none, mm²: rounding."""
CENTRE = Point(0.0, 0.0)


class Grip(NamedTuple):
    """What holds a piece, and on what area, mm²: clamped and glued, stuck on, between covers.

    A pin has no area. One face counts, although two may be glued.
    """

    by: By
    area: float = 0.0


NO_GRIP = Grip("nothing")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """What holds one piece, or all patches of the counterweight named ``dot``.

    ``pull`` is m r Omega² at the design's speed, N: what would carry the piece outwards. None where
    the disc stands, and where the piece's film is to be chosen.
    """

    piece: DiscPiece
    dot: str = ""
    grip: Grip
    pull: float | None

    @property
    def by(self) -> By:
        """What holds it."""
        return self.grip.by

    @property
    def is_held(self) -> bool:
        """Whether anything does."""
        return self.by != "nothing"

    @property
    def pressure(self) -> float | None:
        """The pull on each mm² that holds, N/mm²; None without a speed or an area."""
        return None if self.pull is None or not self.grip.area else self.pull / self.grip.area


def disc_hold(design: Design, bodies: Sequence[PieceBody]) -> tuple[Hold, ...]:
    """Return what holds each piece, layer by layer from the front, counterweights last.

    ``bodies`` are those of ``piece_bodies``.
    """
    n = len(bodies) - sum(dot.count for dot in design.dots)
    pieces = [piece for piece, _ in bodies[:n]]
    grips = _grips(design, pieces)
    held = _held(pieces, grips)
    found = [
        Hold(piece=piece, grip=grip, pull=_pull(design, body))
        for (piece, body), grip in zip(bodies, grips, strict=False)
    ]
    patches = iter(bodies[n:])
    for dot in design.dots:
        stack = list(itertools.islice(patches, dot.count))
        patch, body = stack[0][0], whole(each for _, each in stack if each is not None)
        grip = _stuck(patch, pieces, held)
        found.append(Hold(piece=patch, dot=dot.name, grip=grip, pull=_pull(design, body)))
    return tuple(found)


def is_covered(piece: DiscPiece, holds: Iterable[Hold]) -> tuple[bool, bool]:
    """Return whether held pieces cover most of a piece: in front of it, and behind it."""
    held = [hold.piece for hold in holds if hold.is_held and not hold.dot]
    least = MOST * area(piece.region)
    covers = _Covers(held).of(piece.layer)
    front, back = (_common([piece.region], each) >= least for each in covers)
    return front, back


def nearest(region: Region) -> float:
    """Return how near a region comes to the disc's centre, mm."""
    if contains(region, CENTRE):
        return 0.0
    return min(point_distance(each, CENTRE) for edge in region.contours for each in edge.segments)


def _pull(design: Design, body: Body | None) -> float | None:
    if design.angular_speed is None or body is None:
        return None
    return unbalance_force(math.hypot(body.moment_x, body.moment_y), design.angular_speed)


def _grips(design: Design, pieces: Sequence[DiscPiece]) -> list[Grip]:
    """Return what holds each piece: those at the hub first, then what lies between held ones."""
    grips = [_at_the_hub(design, piece) for piece in pieces]
    loose = [index for index, grip in enumerate(grips) if grip == NO_GRIP]
    while loose:
        covers = _Covers(_held(pieces, grips))
        for index in loose:
            piece = pieces[index]
            between = _common([piece.region], *covers.of(piece.layer))
            if between >= MOST * area(piece.region):
                grips[index] = Grip("covers", between)
        still = [index for index in loose if grips[index] == NO_GRIP]
        if len(still) == len(loose):
            break
        loose = still
    return grips


def _held(pieces: Sequence[DiscPiece], grips: Sequence[Grip]) -> list[DiscPiece]:
    return [piece for piece, grip in zip(pieces, grips, strict=True) if grip != NO_GRIP]


def _at_the_hub(design: Design, piece: DiscPiece) -> Grip:
    under = _area_under(design, piece)
    if under > SAME:
        return Grip("hub", under)
    return Grip("pin") if _is_pinned(design, piece) else NO_GRIP


def _area_under(design: Design, piece: DiscPiece) -> float:
    """Return the area of a piece under the hub, 0 where it reaches no further than by chance."""
    layer, rim = design.layers[piece.layer - 1], (design.hub_diameter or 0.0) / 2.0
    if inner_radius(design, layer) >= rim - BY_HAND or nearest(piece.region) > rim - BY_HAND:
        return 0.0
    if layer.outer_diameter / 2.0 <= rim:
        return area(piece.region)
    return math.fsum(map(area, intersection(piece.region, Region(circle(CENTRE, rim)))))


def _is_pinned(design: Design, piece: DiscPiece) -> bool:
    """Whether a piece goes all round the bore, or all round the slot of a tab."""
    holes = piece.region.holes
    if design.bore is not None:
        reach = bore_reach(design.bore) + SAME
        if any(_is_round_the_middle(hole, reach) for hole in holes):
            return True
    slots = [each for row in design.hub_slots for each in slot_regions(row)]
    return any(
        abs(abs(signed_area(hole)) - area(slot)) < SAME and contains(slot, hole.segments[0].start)
        for hole in holes
        for slot in slots
    )


def _is_round_the_middle(hole: Contour, reach: float) -> bool:
    """Whether a hole goes round the centre and lies within a distance of it."""
    return contour_contains(hole, CENTRE) and all(
        is_within(segment, CENTRE, reach) for segment in hole.segments
    )


class _Covers:
    """What held pieces cover in front of each layer, and behind it."""

    def __init__(self, held: Sequence[DiscPiece]) -> None:
        by_layer: dict[int, list[Region]] = {}
        for piece in held:
            by_layer.setdefault(piece.layer, []).append(piece.region)
        layers = sorted(by_layer)
        # One layer after the other: each is joined once, and mostly to a plain ring.
        joined = {layer: union(by_layer[layer]) for layer in layers}
        self._front = list(_growing(joined, layers))
        self._back = list(_growing(joined, layers[::-1]))

    def of(self, layer: int) -> tuple[Sequence[Region], Sequence[Region]]:
        """Return what is covered in front of a layer, and behind it."""
        front = (regions for other, regions in reversed(self._front) if other < layer)
        back = (regions for other, regions in reversed(self._back) if other > layer)
        return next(front, ()), next(back, ())


def _growing(
    joined: Mapping[int, tuple[Region, ...]], layers: Iterable[int]
) -> Iterator[tuple[int, tuple[Region, ...]]]:
    """Yield what each layer covers together with all before it."""
    whole: tuple[Region, ...] = ()
    for layer in layers:
        whole = union((*whole, *joined[layer])) if whole else joined[layer]
        yield layer, whole


def _common(*levels: Sequence[Region]) -> float:
    """Return the area that lies in every level of regions, mm²; those of a level do not overlap."""
    regions, *others = levels
    for level in others:
        regions = [part for a in regions for b in level for part in intersection(a, b)]
    return math.fsum(map(area, regions))


def _stuck(patch: DiscPiece, pieces: Sequence[DiscPiece], held: Sequence[DiscPiece]) -> Grip:
    """Return what holds a patch: the held pieces of the first film that it lies on."""
    glued = union(each.region for each in stuck_on(patch, pieces) if each in held)
    on_held = _common([patch.region], glued)
    return Grip("glue", on_held) if on_held > SAME else NO_GRIP
