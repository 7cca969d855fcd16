"""Find and read films, lamps and cutters: the shipped ones, and a user's own beside the job."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from typing import TypeVar

from jobprep.errors import MOST_TOLD, Finding, InputError
from jobprep.files.materials.cutter import read_cutter
from jobprep.files.materials.film import read_film
from jobprep.files.materials.lamp import read_lamp
from jobprep.files.toml.lines import TomlFile, field_path, read_toml
from jobprep.files.toml.problems import did_you_mean, listed, shown
from jobprep.model import NO_FILM, TO_CHOOSE, Cutter, Film
from jobprep.model.spectrum import Lamp

_SECTOR = re.compile(r"\.sector\[\d+\]\.film$")
_IN_A_LAYER = re.compile(r"^layer\[\d+\](\.sector\[\d+\])?\.film$")

ValueT = TypeVar("ValueT")


def shipped_materials() -> Path:
    """Return the folder of the shipped materials, of an installed copy or of a checkout."""
    package = Path(__file__).parents[2]
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


def lamp_library(folder: Path | None = None) -> Library[Lamp]:
    """Return all lamps: the shipped ones and those in ``folder / "materials" / "lamps"``."""
    return Library(read_lamp, _shelves("lamps", folder))


def with_its_curve(path: Path) -> Iterator[tuple[str, Path]]:
    """Yield the file of a film or lamp, and that of the curve it names, each with its name."""
    yield path.name, path
    values = read_toml(path).values
    for key in ("transmission", "spectrum"):
        name = values.get(key)
        if isinstance(name, str):
            yield name, path.parent / name


def cutter_library(folder: Path | None = None) -> Library[Cutter]:
    """Return all cutters: the shipped ones and those in ``folder / "materials" / "cutters"``."""
    return Library(read_cutter, _shelves("cutters", folder))


def own_materials(folder: Path) -> Iterator[Path]:
    """Yield all files of a user's own materials beside a job, curves too."""
    return (folder / "materials").glob("*/*")


def _shelves(kind: str, folder: Path | None) -> list[Path]:
    own = [] if folder is None else [folder / "materials" / kind]
    return [shipped_materials() / kind, *own]


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


def film_problems(file: TomlFile, films: Mapping[str, Film] | None) -> list[Finding]:
    """Return the problem of every film a file asks for that is unknown or must not be cut.

    Without ``films`` the names are taken on trust.
    """
    problems: list[Finding] = []
    for path, name in film_uses(file.values):
        if len(problems) > MOST_TOLD:
            break
        if name == NO_FILM:
            if not _SECTOR.search(path):
                message = f'"{NO_FILM}" is for the open sectors of a layer; give a film'
                problems.append(file.source.error(path, message))
        elif name == TO_CHOOSE:
            if not _IN_A_LAYER.search(path):
                message = (
                    f'"{TO_CHOOSE}" is for a layer or sector of a design whose film is to be chosen'
                )
                problems.append(file.source.error(path, f"{message}; give a film"))
        elif films is None:
            continue
        elif name not in films:
            problems.append(file.source.error(path, unknown_material("film", name, films)))
        else:
            problems += _film_file_problems(file, path, name, films)
    return problems


def _film_file_problems(
    file: TomlFile, path: str, name: str, films: Mapping[str, Film]
) -> list[Finding]:
    try:
        film = films[name]
    except InputError as error:
        return list(error.problems)
    if film.refused is None:
        return []
    return [file.source.error(path, f"{shown(name)} must not be cut: {film.refused}")]
