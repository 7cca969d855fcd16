"""References of a record that lead nowhere."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from jobprep.disc.part import Part
from jobprep.disc.unchosen import unchosen
from jobprep.errors import Finding
from jobprep.files.toml.lines import field_path
from jobprep.files.toml.problems import shown
from jobprep.model import TO_CHOOSE
from jobprep.planning.plan import OpenedSheet
from jobprep.runs.record import RecordedPlacement, RunRecord


def references(record: RunRecord) -> Iterator[Finding]:
    """Yield what names a film, a disc, a part or a sheet that a record does not have, by field."""
    for number, part in enumerate(record.parts):
        path = field_path(("parts", number))
        yield from _film(path, part.film, record)
        yield from _origin(path, part, record)
    for number, sheet in enumerate(record.sheets):
        path = field_path(("sheets", number))
        yield from _film(path, sheet.film, record)
        if sheet.cut_from is not None:
            yield from _larger(f"{path}.cut_from", sheet, record)
    for number, each in enumerate(record.cut_up):
        yield from _film(field_path(("cut_up", number)), each.sheet.film, record)
    yield from _unchosen(record)
    known = {part.number: part for part in record.parts}
    if len(known) < len(record.parts):
        yield Finding.error("parts", "two parts have one number")
    for number, placement in enumerate(record.placements):
        yield from _placement(field_path(("placements", number)), placement, record, known)


def _film(path: str, film: str, record: RunRecord) -> Iterator[Finding]:
    if film not in record.job.films or film not in record.job.kerf:
        yield Finding.error(f"{path}.film", f"{shown(film)} is not a film of this record")


def _larger(path: str, sheet: OpenedSheet, record: RunRecord) -> Iterator[Finding]:
    """Yield a larger sheet that there is not, or of another film."""
    index = 0 if sheet.cut_from is None else sheet.cut_from.sheet
    if not index < len(record.cut_up):
        message = f"{index} is not a sheet that is cut up, which count from 0"
        yield Finding.error(f"{path}.sheet", message)
    elif record.cut_up[index].sheet.film != sheet.film:
        other = record.cut_up[index].sheet.film
        yield Finding.error(f"{path}.sheet", f"this sheet is {sheet.film}, the larger one {other}")


def _unchosen(record: RunRecord) -> Iterator[Finding]:
    """Yield films that were to be chosen: of those nothing is ever planned."""
    for index, order in enumerate(record.job.discs):
        for place in unchosen(order.design):
            path = field_path(("job", "disc", index, "design"))
            message = f"{shown(TO_CHOOSE)} is a film to be chosen, which no run was planned with"
            yield Finding.error(f"{path}.{place.field}", message)


def _origin(path: str, part: Part, record: RunRecord) -> Iterator[Finding]:
    """Yield a part's places in a disc that it does not have."""
    if part.disc is None:
        return
    if not part.disc < len(record.job.discs):
        yield Finding.error(f"{path}.disc", f"{part.disc} is not a disc, which count from 0")
        return
    layers = record.job.discs[part.disc].design.layers
    if not part.layer <= len(layers):
        yield Finding.error(f"{path}.layer", f"{part.layer} is not a layer of its disc")
        return
    n_sectors = len(layers[part.layer - 1].sectors) if part.layer else 0
    if any(sector > n_sectors for sector in (part.sector, *part.sectors)):
        yield Finding.error(f"{path}.sector", "is not a sector of its layer")


def _placement(
    path: str, placement: RecordedPlacement, record: RunRecord, known: Mapping[int, Part]
) -> Iterator[Finding]:
    part = known.get(placement.part)
    if part is None:
        message = f"{placement.part} is not the number of a part of this record"
        yield Finding.error(f"{path}.part", message)
    elif not placement.copy < part.quantity:
        copies = f"a copy of part {part.number}, which are 0 to {part.quantity - 1}"
        yield Finding.error(f"{path}.copy", f"{placement.copy} is not {copies}")
    if not placement.sheet < len(record.sheets):
        message = f"{placement.sheet} is not a sheet, which count from 0"
        yield Finding.error(f"{path}.sheet", message)
    elif part is not None and record.sheets[placement.sheet].film != part.film:
        sheet = record.sheets[placement.sheet]
        message = f"part {part.number} is {part.film}, this sheet {sheet.film}"
        yield Finding.error(f"{path}.sheet", message)
