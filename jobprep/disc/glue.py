"""The glue of a disc: where it lies and what it weighs.

Terminology
-----------
glue line  the glue between two faces; a place where n films lie on one another has n - 1 of them
faces      all glue lines as one flat body of 1 g/mm²: its mass is their area

Glued is what lies on one another under the hub, each counterweight patch where it is stuck, and
the faces of a printed hub that touch film or spacer. The tabs of a hub are left out, and so is
whatever glue holds a disc to a hub that is not printed.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from jobprep.disc.hub import PrintedHub
from jobprep.disc.mass import NO_BODY, Body, region_body, scaled, whole
from jobprep.disc.pieces import DiscPiece, design_pieces, dot_pieces
from jobprep.geometry.boolean import intersection, union
from jobprep.geometry.measure import area
from jobprep.geometry.outline import Point, Region, circle
from jobprep.model.design import GLUE_DENSITY, Design

THICKEST = 0.1
"""The thickest glue line that is laid by hand, mm, where no ``glue_line`` says how thick it is
(common practice, no source)."""
SAME = 1e-6
"""Areas below this are none, mm²: rounding."""
CENTRE = Point(0.0, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Glue:
    """What the glue of a disc weighs.

    ``area`` is that of all glue lines, mm², and ``body`` the glue as designed; both are None where
    the design does not say how thick glue lies or where. ``least`` and ``most`` are the least and
    the most that it may be: by the glue line's tolerance, else from none to ``THICKEST`` wherever
    films lie on one another.
    """

    area: float | None
    body: Body | None
    least: Body
    most: Body

    @property
    def counted(self) -> Body:
        """The glue that counts in mass and balance: none where it is not known."""
        return NO_BODY if self.body is None else self.body

    @property
    def is_any(self) -> bool:
        """Whether there may be any glue at all."""
        return self.most.mass > 0.0


def disc_glue(design: Design, hub: PrintedHub | None) -> Glue:
    """Return the glue of a design with its printed hub, None where it has none."""
    pieces = design_pieces(design)
    inside = _glued_films(design, pieces)
    faces = [_between(inside), *_patches(design, pieces)]
    if hub is not None:
        faces += _hub_faces(hub, inside)
    return _weighed(design, whole(faces))


def glue_under_patch(design: Design) -> float:
    """Return what counts as glue under each patch that a design gets, g/mm²: 0 where unknown."""
    if design.glue_line is None or not _is_known_where(design):
        return 0.0
    return GLUE_DENSITY * design.glue_line[0]


def stuck_on(patch: DiscPiece, pieces: Sequence[DiscPiece]) -> tuple[DiscPiece, ...]:
    """Return the pieces of the layer that a counterweight's patch is stuck on, none of none.

    On the disc's back that is the last layer with film there; in a layer the next one behind it,
    else the next one in front.
    """
    last = max((each.layer for each in pieces), default=0)
    for layer in _laid_on(patch, last):
        own = [each for each in pieces if each.layer == layer]
        under = [each for each in own if _common(patch.region, each.region) > SAME]
        if under:
            return tuple(under)
    return ()


def _glued_films(design: Design, pieces: Iterable[DiscPiece]) -> list[list[Region]]:
    """Return the films of each layer that are glued: what lies under the hub, else all."""
    layers = [
        [piece.region for piece in layer]
        for _, layer in itertools.groupby(pieces, key=lambda each: each.layer)
    ]
    if design.hub_diameter is None:
        return layers
    under = Region(circle(CENTRE, design.hub_diameter / 2.0))
    return [[part for region in layer for part in intersection(region, under)] for layer in layers]


def _is_known_where(design: Design) -> bool:
    """Whether the design says where its films are glued: under the hub, or nowhere."""
    if design.hub_diameter is not None:
        return True
    return _between(_glued_films(design, design_pieces(design))).mass < SAME


def _weighed(design: Design, faces: Body) -> Glue:
    if faces.mass < SAME:
        return Glue(area=0.0, body=NO_BODY, least=NO_BODY, most=NO_BODY)
    line = design.glue_line
    if line is None:
        return Glue(
            area=None, body=None, least=NO_BODY, most=scaled(faces, GLUE_DENSITY * THICKEST)
        )
    thickness, tolerance = line
    most = scaled(faces, GLUE_DENSITY * (thickness + tolerance))
    if not _is_known_where(design):
        return Glue(area=None, body=None, least=NO_BODY, most=most)
    return Glue(
        area=faces.mass,
        body=scaled(faces, GLUE_DENSITY * thickness),
        least=scaled(faces, GLUE_DENSITY * max(0.0, thickness - tolerance)),
        most=most,
    )


def _between(layers: Sequence[Sequence[Region]]) -> Body:
    """Return all faces between films: of n films on one another all but one count."""
    if sum(map(len, layers)) < 2:
        return NO_BODY
    films = whole(region_body(region, 1.0) for layer in layers for region in layer)
    covered = whole(region_body(region, 1.0) for region in _covered(layers))
    return whole((films, scaled(covered, -1.0)))


def _covered(layers: Iterable[Sequence[Region]]) -> Sequence[Region]:
    """Return where there is any film.

    The films of a layer join first: of sixty sectors a ring is left. Of 600 sectors in ten layers
    that takes 0.12 s, all at once 1.8 s.
    """
    return union(region for layer in layers for region in union(layer))


def _hub_faces(hub: PrintedHub, inside: Sequence[Sequence[Region]]) -> Iterator[Body]:
    """Yield the faces of a hub's plates: two against the film, one between plate and spacer."""
    film = _covered(inside)
    axle, *others = hub.parts
    for plate in (axle.plate(), others[0].plate()):
        for region in film:
            yield from (region_body(each, 1.0) for each in intersection(region, plate))
    for part in others[1:]:
        yield region_body(part.plate(), 1.0)


def _patches(design: Design, pieces: Sequence[DiscPiece]) -> Iterator[Body]:
    """Yield the face under each counterweight patch: the first on film, the others on patches."""
    patches = iter(dot_pieces(design))
    for dot in design.dots:
        first, *others = itertools.islice(patches, dot.count)
        for region in union(piece.region for piece in stuck_on(first, pieces)):
            shared = intersection(first.region, region)
            yield from (region_body(each, 1.0) for each in shared)
        yield from (region_body(each.region, 1.0) for each in others)


def _laid_on(patch: DiscPiece, last: int) -> Iterator[int]:
    """Yield the layers that a patch may be stuck on, the first choice first."""
    if not patch.layer:  # on the back of the disc
        yield from range(last, 0, -1)
    else:
        yield from range(patch.layer + 1, last + 1)
        yield from range(patch.layer - 1, 0, -1)


def _common(a: Region, b: Region) -> float:
    return sum(map(area, intersection(a, b)))
