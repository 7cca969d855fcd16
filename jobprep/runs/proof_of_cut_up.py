"""Whether the sheets of a record that are cut up by hand give the pieces that it says are cut."""

from __future__ import annotations

from collections.abc import Iterator

from jobprep.disc.congruence import same_region
from jobprep.errors import Finding
from jobprep.files.toml.lines import field_path
from jobprep.geometry.guillotine import StrayCutError, divided
from jobprep.geometry.outline import Region
from jobprep.planning.bed import place_on_sheet
from jobprep.planning.plan import OpenedSheet
from jobprep.runs.record import RunRecord


def cut_up_faults(record: RunRecord) -> Iterator[Finding]:
    """Yield cuts that part nothing, and sheets that are none of the pieces they leave, by field."""
    for index, each in enumerate(record.cut_up):
        path = field_path(("cut_up", index))
        try:
            free = list(divided(each.sheet.region, each.cuts).leaves())
        except StrayCutError as stray:
            where = field_path(("cut_up", index, "cuts", stray.number))
            yield Finding.error(where, "it does not reach right across one piece of its sheet")
            continue
        own = [
            (number, sheet)
            for number, sheet in enumerate(record.sheets)
            if sheet.cut_from is not None and sheet.cut_from.sheet == index
        ]
        if not own:
            yield Finding.error(path, "no sheet of the run is cut from it")
        for number, sheet in own:
            at = field_path(("sheets", number))
            piece = _taken(free, sheet)
            if piece is None:
                message = (
                    "it is no piece of the larger sheet after the cuts by hand, or a second one"
                )
                yield Finding.error(f"{at}.cut_from", message)
            else:
                free.remove(piece)
            if _stock(sheet) != _stock(each.sheet):
                yield Finding.error(at, "it is not of the same stock as the sheet it is cut from")


def _taken(free: list[Region], sheet: OpenedSheet) -> Region | None:
    place = place_on_sheet(sheet)
    return next((piece for piece in free if same_region(piece, place)), None)


def _stock(sheet: OpenedSheet) -> tuple[str, str, bool]:
    return sheet.label, sheet.piece, sheet.is_bought
