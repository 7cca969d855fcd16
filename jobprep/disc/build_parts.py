"""From a job to its numbered parts.

Numbers run from 1: disc by disc, layer by layer from the front, sector by sector clockwise, then
counterweight dots, then the job's loose parts, unless they name their own. Pieces of one layer that
are equal when turned about the centre, of the same film and with no name of their own, are
interchangeable on the bench and become one part with several copies per disc; everything else stays
a part of its own, because its place matters. A film with a grain lies in the disc as it is drawn:
there pieces are equal only if their turn is one that the film allows.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path as FilePath
from types import MappingProxyType

from jobprep.disc.congruence import turn_between
from jobprep.disc.features import hole_region
from jobprep.disc.marks import part_marks, sector_field
from jobprep.disc.part import Part, PieceNumbers
from jobprep.disc.pieces import DiscPiece, design_pieces
from jobprep.geometry.outline import Path, Region
from jobprep.model.design import Design
from jobprep.model.film import Film
from jobprep.model.job import Job, LoosePart

ReadOutline = Callable[[FilePath], Region]
ReadStrokes = Callable[[FilePath], tuple[Path, ...]]

SAME_TURN = 1e-9
"""Turns this close are the same, radians: rounding."""


def _no_strokes(path: FilePath) -> tuple[Path, ...]:
    raise ValueError(f"nobody reads the engraving {path}")


def build_parts(
    job: Job, read_outline: ReadOutline, read_strokes: ReadStrokes = _no_strokes
) -> tuple[Part, ...]:
    """Return every part of a job, numbered from 1, or as a loose part says.

    ``read_outline`` reads the drawing of a loose part and ``read_strokes`` its engraving; what they
    raise passes through.
    """
    parts: list[Part] = []
    for index, order in enumerate(job.discs):
        first = len(parts) + 1
        disc = disc_parts(order.design, order.copies, first_number=first, films=job.films)
        parts.extend(replace(part, disc=index) for part in disc)
    given = {loose.number for loose in job.parts}
    free = (number for number in itertools.count(len(parts) + 1) if number not in given)
    for loose in job.parts:
        parts.append(
            Part(
                number=loose.number or next(free),
                name=loose.name,
                film=loose.film,
                quantity=loose.copies,
                region=_outline(loose, read_outline),
                marks=() if loose.engraving is None else read_strokes(loose.engraving),
            )
        )
    return tuple(parts)


def disc_parts(
    design: Design,
    copies: int = 1,
    first_number: int = 1,
    films: Mapping[str, Film] = MappingProxyType({}),
) -> tuple[Part, ...]:
    """Return the numbered parts of one design, for a number of copies of the disc.

    A film missing from ``films`` counts as one without a grain.
    """
    parts = [
        _part(design, number, pieces, turns, copies)
        for number, (pieces, turns) in enumerate(_merged(design, films), start=first_number)
    ]
    parts.extend(
        Part(
            number=number,
            name=f"{design.name}, {dot.name}",
            film=dot.film,
            quantity=copies * dot.count,
            region=hole_region(dot),
            per_disc=dot.count,
            turns=(0.0,) * dot.count,
            sectors=(0,) * dot.count,
        )
        for number, dot in enumerate(design.dots, start=first_number + len(parts))
    )
    return tuple(parts)


def numbers_alone(design: Design, films: Mapping[str, Film]) -> PieceNumbers:
    """Return the numbers that pieces of a design have in a job of it alone."""
    found: dict[tuple[int, int], tuple[int, ...]] = {}
    for number, (pieces, _) in enumerate(_merged(design, films), start=1):
        for place in dict.fromkeys((piece.layer, piece.sector) for piece in pieces):
            found[place] = (*found.get(place, ()), number)
    return found


def _merged(
    design: Design, films: Mapping[str, Film]
) -> Iterator[tuple[tuple[DiscPiece, ...], tuple[float, ...]]]:
    """Yield the groups of interchangeable pieces and how far each is turned from its first."""
    groups: list[tuple[list[DiscPiece], list[float]]] = []
    for piece in design_pieces(design):
        for pieces, turns in groups:
            turn = _interchangeable(design, pieces[0], piece, films.get(piece.film))
            if turn is not None:
                pieces.append(piece)
                turns.append(turn)
                break
        else:
            groups.append(([piece], [0.0]))
    for pieces, turns in groups:
        yield tuple(pieces), tuple(turns)


def _interchangeable(
    design: Design, first: DiscPiece, second: DiscPiece, film: Film | None
) -> float | None:
    """Return the turn that takes the first piece to the second, None if they are not equal."""
    same_place = first.layer == second.layer and first.film == second.film
    if not same_place or _name(design, first) != _name(design, second):
        return None
    turn = turn_between(first.region, second.region)
    step = None if film is None else film.rotation_step
    if turn is None or step is None or abs(math.remainder(turn, step)) < SAME_TURN:
        return turn
    return None


def _name(design: Design, piece: DiscPiece) -> str:
    sectors = design.layers[piece.layer - 1].sectors
    return sectors[piece.sector - 1].name if piece.sector else ""


def _part(
    design: Design,
    number: int,
    pieces: tuple[DiscPiece, ...],
    turns: tuple[float, ...],
    copies: int,
) -> Part:
    first = pieces[0]
    return Part(
        number=number,
        name=_title(design, pieces),
        film=first.film,
        quantity=copies * len(pieces),
        region=first.region,
        marks=_marks(design, number, first),
        layer=first.layer,
        sector=first.sector,
        per_disc=len(pieces),
        turns=turns,
        sectors=tuple(piece.sector for piece in pieces),
    )


def _marks(design: Design, number: int, piece: DiscPiece) -> tuple[Path, ...]:
    if not piece.sector:
        return ()
    field = sector_field(design, design.layers[piece.layer - 1], piece.sector)
    return part_marks(piece.region, field, number, design.marks)


def _title(design: Design, pieces: Iterable[DiscPiece]) -> str:
    """Name a part by its disc, layer, sectors and film: ``Aurora wheel, colour 1+3 amber``."""
    group = tuple(pieces)
    first = group[0]
    title = f"{design.name}, {design.layers[first.layer - 1].name}"
    if first.sector:
        numbers = "+".join(dict.fromkeys(str(piece.sector) for piece in group))
        title += f" {numbers} {_name(design, first) or first.film}"
    if first.piece:
        title += f", piece {'+'.join(dict.fromkeys(str(piece.piece) for piece in group))}"
    return title


def _outline(loose: LoosePart, read_outline: ReadOutline) -> Region:
    if loose.drawing is not None:
        return read_outline(loose.drawing)
    if loose.region is None:
        raise ValueError(f"the loose part {loose.name} has neither a region nor a drawing")
    return loose.region
