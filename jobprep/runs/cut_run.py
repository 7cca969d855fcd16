"""What a recorded run did to the sheets it was cut from, for the stock ledger."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from jobprep.cutting.leftovers import leftovers, stored_outline
from jobprep.cutting.plan import PlacedPart
from jobprep.cutting.straight_cuts import worth_keeping
from jobprep.disc.congruence import same_region
from jobprep.disc.part import Part
from jobprep.errors import CannotDoError
from jobprep.geometry.guillotine import divided
from jobprep.geometry.outline import Contour, moved_region, reversed_contour
from jobprep.model import Points
from jobprep.planning.bed import place_on_sheet
from jobprep.planning.plan import OpenedSheet
from jobprep.runs.record import RunRecord
from jobprep.stock.booking import CutRun, CutSheet, Remainder


def cut_run(record: RunRecord, digest: str) -> CutRun:
    """Return the stock that a run took and what is kept of it, with true outlines.

    ``digest`` is the SHA-256 of the record, which tells runs apart.
    """
    numbers = _numbers(record)
    whole = (
        _cut_sheet(record, sheet, {index: numbers[index]})
        for index, sheet in enumerate(record.sheets)
        if sheet.cut_from is None
    )
    cut_up = (_cut_up(record, number, numbers) for number in range(len(record.cut_up)))
    return CutRun(digest=digest, title=record.job.title, sheets=(*whole, *cut_up))


def _numbers(record: RunRecord) -> list[int]:
    """Return the number of each sheet within its film, from 1."""
    counts: Counter[str] = Counter()
    numbers = []
    for sheet in record.sheets:
        counts[sheet.film] += 1
        numbers.append(counts[sheet.film])
    return numbers


def _cut_up(record: RunRecord, number: int, numbers: Sequence[int]) -> CutSheet:
    """Return a sheet larger than the bed, with what the cuts by hand leave of it."""
    sheet, cuts = record.cut_up[number].sheet, record.cut_up[number].cuts
    own = {
        index: piece
        for index, piece in enumerate(record.sheets)
        if piece.cut_from is not None and piece.cut_from.sheet == number
    }
    places = [place_on_sheet(piece) for piece in own.values()]
    beside = [
        leaf
        for leaf in divided(sheet.region, cuts).leaves()
        if not any(same_region(leaf, place) for place in places)
    ]
    job = record.job
    kept = worth_keeping(beside, job.kerf[sheet.film], job.leftovers, job.nesting)
    by_hand = tuple(Remainder(*stored_outline(piece)) for piece in kept)
    return _cut_sheet(record, sheet, {index: numbers[index] for index in own}, by_hand)


def _cut_sheet(
    record: RunRecord,
    sheet: OpenedSheet,
    numbers: Mapping[int, int],
    by_hand: tuple[Remainder, ...] = (),
) -> CutSheet:
    """Return a piece of stock; ``numbers`` are those of the sheets it gave, by their index."""
    job, parts = record.job, {part.number: part for part in record.parts}
    kept = (
        Remainder(*stored_outline(piece), sheet=number)
        for index, number in numbers.items()
        for piece in leftovers(
            record.sheets[index].region,
            _placed(record, parts, index),
            job.kerf[sheet.film],
            job.leftovers,
            job.nesting,
        )
    )
    return CutSheet(
        film=sheet.film,
        numbers=tuple(numbers.values()),
        piece=sheet.piece,
        outline=_corners(sheet.region.outer),
        defects=tuple(_corners(reversed_contour(hole)) for hole in sheet.region.holes),
        leftovers=(*by_hand, *kept),
    )


def spoiled_counts(
    record: RunRecord,
    spoiled: Sequence[tuple[str, int]],
    sheets: frozenset[tuple[str, int]] = frozenset(),
) -> Mapping[int, int]:
    """Return how many copies of each part, by number, must be cut again.

    ``spoiled`` names parts by number or name, with a count; of ``sheets`` (film and number of the
    sheet) every part is spoiled.

    Raises
    ------
    CannotDoError
        When the run has no such part, or fewer of it.
    """
    parts = {part.number: part for part in record.parts}
    counts: Counter[int] = Counter()
    for index in _indices(record, sheets):
        counts.update(each.part for each in record.placements if each.sheet == index)
    for named, count in spoiled:
        found = [part for part in parts.values() if named in (str(part.number), part.name)]
        if len(found) != 1:
            which = "no part" if not found else f"{len(found)} parts called"
            raise CannotDoError(f'the run has {which} "{named}"; give its number on the parts list')
        counts[found[0].number] += count
    for number, count in counts.items():
        cut = sum(each.part == number for each in record.placements)
        if count > cut:
            name = parts[number].name
            raise CannotDoError(f"the run has cut {cut} of part {number} ({name}), not {count}")
    return dict(sorted(counts.items()))


def _indices(record: RunRecord, sheets: frozenset[tuple[str, int]]) -> list[int]:
    numbered = zip(record.sheets, _numbers(record), strict=True)
    return [n for n, (sheet, number) in enumerate(numbered) if (sheet.film, number) in sheets]


def _placed(record: RunRecord, parts: Mapping[int, Part], sheet: int) -> list[PlacedPart]:
    return [
        PlacedPart(
            number=each.part,
            name=parts[each.part].name,
            copy=each.copy + 1,
            region=moved_region(parts[each.part].region, each.angle, each.x, each.y),
        )
        for each in record.placements
        if each.sheet == sheet
    ]


def _corners(contour: Contour) -> Points:
    return tuple((segment.start.x, segment.start.y) for segment in contour.segments)
