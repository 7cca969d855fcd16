"""A whole job file: read, with every design, film and cutter it names, into a frozen job."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import islice
from pathlib import Path, PurePath
from typing import Annotated

from pydantic import Field

from jobprep.errors import MOST_TOLD, Finding, InputError
from jobprep.files.cautions import job_cautions
from jobprep.files.design.design import Look, design_from
from jobprep.files.findings import repeated
from jobprep.files.job.part import PartTable
from jobprep.files.job.prices import PricesTable
from jobprep.files.job.rules import CuttingTable, LeftoversTable, NestingTable
from jobprep.files.job.stock import StockTable
from jobprep.files.materials.cutter import read_cutter
from jobprep.files.materials.library import (
    Library,
    cutter_library,
    film_library,
    film_problems,
    film_uses,
    lamp_library,
    unknown_material,
    with_its_curve,
)
from jobprep.files.toml.field_types import Copies, Format, KerfWidth, RelativePath, Text
from jobprep.files.toml.form import form_of
from jobprep.files.toml.kinds import read_kind
from jobprep.files.toml.lines import TomlFile, field_path, file_digest
from jobprep.files.toml.problems import closest, shown
from jobprep.files.toml.table import Table, rows
from jobprep.model import NO_FILM, TO_CHOOSE, Cutter, Design, DiscOrder, Film, Job

USUAL_NAME = "job.toml"
"""Of a job's file, as `jobprep new` writes it."""


class DiscTable(Table[DiscOrder]):
    """The number of copies of a design."""

    design: RelativePath
    copies: Copies = 1


class JobFile(Table[Job]):
    """Which discs and loose parts, how many, from what stock, on which cutter."""

    format: Format
    title: Text
    cutter: Annotated[
        RelativePath, Field(description="the name of a cutter, or the path of its .toml file")
    ]
    discs: list[DiscTable] = rows("disc", most=200)
    parts: list[PartTable] = rows("part", most=500)
    kerf: dict[str, KerfWidth] = {}
    stock: list[StockTable] = rows("stock", most=1000)
    nesting: NestingTable = Field(default_factory=NestingTable)
    prices: PricesTable = Field(default_factory=PricesTable)
    cutting: CuttingTable = Field(default_factory=CuttingTable)
    leftovers: LeftoversTable = Field(default_factory=LeftoversTable)

    def value_of(
        self,
        designs: Iterable[Design],
        cutter: Cutter,
        films: Mapping[str, Film],
        folder: Path,
    ) -> Job:
        """Return a job in a folder, still without digests and cautions.

        ``designs`` belong to its discs in turn.
        """
        orders = (
            order.made(design=design, folder=PurePath(order.design).parent.as_posix())
            for design, order in zip(designs, self.discs, strict=True)
        )
        return self.made(
            cutter=cutter,
            films=films,
            discs=tuple(orders),
            parts=tuple(part.value_in(folder) for part in self.parts),
            cutting=self.cutting.value_in(self.nesting),
        )


def read_job(path: Path, look: Look = lambda design: ()) -> Job:
    """Read and check a job with all it names.

    Raises one ``InputError`` with all problems of all files, and what ``look`` finds wrong in a
    design.
    """
    if (path / USUAL_NAME).is_file():
        message = f"is a folder; give the job in it: {path / USUAL_NAME}"
        raise InputError.of(path, message)
    return job_from(read_kind(path, "a job"), look)


def job_from(file: TomlFile, look: Look = lambda design: ()) -> Job:
    """Check a parsed job with all it names; raises as ``read_job`` does."""
    path = file.path
    films = film_library(path.parent)

    def whole(root: JobFile, values: Mapping[str, object]) -> Iterator[Finding]:
        return _job_faults(root, values, path.parent)

    form = form_of(JobFile, file, whole)
    problems = [*form.problems, *film_problems(file, films)]
    problems += islice(_film_key_problems(file, films), MOST_TOLD + 1)
    cutter, more = _read_cutter(file)
    problems += more
    design_files, designs, more = _read_designs(file, films, look)
    problems += more
    root = form.root
    if root is None or cutter is None or problems:
        raise InputError(dict.fromkeys(problems))
    used = {name for each in design_files for _, name in film_uses(each.values)}
    used = (used | {part.film for part in root.parts}) - {NO_FILM, TO_CHOOSE}
    named = used | {piece.film for piece in root.stock} | root.kerf.keys()
    known = {name: films[name] for name in sorted(named)}
    job = replace(root.value_of(designs, cutter, known, path.parent), source=file.source)
    problems = list(_profile_problems(job, used))
    if problems:
        raise InputError(problems)
    digests = _digests(job, [file, *design_files], root.cutter, films)
    return replace(job, digests=digests, cautions=tuple(job_cautions(job, used)))


def _job_faults(job: JobFile, values: Mapping[str, object], folder: Path) -> Iterator[Finding]:
    """Yield which tables of a job contradict each other or are missing."""
    if not values.get("disc") and not values.get("part"):
        yield Finding.error("", "a job needs at least one [[disc]] or [[part]]")
    for number, part in enumerate(job.parts, 1):
        for key, name in () if any(part.faults()) else part.drawings():
            if not (folder / name).is_file():
                message = f"{shown(name)} is not there; give a file's path relative to this one"
                yield Finding.error(f"part[{number}].{key}", message)
    parts = ((f"part[{number}]", part.name) for number, part in enumerate(job.parts, 1))
    stock = ((f"stock[{number}]", piece.label) for number, piece in enumerate(job.stock, 1))
    yield from repeated(parts, "name")
    yield from repeated(stock, "label")


