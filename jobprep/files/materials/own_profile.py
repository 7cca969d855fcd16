"""A user's own profile of a cutter: which file holds it, and what in it is only assumed."""

from __future__ import annotations

import tomllib
from pathlib import Path

from jobprep.errors import CannotDoError, InputError
from jobprep.files.materials.library import cutter_library, shipped_materials, unknown_material
from jobprep.files.toml.changes import TakeRow
from jobprep.files.toml.edit import BYTE_ORDER_MARK, changed_text


def own_profile(cutter: str, folder: Path) -> tuple[Path, Path]:
    """Return the profile to start from and the one to write, of a cutter by name or path.

    A shipped profile is never changed: its copy in ``materials/cutters`` of the folder is. Raises
    ``InputError`` when there is no such cutter, ``CannotDoError`` in the shipped materials.
    """
    named = Path(cutter)
    if cutter.endswith(".toml"):
        if named.is_file() and not _is_shipped(named):
            return named, named
        if not named.is_file() and named.parent != Path():
            raise InputError.of(cutter, "there is no such file")
    name = named.name.removesuffix(".toml")
    own = folder / "materials" / "cutters" / f"{name}.toml"
    if _is_shipped(own):
        raise CannotDoError(
            f"{own} is a shipped profile, which stays as it is; work in the folder of your job"
        )
    shipped = shipped_materials() / "cutters" / own.name
    for source in (own, shipped):
        if source.is_file():
            return source, own
    message = unknown_material("cutter", name, cutter_library(folder))
    raise InputError.of(cutter, message)


def no_longer_assumed(text: str, name: str) -> str:
    """Return the text of a profile with a value taken out of ``assumed``, such as ``kerf.amber``.

    Raises ``CannotDoError`` where it cannot be edited.
    """
    assumed = tomllib.loads(text.removeprefix(BYTE_ORDER_MARK)).get("assumed", [])
    places = [place for place, each in enumerate(assumed) if each == name]
    return changed_text(text, [TakeRow(at=("assumed",), row=place) for place in reversed(places)])


def _is_shipped(path: Path) -> bool:
    return path.resolve().is_relative_to(shipped_materials().resolve())
