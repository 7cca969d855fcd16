"""Whether the sheets of a record are pieces of the stock of its job, or sizes its films come in."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from jobprep.disc.congruence import SAME, same_region
from jobprep.errors import Finding
from jobprep.files.toml.lines import field_path
from jobprep.geometry.measure import region_bounds
from jobprep.geometry.outline import Region, moved_region, rectangle
from jobprep.model import Film, Job
from jobprep.planning.bed import QUARTER, fits_bed, too_large
from jobprep.planning.plan import OpenedSheet
from jobprep.planning.shelf import piece_region
from jobprep.runs.record import RunRecord

ASIDE = "its lower left corner does not lie at (0, 0), where sheets lie"


def stock_faults(record: RunRecord) -> Iterator[Finding]:
    """Yield the sheets of a record that are not there, or opened too often, by field."""
    job = record.job
    opened: Counter[int] = Counter()
    for number, sheet in enumerate(record.sheets):
        path = field_path(("sheets", number))
        if _is_aside(sheet):
            yield Finding.error(f"{path}.contours", ASIDE)
        elif not fits_bed(sheet, job.cutter):
            yield Finding.error(f"{path}.contours", too_large(sheet, job.cutter))
        elif sheet.cut_from is None:
            yield from _stock_fault(path, job, sheet, opened)
    for number, each in enumerate(record.cut_up):
        path = field_path(("cut_up", number))
        if _is_aside(each.sheet):
            yield Finding.error(f"{path}.contours", ASIDE)
        else:
            yield from _stock_fault(path, job, each.sheet, opened)


def _is_aside(sheet: OpenedSheet) -> bool:
    box = region_bounds(sheet.region)
    return max(abs(box.x_min), abs(box.y_min)) > SAME


def _stock_fault(
    path: str, job: Job, sheet: OpenedSheet, opened: Counter[int]
) -> Iterator[Finding]:
    """Yield why a piece of stock is not there, or no more; ``opened`` counts what was there."""
    if (piece := _on_hand(job, sheet)) is not None:
        opened[piece] += 1
        count = job.stock[piece].count
        if opened[piece] == count + 1:
            there = "there is 1" if count == 1 else f"there are {count}"
            yield Finding.error(path, f"it is opened more often than {there} of it")
    elif not _may_be_bought(job, sheet) or not _is_sold(job.films[sheet.film], sheet.region):
        named = sheet.piece or sheet.label
        what = f'"{named}"' if named else f"a sheet of {sheet.film}"
        message = f"{what} of this outline is not among the stock of the record's job"
        yield Finding.error(f"{path}.contours", message)


def _on_hand(job: Job, sheet: OpenedSheet) -> int | None:
    """Return which piece of the job's stock a sheet is, as it lay or turned by a quarter."""
    if sheet.is_bought:
        return None
    for number, piece in enumerate(job.stock):
        if (piece.film, piece.label, piece.piece) == (sheet.film, sheet.label, sheet.piece):
            there = piece_region(piece)
            if same_region(there, sheet.region) or same_region(_turned(there), sheet.region):
                return number
    return None


def _may_be_bought(job: Job, sheet: OpenedSheet) -> bool:
    """Whether a sheet may be none of the stock: it is bought, or the job names none of its film."""
    own = any(piece.film == sheet.film and not piece.piece for piece in job.stock)
    return sheet.is_bought or not (sheet.label or sheet.piece or own)


def _is_sold(film: Film, region: Region) -> bool:
    """Whether a film comes in a sheet of this outline, or as a roll at least as long."""
    box = region_bounds(region)
    if not same_region(region, Region(rectangle(box.width, box.height))):
        return False
    sides = (box.width, box.height)
    for size in film.sheets:
        longest, across = size.width, size.height
        for along, aside in (sides, sides[::-1]):
            fits = along <= longest + SAME if size.is_roll else abs(along - longest) <= SAME
            if fits and abs(aside - across) <= SAME:
                return True
    return False


def _turned(region: Region) -> Region:
    turned = moved_region(region, QUARTER, 0.0, 0.0)
    box = region_bounds(turned)
    return moved_region(turned, 0.0, -box.x_min, -box.y_min)
