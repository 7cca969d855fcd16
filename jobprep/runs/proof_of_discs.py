"""Whether the parts of recorded discs are the pieces of their designs, as many as the job asks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence

from jobprep.disc.congruence import same_region
from jobprep.disc.design_faults import design_faults
from jobprep.disc.part import Part
from jobprep.disc.pieces import DiscPiece, dot_pieces, layer_pieces
from jobprep.errors import Finding
from jobprep.files.toml.lines import field_path
from jobprep.geometry.boolean import difference
from jobprep.geometry.measure import area, perimeter
from jobprep.geometry.outline import Region, moved_region
from jobprep.model import Design
from jobprep.runs.record import RunRecord

SAME = 1e-5
"""How far, on the average, two outlines of one piece may lie apart, mm: another version may have
put its segments together in another way, and rounded in between."""

_Pieces = Mapping[tuple[int, int], Sequence[DiscPiece]]
"""The pieces of a design by layer, counted from 1, and sector; of layer 0 the counterweights."""


def disc_faults(record: RunRecord) -> Iterator[Finding]:
    """Yield where the parts of a record are not those of the discs in its job, by field."""
    for index, order in enumerate(record.job.discs):
        design = order.design
        path = field_path(("job", "disc", index, "design"))
        faults = [fault.inside(path) for fault in design_faults(design) if fault.is_error]
        yield from faults
        own = [(number, part) for number, part in enumerate(record.parts) if part.disc == index]
        if faults:
            continue
        pieces = _pieces(design)
        for number, part in own:
            yield from _part_faults(("parts", number), part, design, pieces)
            yield from _quantity_faults(("parts", number), part, order.copies, record.is_whole)
        if record.is_whole and order.copies:
            yield from _missing(path, design, pieces, [part for _, part in own])


def _pieces(design: Design) -> _Pieces:
    pieces: dict[tuple[int, int], list[DiscPiece]] = {}
    for each in dot_pieces(design):
        pieces.setdefault((0, each.sector), []).append(each)
    for layer in range(1, len(design.layers) + 1):
        for each in layer_pieces(design, layer):
            pieces.setdefault((layer, each.sector), []).append(each)
    return pieces


def _part_faults(
    keys: tuple[str | int, ...], part: Part, design: Design, pieces: _Pieces
) -> Iterator[Finding]:
    """Yield where a part is no piece of its design."""
    for turn, sector in zip(part.turns, part.sectors, strict=True):
        region = moved_region(part.region, turn, 0.0, 0.0)
        own = pieces.get((part.layer, sector), ())
        there = [each for each in own if _is_same(region, each.region)]
        if not there:
            message = f"it is not the outline of {_where(design, part.layer, sector)}"
            yield Finding.error(field_path((*keys, "contours")), message)
        elif all(each.film != part.film for each in there):
            film, where = there[0].film, _where(design, part.layer, sector)
            message = f"{part.film} is not the film of {where}, which is {film}"
            yield Finding.error(field_path((*keys, "film")), message)
        else:
            continue
        return


def _quantity_faults(
    keys: tuple[str | int, ...], part: Part, copies: int, is_whole: bool | None
) -> Iterator[Finding]:
    """Yield a quantity that the job's copies of the disc do not ask for.

    Where only some parts are cut again there may be fewer.
    """
    asked = copies * part.per_disc
    if part.quantity == asked or (not is_whole and part.quantity < asked):
        return
    message = f"{part.quantity} is not {asked}, as many as {copies} discs take"
    yield Finding.error(field_path((*keys, "quantity")), message)


def _missing(
    path: str, design: Design, pieces: _Pieces, parts: Sequence[Part]
) -> Iterator[Finding]:
    """Yield the pieces of a design of which there is no part, or more than one."""
    there = Counter((part.layer, sector) for part in parts for sector in part.sectors)
    for layer, sector in sorted(there.keys() | pieces.keys()):
        counts = there[layer, sector], len(pieces.get((layer, sector), ()))
        if counts[0] != counts[1]:
            where = _where(design, layer, sector)
            message = f"{counts[0]} parts of this record, not {counts[1]}, are {where}"
            yield Finding.error(path, message)


def _is_same(a: Region, b: Region) -> bool:
    if same_region(a, b):
        return True
    differs = sum(map(area, (*difference(a, [b]), *difference(b, [a]))))
    return differs <= SAME * (perimeter(a) + perimeter(b))


def _where(design: Design, layer: int, sector: int) -> str:
    if not layer:
        return f'a counterweight of "{design.name}"'
    name = f'layer "{design.layers[layer - 1].name}" of "{design.name}"'
    return f"sector {sector} of {name}" if sector else name
