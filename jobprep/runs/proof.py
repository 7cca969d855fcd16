"""Prove of a recorded run what its plan proved: outlines, marks, discs, stock and the nest.

A record can be edited, and what it says is cut as it stands. So every fact of shape or number in
it is looked at again, with the checks of a plan, before anything is made from it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from functools import partial

from jobprep.disc.marks import DRAWN_CLEARANCE, OFF_THE_PART, lies_on
from jobprep.disc.part import Part
from jobprep.errors import Finding
from jobprep.files.toml.lines import field_path
from jobprep.geometry.outline import Region
from jobprep.geometry.whole import region_faults
from jobprep.nesting.check import MOST_TOLD, nest_faults
from jobprep.nesting.nest import Placement
from jobprep.planning.film_task import film_task
from jobprep.planning.plan import OpenedSheet
from jobprep.planning.spacing import former_spacing
from jobprep.runs.proof_of_cut_up import cut_up_faults
from jobprep.runs.proof_of_discs import disc_faults
from jobprep.runs.proof_of_stock import stock_faults
from jobprep.runs.record import RunRecord, recorded_nest


def record_faults(record: RunRecord) -> Iterator[Finding]:
    """Yield everything in a record that no plan of its job says, by field; cautions, too.

    The values of ``record`` are of the right kinds and within their bounds.
    """
    found = [
        *_part_outlines(record.parts),
        *_sheet_outlines("sheets", record.sheets),
        *_sheet_outlines("cut_up", [each.sheet for each in record.cut_up]),
        *cut_up_faults(record),
    ]
    yield from found
    if not found:  # the rest measures and compares outlines
        yield from _marks(record.parts)
        yield from disc_faults(record)
        yield from stock_faults(record)
        yield from _copies(record)
        yield from _nests(record)


def _part_outlines(parts: Sequence[Part]) -> Iterator[Finding]:
    for number, part in enumerate(parts):
        yield from _outline(("parts", number, "contours"), part.region, defects=False)


def _sheet_outlines(name: str, sheets: Sequence[OpenedSheet]) -> Iterator[Finding]:
    for number, sheet in enumerate(sheets):
        yield from _outline((name, number, "contours"), sheet.region, defects=True)


def _outline(keys: tuple[str | int, ...], region: Region, *, defects: bool) -> Iterator[Finding]:
    for fault in region_faults(region, defects=defects):
        yield Finding.error(field_path((*keys, fault.contour)), fault.message)


def _marks(parts: Sequence[Part]) -> Iterator[Finding]:
    for number, part in enumerate(parts):
        for count, mark in enumerate(part.marks):
            if not lies_on(mark, part.region, DRAWN_CLEARANCE):
                path = field_path(("parts", number, "marks", count))
                yield Finding.error(path, OFF_THE_PART)


def _copies(record: RunRecord) -> Iterator[Finding]:
    """Yield copies of parts that lie nowhere or twice, and sheets on which nothing lies."""
    placed = Counter((each.part, each.copy) for each in record.placements)
    for number, each in enumerate(record.placements):
        if placed[each.part, each.copy] > 1:
            message = f"copy {each.copy + 1} of part {each.part} lies in two places"
            yield Finding.error(field_path(("placements", number)), message)
            placed[each.part, each.copy] = 1
    counts = Counter(part for part, _ in placed)
    for number, part in enumerate(record.parts):
        missing, unplaced = part.quantity - counts[part.number], record.unplaced.get(part.number)
        if missing == (unplaced or 0):
            continue
        words = f"{counts[part.number]} of its {part.quantity} copies lie on a sheet"
        path = field_path(("parts", number))
        if unplaced is None:
            yield Finding.caution(path, f"{words}; the rest is not cut")
        else:
            yield Finding.error(path, f"{words}, not {part.quantity - unplaced}")
    used = {each.sheet for each in record.placements}
    for number in range(len(record.sheets)):
        if number not in used:
            yield Finding.error(field_path(("sheets", number)), "no part lies on this sheet")


def _nests(record: RunRecord) -> Iterator[Finding]:
    """Prove where the parts of each film lie."""
    for name in dict.fromkeys(part.film for part in record.parts):
        own = [part for part in record.parts if part.film == name]
        numbers = {part.number for part in own}
        here = [n for n, each in enumerate(record.placements) if each.part in numbers]
        shelf, nest = recorded_nest(record, record.job.films[name], own)
        places = dict(zip(nest.placements, here, strict=True))
        task = film_task(record.job, record.job.films[name], own, shelf)
        spacing = task.least_spacing
        if record.is_whole is None:  # which no later version leaves out
            spacing = former_spacing(task.kerf, task.nesting, task.cutting, task.film)
        faults = nest_faults(task.problem.items, task.problem.sheets, spacing, nest)
        # What lies nowhere or twice is said elsewhere.
        for count, fault in enumerate(each for each in faults if each.placed):
            if count == MOST_TOLD:  # of all that lie on one another there may be millions
                rest = f"the nest of {name} has more faults than these {MOST_TOLD}"
                yield Finding.error("placements", rest)
                break
            path = field_path(("placements", places[fault.placed[-1]]))
            yield Finding.error(path, fault.said(partial(_named, own)))


def _named(parts: Sequence[Part], placed: Placement) -> str:
    return f"copy {placed.copy + 1} of part {parts[placed.item].number}"
