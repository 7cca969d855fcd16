"""Find and read films and cutters: the shipped ones, and a user's own beside the job."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import TypeVar

import jobprep
from jobprep.errors import InputError, Problem
from jobprep.files.bases import base_cautions, base_name, refusal
from jobprep.files.material_schemas import CutterFile, FilmFile, SheetTable
from jobprep.files.problems import did_you_mean, listed, shown
from jobprep.files.tables import check_schema, read_kind
from jobprep.files.toml_lines import TomlFile, field_path
from jobprep.model import ANY_FILM, NO_FILM, Cutter, Film, SheetSize
from jobprep.units import from_degrees, from_g_cm3, from_g_m2, from_per_m, from_per_m2

_NAME = re.compile(r"[a-z0-9]([a-z0-9-]{0,38}[a-z0-9])?")
_SHEET_NAME = re.compile(r".*-sheet-[0-9]+")
_SECTOR = re.compile(r"\.sector\[\d+\]\.film$")
_DEVICE = re.compile(r"con|prn|aux|nul|com[0-9]|lpt[0-9]")

ValueT = TypeVar("ValueT")


def shipped_materials() -> Path:
    """Return the folder of the shipped materials, of an installed copy or of a checkout."""
    package = Path(jobprep.__file__).parent
    packed = package / "materials"
    return packed if packed.is_dir() else package.parent / "materials"


class Library(Mapping[str, ValueT]):
    """Materials by name, each read when it is first asked for.

    Later folders override earlier ones. Asking for a material raises ``InputError`` when its file
    is not right.
    """

    def __init__(self, read: Callable[[Path], ValueT], folders: Iterable[Path]) -> None:
        self._read = read
        self._paths = {
            path.stem: path for folder in folders for path in sorted(folder.glob("*.toml"))
        }
        self._known: dict[str, ValueT] = {}

    def path(self, name: str) -> Path:
        """Return the file of a material."""
        return self._paths[name]

    def __getitem__(self, name: str) -> ValueT:
        """Return a material."""
        if name not in self._known:
            self._known[name] = self._read(self._paths[name])
        return self._known[name]

    def __iter__(self) -> Iterator[str]:
        """Iterate over the names in alphabetical order."""
        return iter(sorted(self._paths))

    def __len__(self) -> int:
        """Return how many there are."""
        return len(self._paths)

    def __contains__(self, name: object) -> bool:
        """Whether there is a file for a name, right or wrong."""
        return name in self._paths


def film_library(folder: Path | None = None) -> Library[Film]:
    """Return all films: the shipped ones and those in ``folder / "materials" / "films"``."""
    return Library(read_film, _shelves("films", folder))


def cutter_library(folder: Path | None = None) -> Library[Cutter]:
    """Return all cutters: the shipped ones and those in ``folder / "materials" / "cutters"``."""
    return Library(read_cutter, _shelves("cutters", folder))


def _shelves(kind: str, folder: Path | None) -> list[Path]:
    own = [] if folder is None else [folder / "materials" / kind]
    return [shipped_materials() / kind, *own]


def read_film(path: Path) -> Film:
    """Read a film from its file; raises ``InputError`` with all problems."""
    return _film(read_kind(path, "a film"))


def read_cutter(path: Path, asked_by: Problem | None = None) -> Cutter:
    """Read a cutter from its file; raises ``InputError`` with all problems.

    ``asked_by`` is raised instead when there is no such file.
    """
    return _cutter(read_kind(path, "a cutter", asked_by))


def unknown_material(kind: str, name: str, library: Mapping[str, object]) -> str:
    """Say that a name is in no library, with the likeliest one meant or else all there are."""
    known = did_you_mean(name, library) or f" There are: {listed(library)}"
    return f"{shown(name)} is not a known {kind}.{known}"


def film_uses(values: object, at: tuple[str | int, ...] = ()) -> Iterator[tuple[str, str]]:
    """Yield the path and the name of every film that some field ``film`` of a file asks for."""
    if isinstance(values, dict):
        for key, value in values.items():
            if key == "film" and isinstance(value, str):
                yield field_path((*at, key)), value
            else:
                yield from film_uses(value, (*at, key))
    elif isinstance(values, list):
        for number, value in enumerate(values):
            yield from film_uses(value, (*at, number))


def film_problems(file: TomlFile, films: Mapping[str, Film] | None) -> list[Problem]:
    """Return the problem of every film a file asks for that is unknown or must not be cut.

    Without ``films`` the names are taken on trust.
    """
    problems = []
    for path, name in film_uses(file.values):
        if name == NO_FILM:
            if not _SECTOR.search(path):
                message = f'"{NO_FILM}" is for the open sectors of a layer; give a film'
                problems.append(file.source.problem(path, message))
        elif films is None:
            continue
        elif name not in films:
            problems.append(file.source.problem(path, unknown_material("film", name, films)))
        else:
            problems += _film_file_problems(file, path, name, films)
    return problems


def _film_file_problems(
    file: TomlFile, path: str, name: str, films: Mapping[str, Film]
) -> list[Problem]:
    try:
        film = films[name]
    except InputError as error:
        return list(error.problems)
    if film.refused is None:
        return []
    return [file.source.problem(path, f"{shown(name)} must not be cut: {film.refused}")]


def _film(file: TomlFile) -> Film:
    tables, problems = check_schema(FilmFile, file)
    problems += _name_problems(file)
    values = tables.root
    if ("density_g_cm3" in file.values) == ("areal_mass_g_m2" in file.values):
        problems.append(
            file.source.problem("", "give either density_g_cm3 or areal_mass_g_m2 of the film")
        )
    if values is not None:
        for number, (low, high) in enumerate(values.passes_nm):
            if low >= high:
                path = field_path(("passes_nm", number))
                problems.append(file.source.problem(path, f"{low:g} nm is not below {high:g} nm"))
        for number, sheet in enumerate(values.sheet):
            problems += _price_problems(file, field_path(("sheet", number)), sheet)
        if values.thickness_tolerance >= values.thickness:
            message = f"{values.thickness_tolerance:g} mm is not below the thickness"
            problems.append(file.source.problem("thickness_tolerance", message))
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
        sheets=tuple(
            SheetSize(
                width=float(sheet.size[0]),
                height=float(sheet.size[1]),
                price=sheet.price,
                per_area=None if sheet.per_m2 is None else from_per_m2(sheet.per_m2),
                per_length=None if sheet.per_m is None else from_per_m(sheet.per_m),
                is_roll=sheet.roll,
            )
            for sheet in values.sheet
        ),
        rotation_step=None if values.rotation_step is None else from_degrees(values.rotation_step),
        least_web=float(values.least_web),
        least_hole=float(values.least_hole),
        cautions=(*base_cautions(values.base), *values.cautions),
        refused=refusal(values.base) or values.refused,
        lab=None if lab is None else (lab[0], lab[1], lab[2]),
        passes=tuple((float(low), float(high)) for low, high in values.passes_nm),
    )


def _price_problems(file: TomlFile, path: str, sheet: SheetTable) -> Iterator[Problem]:
    given = [key for key in ("price", "per_m2", "per_m") if getattr(sheet, key) is not None]
    if len(given) > 1:
        yield file.source.problem(path, f"give one price, not {listed(given)}")
    elif sheet.per_m is not None and not sheet.roll:
        message = "a price per metre is for a roll; add roll = true, or give price or per_m2"
        yield file.source.problem(f"{path}.per_m", message)


def _cutter(file: TomlFile) -> Cutter:
    tables, problems = check_schema(CutterFile, file)
    problems += _name_problems(file)
    values = tables.root
    if values is not None:
        if (values.wavelength_nm is None) != (values.kind == "knife"):
            need = "has no" if values.kind == "knife" else "needs a"
            problems.append(
                file.source.problem("wavelength_nm", f"a {values.kind} cutter {need} wavelength_nm")
            )
        colours = values.colours
        if len({colours.mark, colours.cut_inner, colours.cut_outer}) < 3:
            message = "mark, cut-inner and cut-outer need three different colours"
            problems.append(file.source.problem("colours", message))
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
        colours={
            "mark": values.colours.mark,
            "cut-inner": values.colours.cut_inner,
            "cut-outer": values.colours.cut_outer,
        },
        cautions=tuple(values.cautions),
    )


def _name_problems(file: TomlFile) -> list[Problem]:
    """Check a file's name, which names the material and its output files."""
    name = file.path.stem
    reserved = name in (NO_FILM, ANY_FILM) or _DEVICE.fullmatch(name)
    if _NAME.fullmatch(name) and not reserved and not _SHEET_NAME.fullmatch(name):
        return []
    message = (
        f"{shown(name)} cannot name a material; call the file by 1 to 40 lower-case letters, digits"
        ' and hyphens (not "none", "any", a device such as "con", or an ending like "-sheet-2")'
    )
    return [file.source.problem("", message)]
