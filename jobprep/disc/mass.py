"""What a disc weighs, and how its mass lies about the centre.

Every piece counts with the nominal outline it is cut to; ``glue.py`` adds the glue. Ink and
engraving are not weighed.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

from jobprep.disc.pieces import DiscPiece, design_pieces, dot_pieces
from jobprep.geometry.measure import area, centroid_and_moments
from jobprep.geometry.outline import Region
from jobprep.model.design import Design
from jobprep.model.film import Film


class Body(NamedTuple):
    """A flat body: mass in g, first moments in g·mm, polar moment of inertia in g·mm².

    All about the disc's centre, x to the right, y up, seen from the front.
    """

    mass: float
    moment_x: float
    moment_y: float
    inertia: float


NO_BODY = Body(0.0, 0.0, 0.0, 0.0)


def region_body(region: Region, areal_mass: float) -> Body:
    """Return the body of a region of film (areal mass in g/mm²)."""
    mass = areal_mass * area(region)
    (x, y), moments = centroid_and_moments(region)
    return Body(mass, mass * x, mass * y, areal_mass * (moments.xx + moments.yy))


def whole(bodies: Iterable[Body]) -> Body:
    """Return several bodies as one."""
    mass = moment_x = moment_y = inertia = 0.0
    for body in bodies:
        mass += body.mass
        moment_x += body.moment_x
        moment_y += body.moment_y
        inertia += body.inertia
    return Body(mass, moment_x, moment_y, inertia)


def scaled(body: Body, factor: float) -> Body:
    """Return a body whose mass is a multiple of that of another; a negative one takes it away."""
    return Body(*(factor * each for each in body))


PieceBody = tuple[DiscPiece, Body | None]
"""A piece and its body, None where its film is to be chosen."""


def piece_bodies(design: Design, films: Mapping[str, Film]) -> tuple[PieceBody, ...]:
    """Return every piece of a design, counterweight dots too, with its body."""
    pieces = (*design_pieces(design), *dot_pieces(design))
    return tuple((piece, _piece_body(piece, films[piece.film])) for piece in pieces)


def _piece_body(piece: DiscPiece, film: Film) -> Body | None:
    return region_body(piece.region, film.areal_mass) if film.is_chosen else None