def _film_key_problems(file: TomlFile, films: Library[Film]) -> Iterator[Finding]:
    """Yield the unknown films that tables keyed by film name."""
    prices = file.values.get("prices")
    tables = {"kerf": file.values.get("kerf")}
    for key in ("sheet", "per_m2", "per_m"):
        tables[f"prices.{key}"] = prices.get(key) if isinstance(prices, dict) else None
    for path, table in tables.items():
        for name in table if isinstance(table, dict) else ():
            if name not in films:
                message = unknown_material("film", name, films)
                yield file.source.error(f"{path}.{field_path([name])}", message)
                continue
            try:
                films[name]
            except InputError as error:
                yield from error.problems


def _is_path(cutter: str) -> bool:
    return cutter.endswith(".toml")


def _read_cutter(file: TomlFile) -> tuple[Cutter | None, list[Finding]]:
    name = file.values.get("cutter")
    if not isinstance(name, str):
        return None, []
    try:
        if _is_path(name):
            asked_by = _missing(file, "cutter", name)
            return read_cutter(file.path.parent / name, asked_by), []
        cutters = cutter_library(file.path.parent)
        if name in cutters:
            return cutters[name], []
        message = unknown_material("cutter", name, cutters)
        return None, [file.source.error("cutter", message)]
    except InputError as error:
        return None, list(error.problems)


def _read_designs(
    file: TomlFile, films: Library[Film], look: Look
) -> tuple[list[TomlFile], list[Design], list[Finding]]:
    """Read every design named, as far as each can be; return the files, designs and problems."""
    files: list[TomlFile] = []
    designs: list[Design] = []
    problems: list[Finding] = []
    first: dict[Path | str, str] = {}
    lamps = lamp_library(file.path.parent)
    for at, name in _design_names(file):
        where = file.path.parent / name
        if where.resolve() in first:
            message = f"{shown(name)} is already {first[where.resolve()]}; add up the copies"
            problems.append(file.source.error(at, message))
            continue
        first[where.resolve()] = at
        try:
            files.append(read_kind(where, "a design", _missing(file, at, name)))
        except InputError as error:
            problems += error.problems
            continue
        design, more = design_from(files[-1], films, look, lamps)
        problems += more
        if design is None:
            continue
        designs.append(design)
        if first.setdefault(design.name, at) != at:
            message = f"its name {shown(design.name)} is also that of {first[design.name]}"
            problems.append(file.source.error(at, message))
    return files, designs, problems


def _design_names(file: TomlFile) -> Iterator[tuple[str, str]]:
    """Yield path and value of each design named, whatever else is wrong in the job."""
    rows = file.values.get("disc")
    for number, row in enumerate(rows if isinstance(rows, list) else ()):
        name = row.get("design") if isinstance(row, dict) else None
        if isinstance(name, str) and name and name.isprintable():
            yield field_path(("disc", number, "design")), name


def _missing(file: TomlFile, at: str, name: str) -> Finding | None:
    """Return the problem of a file that a field names but that is not there."""
    if (file.path.parent / name).is_file():
        return None
    beside = {path.stem: path.name for path in sorted(file.path.parent.glob("*.toml"))}
    near = closest(Path(name).stem, beside)
    remedy = f"Did you mean {beside[near]}?" if near else "Give a path relative to this file"
    return file.source.error(at, f"{shown(name)} is not there. {remedy}")


def _profile_problems(job: Job, used: Iterable[str]) -> Iterator[Finding]:
    """Yield the films for which no file says how wide or how fast the cutter cuts."""
    for film in sorted(used):
        if job.kerf_for(film) is None:
            yield job.source.error(
                "kerf",
                f'no kerf for "{film}", neither here nor in the cutter {job.cutter.name}; give one,'
                " in mm",
            )
        if job.cutter.cut_speed_for(job.films[film]) is None:
            yield job.source.error(
                "cutter", f'{job.cutter.name} has no cut_speed for "{film}"; add one to its file'
            )


def _digests(job: Job, files: list[TomlFile], cutter: str, films: Library[Film]) -> dict[str, str]:
    """Return the SHA-256 of every file read, by its path relative to the job.

    Materials found by name are written ``materials/films/amber.toml``, whether shipped or not.
    """
    folder = files[0].path.parent
    digests = {_relative(file.path, folder): file.digest for file in files}
    for drawing in (each for part in job.parts for each in (part.drawing, part.engraving)):
        if drawing is not None:
            digests[_relative(drawing, folder)] = file_digest(drawing)
    for order in job.discs:
        for layer in order.design.layers:
            for artwork in layer.artworks:
                path = folder / order.folder / artwork.file
                digests[_relative(path, folder)] = file_digest(path)
    if _is_path(cutter):
        digests[_relative(folder / cutter, folder)] = file_digest(folder / cutter)
    else:
        digests[f"materials/cutters/{cutter}.toml"] = file_digest(
            cutter_library(folder).path(cutter)
        )
    for film in job.films:
        for name, path in with_its_curve(films.path(film)):
            digests[f"materials/films/{name}"] = file_digest(path)
    lamps = lamp_library(folder)
    for order in job.discs:
        machine = order.design.machine
        if machine is not None and machine.lamp is not None:
            for name, path in with_its_curve(lamps.path(machine.lamp.name)):
                digests[f"materials/lamps/{name}"] = file_digest(path)
    return digests


def _relative(path: Path, folder: Path) -> str:
    try:
        return Path(os.path.relpath(path, folder)).as_posix()
    except ValueError:  # another drive has no relative path
        return path.name
