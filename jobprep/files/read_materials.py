"""Read the file of a film or a cutter into frozen values."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from jobprep.errors import Finding, InputError
from jobprep.files.bases import base_cautions, base_name, refusal
from jobprep.files.material_schemas import (
    ColoursTable,
    CutterFile,
    FilmFile,
    PowerTable,
    SettingsTable,
    SheetTable,
)
from jobprep.files.problems import listed, shown
from jobprep.files.tables import check_schema, read_kind
from jobprep.files.toml_lines import TomlFile, field_path
from jobprep.model import ANY_FILM, NO_FILM, Cutter, Film, OperationName, SheetSize
from jobprep.units import from_degrees, from_g_cm3, from_g_m2, from_per_m, from_per_m2

_NAME = re.compile(r"[a-z0-9]([a-z0-9-]{0,38}[a-z0-9])?")
_SHEET_NAME = re.compile(r".*-sheet-[0-9]+")
_DEVICE = re.compile(r"con|prn|aux|nul|com[0-9]|lpt[0-9]")


def read_film(path: Path) -> Film:
    """Read a film from its file; raises ``InputError`` with all problems."""
    return _film(read_kind(path, "a film"))


def read_cutter(path: Path, asked_by: Finding | None = None) -> Cutter:
    """Read a cutter from its file; raises ``InputError`` with all problems.

    ``asked_by`` is raised instead when there is no such file.
    """
    return _cutter(read_kind(path, "a cutter", asked_by))


def _film(file: TomlFile) -> Film:
    tables, problems = check_schema(FilmFile, file)
    problems += _name_problems(file)
    if ("density_g_cm3" in file.values) == ("areal_mass_g_m2" in file.values):
        message = "give either density_g_cm3 or areal_mass_g_m2 of the film"
        problems.append(file.source.error("", message))
    values = tables.root
    if values is not None:
        problems += _film_problems(file, values)
    if values is None or problems:
        raise InputError(problems)
    if values.density_g_cm3 is not None:
        density = from_g_cm3(values.density_g_cm3)
    else:
        density = from_g_m2(values.areal_mass_g_m2 or 0.0) / values.thickness
    lab = values.lab
    return Film(
        name=file.path.stem,
        title=values.title,
        base=base_name(values.base),
        thickness=float(values.thickness),
        thickness_tolerance=float(values.thickness_tolerance),
        density=density,
        colour=values.colour,
        light=values.light,
        sheets=tuple(map(_sheet_size, values.sheet)),
        rotation_step=None if values.rotation_step is None else from_degrees(values.rotation_step),
        least_web=float(values.least_web),
        least_hole=float(values.least_hole),
        cautions=(*base_cautions(values.base), *values.cautions),
        refused=refusal(values.base) or values.refused,
        lab=None if lab is None else (lab[0], lab[1], lab[2]),
        passes=tuple((float(low), float(high)) for low, high in values.passes_nm),
    )


def _film_problems(file: TomlFile, values: FilmFile) -> Iterator[Finding]:
    for number, (low, high) in enumerate(values.passes_nm):
        if low >= high:
            path = field_path(("passes_nm", number))
            yield file.source.error(path, f"{low:g} nm is not below {high:g} nm")
    for number, sheet in enumerate(values.sheet):
        yield from _price_problems(file, field_path(("sheet", number)), sheet)
    if values.thickness_tolerance >= values.thickness:
        message = f"{values.thickness_tolerance:g} mm is not below the thickness"
        yield file.source.error("thickness_tolerance", message)


def _sheet_size(sheet: SheetTable) -> SheetSize:
    return SheetSize(
        width=float(sheet.size[0]),
        height=float(sheet.size[1]),
        price=sheet.price,
        per_area=None if sheet.per_m2 is None else from_per_m2(sheet.per_m2),
        per_length=None if sheet.per_m is None else from_per_m(sheet.per_m),
        is_roll=sheet.roll,
    )


def _price_problems(file: TomlFile, path: str, sheet: SheetTable) -> Iterator[Finding]:
    given = [key for key in ("price", "per_m2", "per_m") if getattr(sheet, key) is not None]
    if len(given) > 1:
        yield file.source.error(path, f"give one price, not {listed(given)}")
    elif sheet.per_m is not None and not sheet.roll:
        message = "a price per metre is for a roll; add roll = true, or give price or per_m2"
        yield file.source.error(f"{path}.per_m", message)


def _cutter(file: TomlFile) -> Cutter:
    tables, problems = check_schema(CutterFile, file)
    problems += _name_problems(file)
    values = tables.root
    if values is not None:
        if (values.wavelength_nm is None) != (values.kind == "knife"):
            need = "has no" if values.kind == "knife" else "needs a"
            problems.append(
                file.source.error("wavelength_nm", f"a {values.kind} cutter {need} wavelength_nm")
            )
        colours = values.colours
        if len({colours.mark, colours.cut_inner, colours.cut_outer}) < 3:
            message = "mark, cut-inner and cut-outer need three different colours"
            problems.append(file.source.error("colours", message))
    if values is None or problems:
        raise InputError(problems)
    return Cutter(
        name=file.path.stem,
        title=values.title,
        kind=values.kind,
        bed=(float(values.bed[0]), float(values.bed[1])),
        wavelength=values.wavelength_nm,
        kerf=dict(values.kerf),
        cut_speed=dict(values.cut_speed),
        mark_speed=float(values.mark_speed),
        travel_speed=float(values.travel_speed),
        acceleration=float(values.acceleration),
        pierce_time=float(values.pierce_time),
        colours=_by_operation(values.colours),
        power={name: float(power) for name, power in _by_operation(values.power).items()},
        settings={name: text for name, text in _by_operation(values.settings).items() if text},
        passes=dict(values.passes),
        overcut=float(values.overcut),
        spot=values.spot,
        origin=values.origin,
        formats=tuple(dict.fromkeys(values.formats)),
        cautions=tuple(values.cautions),
    )


def _by_operation(table: ColoursTable | PowerTable | SettingsTable) -> dict[OperationName, Any]:
    return {"mark": table.mark, "cut-inner": table.cut_inner, "cut-outer": table.cut_outer}


def is_material_name(name: str) -> bool:
    """Whether a film or cutter may be called so: it names files too."""
    reserved = name in (NO_FILM, ANY_FILM) or _DEVICE.fullmatch(name)
    return bool(_NAME.fullmatch(name)) and not reserved and not _SHEET_NAME.fullmatch(name)


def _name_problems(file: TomlFile) -> list[Finding]:
    """Check a file's name, which names the material and its output files."""
    name = file.path.stem
    if is_material_name(name):
        return []
    message = (
        f"{shown(name)} cannot name a material; call the file by 1 to 40 lower-case letters, digits"
        ' and hyphens (not "none", "any", a device such as "con", or an ending like "-sheet-2")'
    )
    return [file.source.error("", message)]
