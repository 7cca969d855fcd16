"""A job's file as the page shows it: what is written, what is assumed, what is wrong."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from jobprep.disc.design_faults import design_faults
from jobprep.errors import Finding, InputError, JobprepError
from jobprep.files.job.job import job_from
from jobprep.files.job.part import PartTable
from jobprep.files.job.stock import StockTable
from jobprep.files.materials.library import cutter_library
from jobprep.files.toml.kinds import of_kind
from jobprep.files.toml.lines import toml_file
from jobprep.files.toml.table import Table
from jobprep.geometry.outline import Region, polygon
from jobprep.geometry.read_outline import read_outline
from jobprep.model import Job
from jobprep.workbench.design_view import films_json, findings_json, json_values
from jobprep.workbench.document import Document, Documents
from jobprep.workbench.folder import Folder
from jobprep.workbench.plan_view import outline_json, shape_json

TableT = TypeVar("TableT", bound=Table[Any])
Json = dict[str, Any]


def opened_job(path: str, document: Document, folder: Folder, documents: Documents) -> Json:
    """Return an opened job as JSON values; its designs are watched from then on."""
    place = folder.place(path)
    values: Mapping[str, Any] | None = None
    job: Job | None = None
    findings: tuple[Finding, ...] = ()
    try:
        file = of_kind(toml_file(place, document.raw), "a job")
        values = file.values
        job = job_from(file, design_faults)
        findings = job.cautions
    except InputError as error:
        findings = error.problems
    return {
        "path": path,
        **document.shown(),
        "values": None if values is None else json_values(values),
        "findings": findings_json(findings, place),
        "films": _film_names(values or {}, job),
        "assumed": {} if job is None else _assumed(job, values or {}),
        "offers": _offers(place, folder),
        "parts": list(_part_shapes(values or {}, place.parent)),
        "stock": list(_stock_shapes(values or {})),
        "bought": [] if job is None else list(_bought(job)),
        "designs": dict(_designs(values or {}, place, folder, documents)),
    }


def _film_names(values: Mapping[str, Any], job: Job | None) -> list[str]:
    """Return the films that a job names or uses."""
    rows = [row for key in ("part", "stock") for row in _tables(values, key)]
    named = {row["film"] for row in rows if isinstance(row.get("film"), str)}
    return sorted(named | set(job.films if job is not None else ()))


def _assumed(job: Job, values: Mapping[str, Any]) -> Json:
    """Return what holds where the file says nothing, and no declaration says it either.

    By the path of the field; of a table keyed by film, by its path and the film.
    """
    found: Json = {"kerf": {name: job.kerf_for(name) for name in job.films}}
    if "seconds" not in values.get("nesting", {}) and job.nesting.evaluations is None:
        found["nesting.seconds"] = job.nesting.seconds
    return found


def _offers(place: Path, folder: Folder) -> dict[str, list[str]]:
    """Return what there is to choose from, by the key of the fields that name it."""
    designs = (folder.place(each.path) for each in folder.files() if each.kind == "design")
    return {
        "film": [each["name"] for each in films_json(place.parent) if not each["refused"]],
        "cutter": list(cutter_library(place.parent)),
        "design": [Path(os.path.relpath(each, place.parent)).as_posix() for each in designs],
    }


def _part_shapes(values: Mapping[str, Any], folder: Path) -> Iterator[Json | None]:
    """Yield the outline of each loose part, None for one that is not right."""
    for row in _tables(values, "part"):
        found = None
        table = _right(PartTable, row)
        if table is not None:
            with suppress(JobprepError, OSError):
                part = table.value_in(folder)
                drawn = part.region
                if drawn is None and part.drawing is not None:
                    drawn = read_outline(part.drawing)
                found = None if drawn is None else shape_json(drawn)
        yield found


def _stock_shapes(values: Mapping[str, Any]) -> Iterator[Json | None]:
    """Yield the outline of each piece of stock with its forbidden places."""
    for row in _tables(values, "stock"):
        table = _right(StockTable, row)
        if table is None:
            yield None
            continue
        piece = table.value()
        places = [outline_json(Region(polygon(each))) for each in piece.defects]
        yield {**shape_json(Region(polygon(piece.outline))), "defects": places}


def _bought(job: Job) -> Iterator[Json]:
    """Yield the films without a piece of stock: their usual sheets are bought as needed."""
    named = {piece.film for piece in job.stock}
    for name, film in job.films.items():
        if name not in named:
            sizes = [[each.width, each.height] for each in film.sheets if not each.is_roll]
            yield {"film": name, "sizes": sizes}


def _designs(
    values: Mapping[str, Any], place: Path, folder: Folder, documents: Documents
) -> Iterator[tuple[str, str]]:
    """Yield path and digest of each design in the folder that the job names."""
    for row in _tables(values, "disc"):
        name = row.get("design")
        if isinstance(name, str):
            with suppress(InputError, ValueError):
                path = Path(os.path.relpath(place.parent / name, folder.root)).as_posix()
                yield path, documents.read(folder.place(path)).digest


def _tables(values: Mapping[str, Any], key: str) -> list[Mapping[str, Any]]:
    rows = values.get(key)
    return (
        [each if isinstance(each, dict) else {} for each in rows] if isinstance(rows, list) else []
    )


def _right(table: type[TableT], row: Mapping[str, Any]) -> TableT | None:
    """Return the table of a row; None where anything is wrong with it."""
    try:
        found = table.model_validate(row)
    except ValidationError:
        return None
    return None if any(found.faults()) else found
