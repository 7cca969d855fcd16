"""What a recorded run did to the sheets it was cut from, for the stock ledger."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from jobprep.cutting.leftovers import leftovers, stored_outline
from jobprep.cutting.plan import PlacedPart
from jobprep.disc.part import Part
from jobprep.errors import CannotDoError
from jobprep.geometry.outline import Contour, moved_region, reversed_contour
from jobprep.model import Points
from jobprep.runs.record import RunRecord
from jobprep.stock.booking import CutRun, CutSheet, Remainder


def cut_run(record: RunRecord, digest: str) -> CutRun:
    """Return the sheets of a run and what is kept of each, with its true outline.

    ``digest`` is the SHA-256 of the record, which tells runs apart.
    """
    job, parts = record.job, {part.number: part for part in record.parts}
    counts: Counter[str] = Counter()
    sheets = []
    for index, sheet in enumerate(record.sheets):
        counts[sheet.film] += 1
        kept = leftovers(
            sheet.region,
            _placed(record, parts, index),
            job.kerf[sheet.film],
            job.leftovers,
            job.nesting,
        )
        sheets.append(
            CutSheet(
                film=sheet.film,
                number=counts[sheet.film],
                piece=sheet.piece,
                outline=_corners(sheet.region.outer),
                defects=tuple(_corners(reversed_contour(hole)) for hole in sheet.region.holes),
                leftovers=tuple(Remainder(*stored_outline(piece)) for piece in kept),
            )
        )
    return CutRun(digest=digest, title=job.title, sheets=tuple(sheets))


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
    counts: Counter[str] = Counter()
    found = []
    for index, sheet in enumerate(record.sheets):
        counts[sheet.film] += 1
        if (sheet.film, counts[sheet.film]) in sheets:
            found.append(index)
    return found


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
