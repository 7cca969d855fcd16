"""The job in a run's record, held to what its own files may hold.

The record keeps values as the code has them. Turned back into the tables of their files, they meet
the same bounds and rules, said in the same words; a number stands in the unit of its file there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any

from pydantic import Field

from jobprep.errors import Finding, Source
from jobprep.files.design.design import DesignFile
from jobprep.files.design.whole import design_faults
from jobprep.files.job.prices import PricesTable
from jobprep.files.job.rules import CuttingTable, LeftoversTable, NestingTable
from jobprep.files.job.stock import StockTable
from jobprep.files.ledger.piece import Outline
from jobprep.files.materials.bases import refusal
from jobprep.files.materials.cutter import CutterFile
from jobprep.files.materials.film import FilmFile
from jobprep.files.materials.names import is_material_name
from jobprep.files.toml.field_types import KerfWidth, Text
from jobprep.files.toml.form import Faults, form_of
from jobprep.files.toml.lines import TomlFile, field_path
from jobprep.files.toml.problems import shown
from jobprep.files.toml.table import Table
from jobprep.model import Cutter, DiscOrder, Film, Job, StockPiece
from jobprep.units import to_g_m2

MOST_DISCS = 10_000


class RecordedPieceTable(StockTable):
    """A sheet or leftover of the job or the ledger, whose outlines may have more corners."""

    outline: Outline | None = None
    defects: Annotated[list[Outline], Field(max_length=1000, description="a list of outlines")] = []


class RecordedRulesTable(Table[None]):
    """What of a job is neither a disc nor a material."""

    title: Text
    kerf: dict[str, KerfWidth]
    stock: list[RecordedPieceTable]
    nesting: NestingTable
    prices: PricesTable
    cutting: CuttingTable
    leftovers: LeftoversTable


def job_faults(job: Job) -> Iterator[Finding]:
    """Yield what no file of a job may hold, by its field in the record."""
    yield from _checked(RecordedRulesTable, _rules(job), "job")
    for number, order in enumerate(job.discs):
        yield from _disc(field_path(("job", "discs", number)), order)
    for name, film in job.films.items():
        path = field_path(("job", "films", name))
        yield from _film(path, name, film)
        reason = refusal(film.base) or film.refused
        if reason is not None and name in job.kerf:
            yield Finding.error(path, f"{name} must not be cut: {reason}")
    yield from _cutter(job.cutter)


def _checked(
    schema: type[Table[Any]], fields: Mapping[str, Any], at: str, also: Faults[Any] | None = None
) -> Iterator[Finding]:
    """Yield what is wrong with the fields of a table that stands at a path."""
    file = TomlFile(Path(), fields, Source(""), "")
    for problem in form_of(schema, file, also).problems:
        yield Finding.error(problem.place.field, problem.message).inside(at)


def _rules(job: Job) -> dict[str, Any]:
    return {
        "title": job.title,
        "kerf": dict(job.kerf),
        "stock": [_piece(piece) for piece in job.stock],
        "nesting": NestingTable.fields_in(job.nesting, job.cutting),
        "prices": PricesTable.fields_of(job.prices),
        "cutting": CuttingTable.fields_of(job.cutting),
        "leftovers": LeftoversTable.fields_of(job.leftovers),
    }


def _piece(piece: StockPiece) -> dict[str, Any]:
    return RecordedPieceTable.written(piece, label=piece.label or None)


def _disc(path: str, order: DiscOrder) -> Iterator[Finding]:
    if not 0 <= order.copies <= MOST_DISCS:
        message = f"{shown(order.copies)} is not a number of discs from 0 to {MOST_DISCS}"
        yield Finding.error(f"{path}.copies", message)

    def whole(design: DesignFile, values: Mapping[str, object]) -> Iterator[Finding]:
        # Whether its artwork is still there matters to who prints it.
        found = design_faults(design, values, Path())
        return (each for each in found if not each.place.field.endswith(".file"))

    fields = {"format": 1, **DesignFile.fields_of(order.design)}
    yield from _checked(DesignFile, fields, f"{path}.design", whole)


def _film(path: str, name: str, film: Film) -> Iterator[Finding]:
    if film.name != name or not is_material_name(name):
        yield Finding.error(f"{path}.name", f"{shown(film.name)} cannot name a film here")
    fields = {"format": 1, **FilmFile.fields_of(replace(film, density=1.0))}
    del fields["density_g_cm3"]  # which may follow from the areal mass, and need have no bound
    fields["areal_mass_g_m2"] = to_g_m2(film.areal_mass)
    yield from _checked(FilmFile, fields, path)


def _cutter(cutter: Cutter) -> Iterator[Finding]:
    if not is_material_name(cutter.name):
        yield Finding.error("job.cutter.name", f"{shown(cutter.name)} cannot name a cutter")
    yield from _checked(CutterFile, {"format": 1, **CutterFile.fields_of(cutter)}, "job.cutter")
